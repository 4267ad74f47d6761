"""How did each finding of a screen stand after each version of the screen?

A correction makes a new version of those findings alone that it changed. One that it brings in is
final: nobody was ever told otherwise. One that it took away is not gone: its new version is entered
in error. A withdrawal makes a new version of all.
"""

from collections.abc import Iterable

from msgspec.structs import replace

from service.application.search_ports import Screened
from service.domain.record import Answer, ScreenRecord, ScreenStatus
from service.fhir.bundle import observations_of
from service.fhir.narrative import struck
from service.fhir.observation import AMENDED, ERROR, FINAL
from service.fhir.resources import Observation
from service.fhir.site import Site
from service.fhir.structs import Meta


class Findings:
    """The versions of each finding, oldest first, in the order of the newest screen version."""

    def __init__(self, site: Site) -> None:
        self._site = site
        self._versions: dict[str, list[Observation]] = {}
        self._taken: set[str] = set()
        self._order: list[str] = []

    def add(self, answer: Answer | Screened) -> None:
        """The next version of the screen."""
        withdrawn = answer.screen.status == ScreenStatus.WITHDRAWN
        told = {str(one.id): one for one in observations_of(self._site, answer)}
        for name, one in told.items():
            before = self._versions.setdefault(name, [])
            same = before and name not in self._taken and _bare(before[-1]) == _bare(one)
            if withdrawn or not same:
                new = self._order and not before and one.status == AMENDED
                before.append(replace(one, status=FINAL) if new else one)
        gone = [name for name in self._versions if name not in told]
        for name in gone:
            if name not in self._taken or withdrawn:
                last = self._versions[name][-1]
                self._versions[name].append(_in_error(last, answer.screen))
        self._taken = set(gone)
        self._order = [*told, *gone]

    def newest(self) -> tuple[Observation, ...]:
        """Each finding as it stands now."""
        return tuple([self._versions[name][-1] for name in self._order])

    def of(self, name: str) -> tuple[Observation, ...]:
        """Every version of one Observation, newest first; none where there is no such finding."""
        return tuple(self._versions.get(name, ())[::-1])


def findings_of(site: Site, history: Iterable[Answer | Screened]) -> Findings:
    """``history``: the versions of one screen, oldest first."""
    found = Findings(site)
    for answer in history:
        found.add(answer)
    return found


def _bare(one: Observation) -> Observation:
    """What counts as the content, whichever version it is of."""
    return replace(one, meta=Meta(), status="", issued=one.effective_date_time)


def _in_error(last: Observation, record: ScreenRecord) -> Observation:
    version, changed = str(record.version), record.recorded_at
    meta = replace(last.meta, version_id=version, last_updated=changed)
    text = last.text and struck(last.text)
    return replace(last, meta=meta, text=text, status=ERROR, issued=changed)
