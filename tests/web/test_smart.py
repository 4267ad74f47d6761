"""Is a client told where to get a token, and only where tokens are taken?"""

from pathlib import Path

from msgspec.structs import replace

from service.domain.scope import BY_NAME, EVERYTHING, granted, may
from service.web.house import House
from service.web.smart import SCOPES, configuration, rest_security
from tests.web.tokens_desk import issuer
from tests.web.world import World, world

ADDRESS = "/fhir/R4/.well-known/smart-configuration"
TOKEN = "https://id.harbour.example/token"


def trusting(house: House, *_: str) -> House:
    return replace(house, smart=configuration([issuer(token_endpoint=TOKEN), issuer()]))


async def test_the_document_is_open_to_all_and_says_what_backend_services_need(
    tmp_path: Path,
) -> None:
    async with world(tmp_path, change=trusting) as running:
        response = await running.nobody.get(ADDRESS)
    assert response.status_code == 200
    assert response.headers["content-type"] == "application/json"
    told = response.json()
    assert told["token_endpoint"] == TOKEN
    assert told["grant_types_supported"] == ["client_credentials"]
    assert {"capabilities", "code_challenge_methods_supported"} <= told.keys()
    assert "permission-v2" in told["capabilities"]


async def test_without_an_issuer_there_is_no_document(running: World) -> None:
    assert (await running.nobody.get(ADDRESS)).status_code == 404


def test_every_scope_that_is_told_of_means_something() -> None:
    assert all(granted(scope) for scope in SCOPES)


def test_what_a_scope_over_everything_leaves_out_is_told_by_name() -> None:
    told = frozenset[str]().union(*map(granted, SCOPES))
    for need in (f"{BY_NAME}.r", f"{BY_NAME}.s"):
        assert not may(granted(EVERYTHING), need)
        assert may(told, need)


def test_the_capability_statement_names_the_token_endpoint_only_where_there_is_one() -> None:
    said = rest_security(configuration([issuer(token_endpoint=TOKEN)]))
    (uris,) = said["extension"]
    assert uris["extension"] == [{"url": "token", "valueUri": TOKEN}]
    assert said["service"][0]["coding"][0]["code"] == "SMART-on-FHIR"
    bare = rest_security({})
    assert bare.keys() == {"cors", "description"}
