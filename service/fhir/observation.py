"""How does one finding of a screen become an Observation?"""

from collections.abc import Sequence
from datetime import datetime
from functools import cache

from msgspec import Struct

from service.domain.record import ScreenRecord, ScreenStatus
from service.fhir.codes import FUNCTION_SURVEY
from service.fhir.narrative import said, struck
from service.fhir.resources import Component, Observation, ReferenceRange
from service.fhir.site import Site
from service.fhir.structs import (
    Annotation,
    CodeableConcept,
    Extension,
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
FINAL, AMENDED, ERROR = "final", "amended", "entered-in-error"
STATUS = {
    ScreenStatus.FINAL: FINAL,
    ScreenStatus.AMENDED: AMENDED,
    ScreenStatus.WITHDRAWN: ERROR,
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
    """What an Observation may say beside its value. ``effective``: when it was measured, where
    that was not in this screen, nor by its assessor."""

    interpretation: tuple[CodeableConcept, ...] = ()
    note: tuple[Annotation, ...] = ()
    reference_range: tuple[ReferenceRange, ...] = ()
    component: tuple[Component, ...] = ()
    has_member: tuple[Reference, ...] = ()
    derived_from: tuple[Reference, ...] = ()
    extension: tuple[Extension, ...] = ()
    effective: datetime | None = None
    words: str = ""


NOTHING_MORE = More()


class Frame(Struct, frozen=True, kw_only=True):
    """What all Observations of one version of a screen share. ``metas`` and ``references`` fill
    themselves."""

    site: Site
    record: ScreenRecord
    observed: datetime
    status: str
    metas: dict[str, Meta]
    references: dict[str, Reference]
    subject: Reference
    encounter: Reference | None
    performer: tuple[Reference, ...]
    response: tuple[Reference, ...]
    system: str

    def id_of(self, finding: str) -> str:
        return f"{self.record.id}-{finding}"

    def reference(self, finding: str) -> Reference:
        """To the Observation of ``finding``."""
        known = self.references.get(finding)
        if known is None:
            known = Reference(reference=f"Observation/{self.record.id}-{finding}")
            self.references[finding] = known
        return known

    def member(
        self,
        finding: str,
        code: CodeableConcept,
        value: Value,
        more: More = NOTHING_MORE,
        category: tuple[CodeableConcept, ...] = FUNCTION_SURVEY,
        profile: str = "finding",
    ) -> Observation:
        """The Observation of ``finding``."""
        name = f"{self.record.id}-{finding}"
        elsewhere = more.effective is not None
        text = said(f"{code.text}{value.words and ': '}{value.words}.{more.words}")
        return Observation(
            id=name,
            meta=self._meta(profile),
            text=struck(text) if self.status == ERROR else text,
            extension=more.extension,
            identifier=(Identifier(self.system, name),),
            status=self.status,
            category=category,
            code=code,
            subject=self.subject,
            encounter=self.encounter,
            effective_date_time=more.effective or self.observed,
            issued=self.record.recorded_at,
            performer=() if elsewhere else self.performer,
            value_codeable_concept=value.concept,
            value_quantity=value.quantity,
            value_integer=value.integer,
            value_boolean=value.boolean,
            data_absent_reason=value.absent,
            interpretation=more.interpretation,
            note=more.note,
            reference_range=more.reference_range,
            has_member=more.has_member,
            derived_from=self.response + more.derived_from,
            component=more.component,
        )

    def panel(self, findings: Sequence[str]) -> Observation:
        """The Observation that holds the others together and has no value of its own."""
        code = self.site.concept("finding", "bedside_mobility_screen", "Bedside mobility screen")
        more = More(
            has_member=tuple([self.reference(one) for one in findings]),
            words=f" {clock_time(self.observed, self.observed)}, with {len(findings)} findings.",
        )
        return self.member(PANEL, code, Value(), more, FUNCTION_SURVEY, "panel")

    def _meta(self, profile: str) -> Meta:
        known = self.metas.get(profile)
        if known is None:
            known = self.metas[profile] = Meta(
                version_id=str(self.record.version),
                last_updated=self.record.recorded_at,
                profile=(self.site.profile(profile),),
            )
        return known


def frame_of(site: Site, record: ScreenRecord) -> Frame:
    assessor = assessor_of(record)
    return Frame(
        site=site,
        record=record,
        observed=zoned(record.content.observed_at),
        status=STATUS[record.status],
        metas={},
        references={},
        subject=subject_of(site, record),
        encounter=encounter_of(record),
        performer=() if assessor is None else (assessor,),
        response=(
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
