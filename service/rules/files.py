"""What may stand in a rule file? One Struct a kind of file; an unknown key is refused."""

from decimal import Decimal
from typing import Annotated, Literal

from msgspec import Meta, Struct

from service.domain.axis import Axis, Number
from service.domain.citation import Standing
from service.domain.condition import Condition
from service.domain.move import Move
from service.domain.plan import Brakes

Text = Annotated[str, Meta(min_length=3)]
Id = Annotated[str, Meta(pattern=r"^[a-z][a-z0-9_]*$", max_length=40)]


class File(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Every rule file refuses keys it does not know."""


class SourceFile(File, frozen=True):
    """sources/<id>.toml. ``seen``: how its content was seen here."""

    title: Text
    body: Text
    seen: Literal["primary", "restatement", "recalled", "none"]
    edition: str | None = None
    year: int | None = None
    licence: str | None = None
    note: str | None = None


class Parameter(File, frozen=True):
    """One table of parameters/<group>.toml. ``unit`` is UCUM, or "1" for a count.

    ``stricter``: towards which side an overlay may move a value that is not a default; "none":
    it may not be moved. ``lowest`` and ``highest``: what an overlay may set at all (a default
    of ours). ``not_above``: parameters that this one never exceeds.
    """

    value: Decimal
    unit: str
    source: Id
    standing: Standing
    what: Text
    note: str | None = None
    dissent: str | None = None
    stricter: Literal["higher", "lower", "none"] | None = None
    lowest: Decimal | None = None
    highest: Decimal | None = None
    not_above: tuple[Id, ...] = ()


class Check(File, frozen=True):
    """One requirement without its reasons: exactly one form of requirement.py is filled."""

    need: Axis | None = None
    number: Number | None = None
    at_least: str | None = None
    at_most: str | None = None
    below: str | None = None
    absent: Condition | None = None
    any: tuple["Check", ...] = ()


class RequirementTable(Check, frozen=True, kw_only=True):
    """A requirement of a method, or of a move on some of its ``methods`` (empty: all)."""

    why: Text
    source: Id
    standing: Standing
    methods: tuple[Id, ...] = ()


class MoreHelpers(File, frozen=True):
    """Unless the check holds (none: always), at least ``at_least`` helpers, or ``add`` more."""

    why: Text
    source: Id
    standing: Standing
    unless: Check | None = None
    at_least: int | None = None
    add: int | None = None
    methods: tuple[Id, ...] = ()


class AccessoryTable(File, frozen=True):
    """Unless the check holds (none: always), this accessory. ``moves`` empty: on every move."""

    accessory: Id
    why: Text
    source: Id
    standing: Standing
    unless: Check | None = None
    moves: tuple[Move, ...] = ()


class StepTable(File, frozen=True):
    text: Text
    brakes: Brakes
    source: Id = "common_practice"
    standing: Standing = Standing.PRACTICE
    unless: Check | None = None
    moves: tuple[Move, ...] = ()


class SaidTable(File, frozen=True):
    """A caution, stop sign, notice or trigger."""

    id: Id
    text: Text
    source: Id
    standing: Standing
    unless: Check | None = None
    moves: tuple[Move, ...] = ()


class ExampleTable(File, frozen=True):
    """A worked example: this profile, on this move, is answered by this method. ``devices``:
    the only classes at hand; left out: any. ``helpers`` left out: nobody is moved."""

    says: Text
    move: Move
    grades: dict[Axis, str]
    method: Id
    helpers: int | None = None
    devices: tuple[Id, ...] | None = None
    numbers: dict[Number, Decimal] = {}
    conditions: tuple[Condition, ...] = ()


class HelperCount(File, frozen=True):
    source: Id
    standing: Standing
    why: Text
    count: Annotated[int, Meta(ge=0, le=10)] | None = None


class MethodFile(File, frozen=True):
    """methods/<id>.toml. ``support``: its place in the order of support, low = most active."""

    title: Text
    plain: Text
    support: int
    needs_standing: bool
    helpers: HelperCount
    source: Id
    standing: Standing
    assisted: bool = True
    device_class: Id | None = None
    training: tuple[Id, ...] = ()
    requires: tuple[RequirementTable, ...] = ()
    more_helpers: tuple[MoreHelpers, ...] = ()
    accessories: tuple[AccessoryTable, ...] = ()
    steps: tuple[StepTable, ...] = ()
    cautions: tuple[SaidTable, ...] = ()
    stop_signs: tuple[SaidTable, ...] = ()
    examples: tuple[ExampleTable, ...] = ()


class MoveFile(File, frozen=True):
    """moves/<id>.toml. ``methods``: which serve it; equal support is decided by this order."""

    title: Text
    plain: Text
    source: Id
    standing: Standing
    methods: tuple[Id, ...]
    only_on_the_floor: bool = False
    requires: tuple[RequirementTable, ...] = ()
    more_helpers: tuple[MoreHelpers, ...] = ()
    cautions: tuple[SaidTable, ...] = ()


class AxisFile(File, frozen=True):
    """axes/<axis>.toml: plain words for the axis and each grade, and where the reading is from."""

    title: Text
    source: Id
    standing: Standing
    grades: dict[str, Text]
    note: str | None = None


class ConditionFile(File, frozen=True):
    """conditions/<condition>.toml. ``confirm``: what a clinician is asked when it is present;
    ``caution``: what every move then says."""

    title: Text
    source: Id
    standing: Standing
    confirm: str | None = None
    caution: str | None = None
    note: str | None = None


class WordFile(File, frozen=True):
    """device_classes/<id>.toml and accessories/<id>.toml. ``carries_person``: it bears load, so
    a device at hand is chosen only with a safe working load that is not exceeded."""

    title: Text
    source: Id
    standing: Standing
    carries_person: bool = True
    note: str | None = None


class StageFile(File, frozen=True):
    """stages/<stage>.toml: the words under which a stage is asked and shown."""

    title: Text
    asks: Text
    order: int
    standing_stage: bool
    source: Id
    standing: Standing
