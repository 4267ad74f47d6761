"""What do the parameters of a search ask for?

A comma parts values of which one must match, a repeated parameter adds a condition. A value that
cannot be is refused with the name of its parameter; a parameter that is not known is left out
and told, or refused where ``Prefer: handling=strict`` asks for that.
"""

import re
from collections.abc import Iterable
from datetime import datetime, tzinfo
from typing import Any

from msgspec import Struct

from service.domain.problem import Fault, Unreadable
from service.fhir.audit_parameters import AGENT, ENTITY, SEARCHED
from service.fhir.search_control import CONTROLS, FORMS, ITERATED, Control, control_of
from service.fhir.search_dates import DateValue, matches, read_date
from service.fhir.search_parameters import PATIENTS, Parameter
from service.fhir.search_tokens import Token, alternatives, is_id, read_reference, read_token

_MOST_VALUES = 100
_NAME = re.compile(r"[_A-Za-z][A-Za-z:._-]{0,63}", re.ASCII)
_REFUSED = "The search asks for what cannot be."


class Whose(Struct, frozen=True):
    """One of these patients: by our own ids or by business identifiers."""

    ids: tuple[str, ...] = ()
    identifiers: tuple[Token, ...] = ()


class Test(Struct, frozen=True, kw_only=True):
    """One condition that a resource itself answers."""

    parameter: Parameter
    name: str
    negated: bool = False
    tokens: tuple[Token, ...] = ()
    dates: tuple[DateValue, ...] = ()

    def holds(self, resource: Any, now: datetime) -> bool:
        if self.parameter.span is not None:
            told = self.parameter.span(resource)
            return any(matches(date, told, now) for date in self.dates)
        codes = self.parameter.codes(resource) if self.parameter.codes else ()
        return any(token.matches(codes) for token in self.tokens) is not self.negated


class Used(Struct, frozen=True):
    """A parameter as the link to this search repeats it. ``whose``: it names patients, the
    condition of that number, and only their own ids may be repeated."""

    name: str
    value: str
    whose: int | None = None


class Query(Struct, frozen=True, kw_only=True):
    """``ids`` None: any. ``targets``: type and id of what a Provenance must be of."""

    kind: str
    control: Control
    ids: tuple[str, ...] | None = None
    whose: tuple[Whose, ...] = ()
    targets: tuple[tuple[tuple[str, str], ...], ...] = ()
    tests: tuple[Test, ...] = ()
    used: tuple[Used, ...] = ()
    ignored: tuple[str, ...] = ()

    def holds(self, resource: Any, now: datetime) -> bool:
        """Whether the resource answers every condition that it can answer itself."""
        return all(test.holds(resource, now) for test in self.tests)


def read_query(
    kind: str, said: Iterable[tuple[str, str]], base: str, zone: tzinfo, *, strict: bool = False
) -> Query:
    """Raises Unreadable with every fault."""
    reader = _Reader(kind, base, zone)
    control: dict[str, tuple[str, ...]] = {}
    for name, value in said:
        if name in FORMS:
            continue
        if not value:
            reader.refuse(name, "A value is needed: an empty one would ask for everything.")
        elif (stem := ITERATED.get(name, name)) in CONTROLS:
            control[stem] = (*control.get(stem, ()), value)
        elif stem == "_query":
            reader.refuse(name, "No query has a name here.", "unknown")
        else:
            reader.take(name, value)
    found = control_of(kind, control, reader.refuse)
    if strict:
        for name in reader.ignored:
            reader.refuse(name, "Not known for this type; the metadata list what is.", "unknown")
    if reader.faults:
        raise Unreadable(_REFUSED, tuple(reader.faults))
    return Query(
        kind=kind,
        control=found,
        ids=None if reader.ids is None else tuple(sorted(reader.ids)),
        whose=tuple(reader.whose),
        targets=tuple(reader.targets),
        tests=tuple(reader.tests),
        used=tuple(reader.used),
        ignored=tuple(dict.fromkeys(map(shown, reader.ignored))),
    )


class _Reader:
    """Takes one parameter after the other and remembers what each asks for."""

    def __init__(self, kind: str, base: str, zone: tzinfo) -> None:
        self.kind, self.base, self.zone = kind, base, zone
        self.faults: list[Fault] = []
        self.ignored: list[str] = []
        self.ids: set[str] | None = None
        self.whose: list[Whose] = []
        self.targets: list[tuple[tuple[str, str], ...]] = []
        self.tests: list[Test] = []
        self.used: list[Used] = []

    def refuse(self, name: str, text: str, rule: str = "value") -> None:
        known = shown(name)
        self.faults.append(Fault(f"/http/{known}", f"search.{rule}", f"{known}: {text}"))

    def take(self, name: str, value: str) -> None:
        stem, modifier = _parted(name)
        parameter = SEARCHED[self.kind].get(stem)
        if parameter is None:
            self.ignored.append(name)
            return
        values = alternatives(value)
        if len(values) > _MOST_VALUES:
            self.refuse(name, f"At most {_MOST_VALUES} values.")
            return
        try:
            self._take(parameter, stem, modifier, values)
        except ValueError:
            self.refuse(name, _FORMS[parameter.kind])
            return
        if stem not in PATIENTS and not self._names_person(stem):
            self.used.append(Used(name, value))

    def _take(
        self, parameter: Parameter, stem: str, modifier: str, values: tuple[str, ...]
    ) -> None:
        if stem in PATIENTS:
            self._patient(stem, modifier, values)
        elif self._names_person(stem):
            self._known_by(modifier, values)
        elif stem == AGENT and modifier == ":identifier":
            self._tokens(parameter, stem, "", values)
        elif modifier and (modifier, parameter.kind) != (":not", "token"):
            self.refuse(f"{stem}{modifier}", "No such modifier here.", "unknown")
        elif stem == "_id":
            self._id(modifier, values)
        elif stem in ("target", ENTITY):
            self.targets.append(tuple(self._target(value) for value in values))
        elif parameter.kind == "date":
            dates = tuple(read_date(value, self.zone) for value in values)
            self.tests.append(Test(parameter=parameter, name=stem, dates=dates))
        else:
            self._tokens(parameter, stem, modifier, values)

    def _tokens(
        self, parameter: Parameter, stem: str, modifier: str, values: tuple[str, ...]
    ) -> None:
        tokens = tuple(map(read_token, values))
        negated = modifier == ":not"
        self.tests.append(Test(parameter=parameter, name=stem, negated=negated, tokens=tokens))

    def _names_person(self, stem: str) -> bool:
        return (self.kind, stem) == ("Patient", "identifier")

    def _id(self, modifier: str, values: tuple[str, ...]) -> None:
        if modifier or not all(map(is_id, values)):
            raise ValueError("Not ids.")
        self.ids = set(values) if self.ids is None else self.ids & set(values)

    def _patient(self, stem: str, modifier: str, values: tuple[str, ...]) -> None:
        if modifier in (":identifier", ".identifier", ":Patient.identifier"):
            found = Whose(identifiers=tuple(map(read_token, values)))
        elif modifier in ("", ":Patient"):
            named = [read_reference(value, "Patient", self.base) for value in values]
            found = Whose(ids=tuple(one for one in named if one is not None))
        else:
            self.refuse(f"{stem}{modifier}", "No such modifier here.", "unknown")
            return
        self.used.append(Used(stem, "", len(self.whose)))
        self.whose.append(found)

    def _known_by(self, modifier: str, values: tuple[str, ...]) -> None:
        tokens = tuple(map(read_token, values))
        if modifier or any(token.code is None for token in tokens):
            raise ValueError("A value is needed.")
        self.used.append(Used("_id", "", len(self.whose)))
        self.whose.append(Whose(identifiers=tokens))

    def _target(self, value: str) -> tuple[str, str]:
        kind, _, rest = value.removeprefix(f"{self.base}/").partition("/")
        found = read_reference(rest.partition("/_history/")[0], kind, self.base) if rest else None
        if found is None:
            raise ValueError("Not a reference with its type.")
        return kind, found


_FORMS = {
    "token": "A code, |code, system| or system|code is asked for, escapes before , | and $.",
    "date": (
        "A date such as 2026, 2026-03, 2026-03-04 or 2026-03-04T08:15:00Z, before it perhaps"
        " one of eq ne gt lt ge le sa eb ap."
    ),
    "reference": "An id, Type/id or an address of this service is asked for.",
}


def shown(name: str) -> str:
    """The name of a parameter; one that may hold a value instead of a name is not repeated."""
    return name if _NAME.fullmatch(name) else "parameter"


def _parted(name: str) -> tuple[str, str]:
    """The parameter and what stands behind it: a modifier or a chain."""
    for at, sign in enumerate(name):
        if sign in ":.":
            return name[:at], name[at:]
    return name, ""
