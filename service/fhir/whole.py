"""What do the resources share that tell of a patient as a whole?"""

from datetime import date

from msgspec import Struct

from service.application.ports import KeptPlan, Standing, Stood
from service.domain.plan import PlanState
from service.domain.record import Answer, PatientRecord, PlanEvent, ScreenRecord
from service.fhir.care_plan import early_end
from service.fhir.site import Site
from service.fhir.spell import state_of
from service.fhir.structs import Identifier, Meta, Reference
from service.fhir.subject import encounter_of, patient_id, software_of, subject_of
from service.fhir.text import zoned


class Whole(Struct, frozen=True):
    """Where a patient stands, and in which words this site speaks of it."""

    site: Site
    standing: Standing
    state: PlanState
    patient: str
    subject: Reference
    software: Reference

    def id_of(self, kind: str) -> str:
        return f"{self.patient}-{kind}"

    def identifier(self, kind: str) -> tuple[Identifier, ...]:
        return (Identifier(self.site.identifier_system(kind.partition("-")[0]), self.id_of(kind)),)

    def meta(self, profile: str) -> Meta:
        standing = self.standing
        told = (self.site.profile(profile),)
        return Meta(version_id=str(standing.rev), last_updated=standing.at, profile=told)

    @property
    def ended(self) -> PlanEvent | None:
        """What ended the plan before its time, if anything did."""
        if self.state != PlanState.LAPSED:
            return None
        kept = self.standing.plan
        return early_end(kept.plan, kept.events)

    @property
    def encounter(self) -> Reference | None:
        return encounter_of(self.standing.screen)

    @property
    def changed_on(self) -> date:
        """The day of the last event, where the screen was made."""
        observed = zoned(self.standing.screen.content.observed_at)
        return self.standing.at.astimezone(observed.tzinfo).date()


def whole_of(site: Site, standing: Standing) -> Whole:
    record = standing.screen
    patient = standing.patient.id or patient_id(record)
    subject = subject_of(site, record, patient)
    state = state_of(standing)
    software = software_of(site, standing.plan.plan.rule_book)
    return Whole(site, standing, state, patient, subject, software)


def first_standing(answer: Answer) -> Standing:
    """Where a person stands of whom nothing else is known than this answer."""
    plan, record = answer.plan, answer.screen
    current = plan.state in (PlanState.CURRENT, PlanState.LAPSED)
    kept = KeptPlan(plan, (), current)
    return Standing(
        PatientRecord(record.patient_id, plan.id if current else None),
        max(plan.version, 1),
        record.recorded_at,
        Stood(kept, record, answer.profile, answer.tests),
    )


def day_of(record: ScreenRecord) -> date:
    """The day on which a screen was observed, where it was."""
    return record.content.observed_at.date()
