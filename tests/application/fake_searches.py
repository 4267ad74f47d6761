"""What does a search find in the record told in memory? A small ``Searches`` over it."""

from datetime import UTC, datetime, timedelta
from itertools import islice

from service.application.answer import plan_now
from service.application.ports import KeptScreen
from service.application.search_ports import (
    By,
    FoundPlan,
    FoundScreen,
    Look,
    PassedPlan,
    PlanInList,
    Screened,
    SeenPlan,
    Told,
)
from service.application.trail_ports import Noted, Stretch, TrailLook
from service.domain.plan import PlanState
from service.domain.record import Page, PatientRecord, PlanEventKind, ScreenRecord
from service.domain.value import Identifier
from tests.application.tables import Tables, page_of

_ANY_TIME = (datetime.min.replace(tzinfo=UTC), datetime.max.replace(tzinfo=UTC))
_BEGIN = datetime(2026, 3, 4, tzinfo=UTC)
_STRETCH = 2
_Key = tuple[datetime, str, int]


class FakeSearches:
    """A cursor is the place itself, written out."""

    def __init__(self, tables: Tables) -> None:
        self._tables = tables

    async def find_screens(self, org: str, look: Look) -> tuple[FoundScreen, ...]:
        found = {}
        for (of, screen), versions in self._tables.screens.items():
            if of != org or not self._wanted(org, versions[-1].record, look):
                continue
            shown = versions[-1:] if look.by is By.OBSERVED else versions
            for one in shown:
                record = one.record
                time = record.content.observed_at if look.by is By.OBSERVED else record.recorded_at
                found[time, screen, record.version] = tuple(
                    Screened(one.record, one.profile, one.tests) for one in versions
                )
        return tuple(
            FoundScreen("", _word(key), key[2], found[key]) for key in _stretch(list(found), look)
        )

    async def find_plans(self, org: str, look: Look) -> tuple[PlanInList, ...]:
        found: dict[_Key, FoundPlan] = {}
        for of, plan in self._tables.plans:
            one = await self.plan_and_screen(of, plan)
            assert one is not None
            if of != org or not self._wanted(org, one.record, look):
                continue
            at = one.plan.plan.valid_from if look.by is By.OBSERVED else one.plan.events[-1].at
            key = (at, plan, 0)
            found[key] = FoundPlan("", _word(key), one.plan, one.record)
        return tuple(_sifted(found[key], key[0], look) for key in _stretch(list(found), look))

    async def find_patients(self, org: str, limit: int, after: str | None) -> Page[PatientRecord]:
        found = [one for (of, _), one in sorted(self._tables.patients.items()) if of == org]
        return page_of(found, limit, after)

    async def versions_of(self, org: str, screen: str) -> tuple[KeptScreen, ...]:
        versions = self._tables.screens.get((org, screen), [])
        return tuple(self._tables.kept(org, one) for one in versions)

    async def record_of(self, org: str, screen: str, version: int) -> ScreenRecord | None:
        found = self._tables.screens.get((org, screen), [])
        return next((one.record for one in found if one.record.version == version), None)

    async def plan_and_screen(self, org: str, plan: str) -> FoundPlan | None:
        if (org, plan) not in self._tables.plans:
            return None
        kept = self._tables.kept_plan(org, plan)
        behind = self._tables.screens[org, kept.plan.screen_id][kept.plan.screen_version - 1]
        return FoundPlan("", "", kept, behind.record)

    async def patients_with(self, org: str, value: str) -> tuple[PatientRecord, ...]:
        known = self._tables.known.items()
        ids = [patient for (of, _, said), patient in known if (of, said) == (org, value)]
        return tuple(dict.fromkeys(self._tables.root(org, one) for one in ids))

    async def told_of(self, org: str, patient: str, limit: int) -> tuple[Told, ...]:
        records = [
            one.record
            for (of, _), versions in self._tables.screens.items()
            for one in versions
            if (of, one.record.patient_id) == (org, patient)
        ]
        records.sort(key=lambda one: (one.recorded_at, one.id, one.version), reverse=True)
        told = [
            Told(one.id, one.version, one.recorded_at, one.status, _identifiers(one))
            for one in records
        ]
        return tuple(told[:limit])

    async def time_zone(self, org: str) -> str:
        return "Europe/Dublin" if org == "org-1" else "UTC"

    async def trail_stretch(self, org: str, look: TrailLook) -> Stretch:
        """Two entries at a time, so that a stretch may hold none that is wanted."""
        listed = [self._noted(seq) for seq in range(1, len(self._tables.entries) + 1)]
        listed = [
            one
            for one, entry in zip(listed, self._tables.entries, strict=True)
            if entry.principal.org == org
        ]
        if look.newest_first:
            listed.reverse()
        begin = int(look.after or 0)
        end = begin + _STRETCH
        found = [one for one in listed[begin:end] if look.wanted(one)]
        if len(found) > look.limit:
            found, end = found[: look.limit], listed.index(found[look.limit - 1]) + 1
        return Stretch(tuple(found), str(end) if end < len(listed) else None)

    async def trail_entry(self, org: str, chain: int, seq: int) -> Noted | None:
        entries = self._tables.entries
        there = chain == 1 and 0 < seq <= len(entries) and entries[seq - 1].principal.org == org
        return self._noted(seq) if there else None

    async def same_patient(self, org: str, patient: str) -> tuple[str, ...]:
        if (org, patient) not in self._tables.patients:
            return (patient,)
        root = self._tables.root(org, patient).id
        known = [one for of, one in self._tables.patients if of == org]
        return tuple(one for one in known if self._tables.root(org, one).id == root)

    def _noted(self, seq: int) -> Noted:
        entry = self._tables.entries[seq - 1]
        return Noted(
            chain=1,
            seq=seq,
            at=_BEGIN + timedelta(minutes=seq),
            action=entry.action,
            credential=entry.principal.credential,
            name=entry.principal.name,
            outcome=entry.outcome,
            request_id=entry.request_id,
            patient=entry.patient,
            target=entry.target,
        )

    def _wanted(self, org: str, record: ScreenRecord, look: Look) -> bool:
        root = self._tables.root(org, record.patient_id).id
        return look.patients is None or root in look.patients


def _identifiers(record: ScreenRecord) -> tuple[Identifier, ...]:
    patient = record.content.patient
    return (patient.identifier, *patient.more_identifiers)


def _sifted(found: FoundPlan, at: datetime, look: Look) -> PlanInList:
    plan, sieve = found.plan.plan, look.sieve
    if sieve is not None and plan_now(found.plan, sieve.now).state not in sieve.states:
        return PassedPlan(found.begin, found.cursor, plan.id, at)
    return found if look.glance is None else _seen(found, look.glance) or found


def _seen(found: FoundPlan, now: datetime) -> SeenPlan | None:
    plan = plan_now(found.plan, now)
    lapsed = [one.at for one in found.plan.events if one.kind == PlanEventKind.LAPSED]
    if plan.state == PlanState.LAPSED and not lapsed:
        return None
    return SeenPlan(
        begin=found.begin,
        cursor=found.cursor,
        id=plan.id,
        state=plan.state,
        valid_from=plan.valid_from,
        valid_until=plan.valid_until,
        changed_at=max(one.at for one in found.plan.events),
        ended_early=plan.state == PlanState.LAPSED and lapsed[0] < plan.valid_until,
    )


def _stretch(keys: list[_Key], look: Look) -> list[_Key]:
    low, high = look.low or _ANY_TIME[0], look.high or _ANY_TIME[1]
    keys = sorted((key for key in keys if low <= key[0] <= high), reverse=look.newest_first)
    words = [_word(key) for key in keys]
    begin = words.index(look.after) + 1 if look.after is not None else 0
    return list(islice(keys, begin, begin + look.limit))


def _word(key: _Key) -> str:
    return f"{(key[0] - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)}|{key[1:]}"
