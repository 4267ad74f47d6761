"""Is a file of issuers read whole, and one that could let others in refused with every fault?"""

import re
from pathlib import Path

import pytest

from service.web.tokens_issuers import BadIssuers, Issuer, read_issuers, refuse_strangers
from tests.house.tree import ROOT

GOOD = """
[[issuers]]
issuer = "https://id.harbour.example/realm"
audience = "https://stanchion.harbour.example/fhir/R4"
jwks = "https://id.harbour.example/jwks"
token_endpoint = "https://id.harbour.example/token"
organisation = "org-1"
"""
SHARED = """
[[issuers]]
issuer = "https://id.region.example"
audience = "stanchion"
jwks = "keys/region.json"
ca_file = "keys/ca.pem"
token_endpoint = "http://127.0.0.1:9000/token"
clock_skew_s = 10
organisation_claim = "site"

[issuers.organisations]
east = "org-2"
west = "org-3"
"""


def read(folder: Path, text: str) -> tuple[Issuer, ...]:
    (folder / "issuers.toml").write_text(text, encoding="utf-8")
    return read_issuers(folder / "issuers.toml")


def fault(folder: Path, text: str) -> str:
    with pytest.raises(BadIssuers) as refused:
        read(folder, text)
    assert "issuers.toml" in str(refused.value)
    return str(refused.value)


def test_a_file_names_issuers_and_whom_they_speak_for(tmp_path: Path) -> None:
    first, second = read(tmp_path, GOOD + SHARED)
    assert (first.org_of({}), first.orgs(), first.clock_skew_s) == ("org-1", {"org-1"}, 60)
    assert first.by_address
    assert second.org_of({"site": "west"}) == "org-3"
    assert second.org_of({}) is None
    assert second.orgs() == {"org-2", "org-3"}
    assert not second.by_address


def test_files_it_names_lie_beside_it(tmp_path: Path) -> None:
    (one,) = read(tmp_path, SHARED)
    assert one.jwks == str(tmp_path / "keys" / "region.json")
    assert one.ca_file == str(tmp_path / "keys" / "ca.pem")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('jwks = "https:', 'jwks = "http:'), "jwks must be a file or begin with https"),
        (('jwks = "https:', 'jwks = "ftp:'), "jwks must be a file or begin with https"),
        (('token_endpoint = "https:', 'token_endpoint = "http:'), "token_endpoint must begin"),
        (('audience = "https://stanchion.harbour.example/fhir/R4"', 'audience = " "'), "audience"),
        (('organisation = "org-1"', ""), "either organisation or organisation_claim"),
        (('organisation = "org-1"', 'organisation_claim = "site"'), "belong together"),
        (('organisation = "org-1"', "organisation = 5"), "Expected `str"),
        (("organisation =", "clock_skew_s = 301\norganisation ="), "from 0 to 300"),
        (("organisation =", "clock_skew_s = -1\norganisation ="), "from 0 to 300"),
        (("organisation =", "audiences = []\norganisation ="), "audiences"),
        (('audience = "', 'audience = 5 # "'), "audience"),
        (("[[issuers]]", "[[issuer]]"), "issuer"),
    ],
)
def test_a_fault_is_told_with_its_place(tmp_path: Path, change: tuple[str, str], said: str) -> None:
    assert said in fault(tmp_path, GOOD.replace(*change))


def test_an_issuer_stands_once_and_at_least_one_stands(tmp_path: Path) -> None:
    assert "stands twice" in fault(tmp_path, GOOD + GOOD)
    assert "no issuer" in fault(tmp_path, "issuers = []")


def test_every_fault_is_told_at_once(tmp_path: Path) -> None:
    text = GOOD.replace("https://id.harbour.example/jwks", "http://x/y")
    said = fault(tmp_path, text.replace('organisation = "org-1"', "clock_skew_s = 999"))
    assert len(said.splitlines()) == 3


def test_a_file_that_is_not_there_is_told_of(tmp_path: Path) -> None:
    with pytest.raises(BadIssuers, match="No such file"):
        read_issuers(tmp_path / "none.toml")


def test_an_issuer_speaks_for_organisations_that_are_there(tmp_path: Path) -> None:
    issuers = read(tmp_path, GOOD + SHARED)
    refuse_strangers(issuers, ["org-1", "org-2", "org-3", "org-4"])
    with pytest.raises(BadIssuers, match="org-3, which is not there"):
        refuse_strangers(issuers, ["org-1", "org-2"])


def test_the_example_in_the_documents_can_be_used(tmp_path: Path) -> None:
    told = (ROOT / "docs" / "security-identity.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```toml\n(.*?)```", told, re.DOTALL)
    first, second = read(tmp_path, example)
    assert first.organisation is not None and second.organisations.keys() == {"east", "west"}
