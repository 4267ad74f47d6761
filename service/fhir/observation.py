"""How does one finding of a screen become an Observation?"""

from collections.abc import Mapping
from datetime import datetime
from functools import cache

from msgspec import Struct

from service.domain.record import ScreenRecord, ScreenStatus
from service.fhir.codes import FUNCTION_SURVEY
from service.fhir.narrative import said
from service.fhir.resources import Component, Observation, ReferenceRange
from service.fhir.site import Site
from service.fhir.structs import (
    Annotation,
    CodeableConcept,
    Identifier,
    Meta,
    Quantity,
    Reference,
)
from service.fhir.subject import assessor_of, encounter_of, subject_of
from service.fhir.text import clock_time, fhir_id, zoned
from service.fhir.units import shown, written

LONGEST_FINDING = 27
"""A screen id has 36 characters, the dash one, a FHIR id at most 64."""
STATUS = {
    ScreenStatus.FINAL: "final",
    ScreenStatus.AMENDED: "amended",
    ScreenStatus.WITHDRAWN: "entered-in-error",
}
PANEL = "panel"


class Value(Struct, frozen=True, kw_only=True):
    """What was found, and its words: one kind of value, the reason why there is none, or
    neither where the components say it all."""

    words: str = ""
    concept: CodeableConcept | None = None
    quantity: Quantity | None = None
    integer: int | None = None
    boolean: bool | None = None
    absent: CodeableConcept | None = None


class More(Struct, frozen=True, kw_only=True):
    """What an Observation may say beside its value."""

    interpretation: tuple[CodeableConcept, ...] = ()
    note: tuple[Annotation, ...] = ()
    reference_range: tuple[ReferenceRange, ...] = ()
    component: tuple[Component, ...] = ()
    words: str = ""


NOTHING_MORE = More()


class Frame(Struct, frozen=True, kw_only=True):
    """What all Observations of one screen share.

    ``versions``: the screen version that last changed a finding; without it, this one.
    """

    site: Site
    record: ScreenRecord
    observed: datetime
    versions: Mapping[str, int] | None
    meta: Meta
    subject: Reference
    encounter: Reference | None
    performer: tuple[Reference, ...]
    derived_from: tuple[Reference, ...]
    system: str

    def id_of(self, finding: str) -> str:
        return f"{self.record.id}-{finding}"

    def member(
        self,
        finding: str,
        code: CodeableConcept,
        value: Value,
        more: More = NOTHING_MORE,
        category: tuple[CodeableConcept, ...] = FUNCTION_SURVEY,
    ) -> Observation:
        """The Observation of ``finding``."""
        status, meta = self._version(finding)
        name = self.id_of(finding)
        return Observation(
            id=name,
            meta=meta,
            text=said(f"{code.text}{value.words and ': '}{value.words}.{more.words}"),
            identifier=(Identifier(self.system, name),),
            status=status,
            category=category,
            code=code,
            subject=self.subject,
            encounter=self.encounter,
            effective_date_time=self.observed,
            issued=self.record.recorded_at,
            performer=self.performer,
            value_codeable_concept=value.concept,
            value_quantity=value.quantity,
            value_integer=value.integer,
            value_boolean=value.boolean,
            data_absent_reason=value.absent,
            interpretation=more.interpretation,
            note=more.note,
            reference_range=more.reference_range,
            derived_from=self.derived_from,
            component=more.component,
        )

    def panel(self, members: tuple[Observation, ...]) -> Observation:
        """The Observation that holds the others together and has no value of its own."""
        code = self.site.concept("finding", "bedside_mobility_screen", "Bedside mobility screen")
        status, meta = self._version(PANEL)
        name = self.id_of(PANEL)
        return Observation(
            id=name,
            meta=meta,
            text=said(
                f"Bedside mobility screen of {clock_time(self.observed, self.observed)}"
                f" with {len(members)} findings. Status: {status}."
            ),
            identifier=(Identifier(self.system, name),),
            status=status,
            category=FUNCTION_SURVEY,
            code=code,
            subject=self.subject,
            encounter=self.encounter,
            effective_date_time=self.observed,
            issued=self.record.recorded_at,
            performer=self.performer,
            has_member=tuple([Reference(reference=f"Observation/{one.id}") for one in members]),
            derived_from=self.derived_from,
        )

    def _version(self, finding: str) -> tuple[str, Meta]:
        status = STATUS[self.record.status]
        if self.versions is None or status != "amended":
            return status, self.meta
        version = self.versions.get(finding, 1)
        if version == self.record.version:
            return status, self.meta
        return "amended" if version > 1 else "final", Meta(version_id=str(version))


def frame_of(site: Site, record: ScreenRecord, versions: Mapping[str, int] | None = None) -> Frame:
    assessor = assessor_of(record)
    return Frame(
        site=site,
        record=record,
        observed=zoned(record.content.observed_at),
        versions=versions,
        meta=Meta(version_id=str(record.version), last_updated=record.recorded_at),
        subject=subject_of(record),
        encounter=encounter_of(record),
        performer=() if assessor is None else (assessor,),
        derived_from=(
            Reference(reference=f"QuestionnaireResponse/{record.id}", type="QuestionnaireResponse"),
        ),
        system=site.identifier_system("observation"),
    )


@cache
def finding_id(kind: str, name: str) -> str:
    """The finding's part of an Observation's id."""
    finding = f"{kind}-{fhir_id(name)}"
    if len(finding) > LONGEST_FINDING:
        raise ValueError(f"The finding {finding} is too long for a FHIR id.")
    return finding


def measured(quantity: Quantity) -> Value:
    return Value(words=f"{written(quantity.value)} {shown(quantity.code)}", quantity=quantity)


def coded(concept: CodeableConcept) -> Value:
    return Value(words=str(concept.text), concept=concept)


def missing(reason: CodeableConcept) -> Value:
    return Value(words=str(reason.text), absent=reason)
