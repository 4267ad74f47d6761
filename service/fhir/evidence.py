"""In which Observation is the fact told that a rule read at a place of the screen?"""

from functools import lru_cache

from service.domain.screen import Screen
from service.fhir.observation import finding_id
from service.fhir.score_findings import test_finding
from service.fhir.vital_signs import SIZE_FINDINGS, STANDING_PRESSURE, VITAL_FINDINGS


def finding_at(screen: Screen, path: str) -> str | None:
    """The finding that tells what lies at ``path`` (a JSON Pointer); None where no finding does,
    as for an order, which only the response tells."""
    if path.startswith(_SIGN):
        place = path.removeprefix(_SIGN).partition("/")[0]
        return finding_id("stage", screen.signs[int(place)].stage.value)
    return _told_at(path)


_SIGN = "/signs/"


@lru_cache(maxsize=1024)
def _told_at(path: str) -> str | None:
    _, room, *rest = path.split("/")
    if not rest:
        return None
    first = rest[0]
    if room == "stages":
        return finding_id("stage", first)
    if room == "tests":
        return test_finding(first)
    if room == "patient":
        return SIZE_FINDINGS.get(first)
    return _readiness(rest) if room == "readiness" else None


def _readiness(rest: list[str]) -> str | None:
    first, *inner = rest
    if first == "vital_signs":
        return VITAL_FINDINGS.get(inner[0]) if inner else None
    return STANDING_PRESSURE if first == "orthostatic" else finding_id("ready", first)
