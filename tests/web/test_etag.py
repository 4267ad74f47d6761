"""Does a tag change with everything that shows, and is the version that was seen read back?"""

import pytest

from service.domain.problem import StaleVersion, VersionMissing
from service.web.etag import expected_version, unchanged
from service.web.refusals import BadRequest

TAG = '"1.1.current.id.n0.1.0"'


@pytest.mark.parametrize(
    ("if_none_match", "same"),
    [
        (None, False),
        (TAG, True),
        (f"W/{TAG}", True),
        ('"1.1.current.id.n0.1.0+gzip"', True),
        ("*", True),
        (f'"other", {TAG}', True),
        ('"1.1.lapsed.id.n0.1.0"', False),
        ('"1.1.current.id.f0.1.0"', False),
        ("", False),
    ],
)
def test_what_is_held_is_known_again(if_none_match: str | None, same: bool) -> None:  # noqa: FBT001
    assert unchanged(if_none_match, TAG) == same


@pytest.mark.parametrize(
    ("if_match", "version"),
    [('"3"', 3), (TAG, 1), ('"12.1.current.id.n0.1.0+gzip"', 12), (' "3" ', 3)],
)
def test_the_version_seen_is_the_first_part_of_the_tag(if_match: str, version: int) -> None:
    assert expected_version(if_match) == version


@pytest.mark.parametrize("if_match", ['W/"1"', '"x"', '""', '"9999999999"'])
def test_what_names_no_version_of_a_screen_never_matches(if_match: str) -> None:
    with pytest.raises(StaleVersion):
        expected_version(if_match)


@pytest.mark.parametrize("if_match", ["", "1", '"1', '"a b"', "*", '"1", "2"'])
def test_what_is_no_tag_is_a_bad_request(if_match: str) -> None:
    with pytest.raises(BadRequest):
        expected_version(if_match)


def test_a_change_without_a_version_is_refused() -> None:
    with pytest.raises(VersionMissing):
        expected_version(None)
