"""Of which elements is a questionnaire made?"""

from service.fhir.definitions.heads import Definition, Mark
from service.fhir.structs import Coding, Element


class Condition(Element, frozen=True, kw_only=True):
    """``question`` is the link id of another item; ``operator``: =, != or exists."""

    question: str
    operator: str
    answer_boolean: bool | None = None
    answer_coding: Coding | None = None
    answer_integer: int | None = None


class Option(Element, frozen=True, kw_only=True):
    """``initial_selected``: chosen until another is; ``initial`` may not stand beside options."""

    extension: tuple[Mark, ...] = ()
    value_coding: Coding
    initial_selected: bool | None = None


class Initial(Element, frozen=True, kw_only=True):
    value_boolean: bool


class Item(Element, frozen=True, kw_only=True):
    extension: tuple[Mark, ...] = ()
    link_id: str
    text: str
    type: str
    enable_when: tuple[Condition, ...] = ()
    enable_behavior: str | None = None
    required: bool | None = None
    repeats: bool | None = None
    max_length: int | None = None
    answer_option: tuple[Option, ...] = ()
    initial: tuple[Initial, ...] = ()
    item: tuple["Item", ...] = ()


class Questionnaire(Definition, frozen=True, kw_only=True, tag=True):
    subject_type: tuple[str, ...]
    item: tuple[Item, ...]
