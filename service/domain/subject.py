"""Who was screened, as far as the rules and the record need it?"""

from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Annotated

from msgspec import Meta, Struct

from service.domain.value import Identifier, Instant, Name, bounded


class Sex(StrEnum):
    """Sex at birth as the published norms use it."""

    FEMALE = "female"
    MALE = "male"
    OTHER = "other"
    UNKNOWN = "unknown"


class Subject(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The person screened. Exactly one of ``birth_date`` and ``age_years`` is given.

    A body size that is not given is unknown, and unknown never counts as favourable:
    without ``mass_kg`` the heaviest row of every table applies.
    """

    identifier: Identifier
    birth_date: date | None = None
    age_years: Annotated[int, Meta(ge=0, le=130)] | None = None
    sex: Sex | None = None
    mass_kg: Annotated[Decimal, bounded("20", "500", "Body mass, kg")] | None = None
    mass_measured_at: Instant | None = None
    stature_cm: Annotated[Decimal, bounded("90", "250", "Stature, cm")] | None = None
    stature_measured_at: Instant | None = None
    popliteal_height_cm: Annotated[Decimal, bounded("20", "70", "Popliteal height, cm")] | None = (
        None
    )
    seated_hip_breadth_cm: (
        Annotated[Decimal, bounded("20", "120", "Seated hip breadth, cm")] | None
    ) = None
    falls_last_12_months: Annotated[int, Meta(ge=0, le=1000)] | None = None
    injured_in_fall: bool | None = None
    pregnant: bool | None = None
    name: Name | None = None
    more_identifiers: Annotated[list[Identifier], Meta(max_length=20)] = []
