"""Are FHIR bodies told and read in the forms that the standard names, and refused in others?"""

from datetime import UTC, datetime
from typing import Any

import pytest
from litestar import Request

from service.fhir.resources import OperationOutcome
from service.fhir.structs import Meta
from service.web.fhir import content
from service.web.house import Ask
from service.web.refusals import BadRequest, NotAcceptable, Unsupported

CHANGED = datetime(2026, 3, 4, 8, 15, 0, 500, tzinfo=UTC)
OUTCOME = OperationOutcome(id="x", meta=Meta(version_id="3", last_updated=CHANGED), issue=())


def asked(query: bytes = b"", body: bytes = b"", **headers: str) -> Ask:
    """A request as the router hands it over."""
    raw = [(name.replace("_", "-").encode(), value.encode()) for name, value in headers.items()]
    scope: Any = {
        "type": "http",
        "method": "GET",
        "path": "/fhir/R4/x",
        "query_string": query,
        "headers": raw,
        "state": {},
    }

    async def receive() -> Any:
        return {"type": "http.request", "body": body, "more_body": False}

    return Request(scope, receive=receive)


@pytest.mark.parametrize("said", ["json", "application/json", "application/fhir%2Bjson"])
def test_each_name_of_json_is_taken_and_outranks_accept(said: str) -> None:
    query = f"_format={said}".encode()
    answer = content.answer(asked(query, accept="application/fhir+xml"), OUTCOME)
    assert answer.media_type == "application/fhir+json; fhirVersion=4.0"


def test_a_plus_that_nobody_encoded_is_still_a_plus() -> None:
    content.accepted(asked(b"_format=application/fhir+json"))


@pytest.mark.parametrize(
    ("query", "accept"),
    [
        (b"_format=xml", "*/*"),
        (b"_format=application/fhir%2Bxml", "*/*"),
        (b"_format=json%3BfhirVersion%3D3.0", "*/*"),
        (b"", "application/fhir+xml"),
        (b"", "text/html"),
        (b"", "application/fhir+json; fhirVersion=5.0"),
    ],
)
def test_what_is_no_json_of_this_release_is_not_given(query: bytes, accept: str) -> None:
    with pytest.raises(NotAcceptable):
        content.accepted(asked(query, accept=accept))


def test_parameters_keep_their_order_and_may_repeat() -> None:
    found = content.parameters_of(asked(b"a=1&b=&a=%C3%A9"))
    assert found == [("a", "1"), ("b", ""), ("a", "é")]


@pytest.mark.parametrize("query", [b"a=%ff", b"a=1&" * 101, "a=é".encode()])
def test_parameters_that_cannot_be_read_are_refused(query: bytes) -> None:
    with pytest.raises(BadRequest):
        content.parameters_of(asked(query))


@pytest.mark.parametrize(
    "said",
    [
        "",
        "application/fhir+xml",
        "text/plain",
        "application/fhir+json; fhirVersion=3.0",
        "application/fhir+json; charset=latin-1",
    ],
)
async def test_a_body_in_another_form_is_unsupported(said: str) -> None:
    with pytest.raises(Unsupported):
        await content.body_of(asked(content_type=said))


async def test_a_body_is_not_read_where_no_answer_could_be_given() -> None:
    with pytest.raises(NotAcceptable):
        await content.body_of(asked(content_type="application/json", accept="text/html"))


def test_pretty_lays_the_same_resource_out_for_reading() -> None:
    plain = content.answer(asked(), OUTCOME).content
    pretty = content.answer(asked(b"_pretty=true"), OUTCOME).content
    assert pretty.count(b"\n") > 3
    assert b"".join(line.strip() for line in pretty.splitlines()).replace(b'": ', b'":') == plain


def test_a_version_is_told_weakly_with_the_time_it_was_made() -> None:
    headers = content.versioned(asked(), OUTCOME).headers
    assert headers["ETag"] == 'W/"3"'
    assert headers["Last-Modified"] == "Wed, 04 Mar 2026 08:15:00 GMT"


@pytest.mark.parametrize(
    ("held", "status"),
    [
        ({"if_none_match": 'W/"3"'}, 304),
        ({"if_none_match": '"3"'}, 304),
        ({"if_none_match": 'W/"2", W/"3"'}, 304),
        ({"if_none_match": 'W/"2"'}, 200),
        ({"if_modified_since": "Wed, 04 Mar 2026 08:15:00 GMT"}, 304),
        ({"if_modified_since": "Wed, 04 Mar 2026 08:14:59 GMT"}, 200),
        ({"if_modified_since": "yesterday"}, 200),
        (
            {"if_none_match": 'W/"2"', "if_modified_since": "Wed, 04 Mar 2026 08:15:00 GMT"},
            200,
        ),
    ],
)
def test_what_the_client_holds_already_is_not_sent_again(held: dict[str, str], status: int) -> None:
    answer = content.versioned(asked(b"", b"", **held), OUTCOME)
    assert answer.status_code == status
    assert answer.headers["ETag"] == 'W/"3"'
    assert bool(answer.content) is (status == 200)
