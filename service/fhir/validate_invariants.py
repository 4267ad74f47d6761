"""Do the invariants hold that the standard, or a profile of ours, states in FHIRPath?"""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

from fhirpathpy import compile as compiled
from fhirpathpy.engine import nodes
from fhirpathpy.models import models

from service.fhir.base_facts import Constraint, ElementFacts, TypeFacts, type_facts
from service.fhir.validate_finding import Finding, Rule, Severity
from service.fhir.validate_native import NATIVE
from service.fhir.validate_native_wholes import NATIVE_WHOLES
from service.fhir.validate_tree import Node
from service.fhir.validate_words import WORDS

_QUICK = frozenset({*NATIVE, *NATIVE_WHOLES})


def invariant_findings(node: Node, *, faulty: bool = False) -> Iterator[Finding]:
    """Of the element where it is declared, and of its type. ``faulty``: its form is at fault
    already, so what says nothing counts as kept. ValueError where one of them cannot be
    evaluated, which happens where the form is wrong as well."""
    if node.value is None:
        return
    for key, constraint in constraints_of(node):
        if not holds(key, constraint.expression, node, silent=faulty or is_mild(constraint)):
            yield broken(key, constraint, node)


def broken(key: str, constraint: Constraint, node: Node, words: str = "") -> Finding:
    """``words``: how a profile tells it; without them, how it is told here."""
    words = words or words_of(node.owner.name, key)
    severity = Severity.WARNING if constraint.severity == "warning" else Severity.ERROR
    return Finding(Rule.INVARIANT, node.path, f"{key}: {words}", severity, key)


def words_of(owner: str, key: str) -> str:
    """``owner``: the type that the element stands in. KeyError where there are no words."""
    return WORDS.get(f"{owner}.{key}") or WORDS[key]


def effort(node: Node, size: int) -> int:
    """How much work its expressions are, one for a short one. ``size``: how many values its
    resource has. The engine copies its lists at every step, so long ones cost their square."""
    asked = sum(key not in _QUICK for key, _ in constraints_of(node))
    if asked == 0:
        return 0
    most = size if node.slot is None else _longest(node.value)
    return asked * (1 + most // 20 + most * most // 250_000)


def _longest(value: Any) -> int:
    parts = value.values() if isinstance(value, dict) else ()
    return max((len(part) for part in parts if isinstance(part, list)), default=0)


def constraints_of(node: Node) -> tuple[tuple[str, Constraint], ...]:
    slot = node.slot
    if slot is None:
        return _declared(node.owner.name, node.owner.elements[0].constraints, "")
    of_type = slot.inside.facts if slot.inside is not None else slot.type
    return _declared(node.owner.name, _keys(slot.element, node.owner), of_type)


def _keys(element: ElementFacts, owner: TypeFacts) -> tuple[str, ...]:
    """What is defined elsewhere keeps to the invariants from there."""
    if element.content_reference is None:
        return element.constraints
    told = element.content_reference.removeprefix("#")
    return next(each.constraints for each in owner.elements if each.path == told)


@cache
def _declared(
    owner: str, keys: tuple[str, ...], of_type: str
) -> tuple[tuple[str, Constraint], ...]:
    """Of the element in its owner, then of its type where that is another; each key once."""
    found = {key: type_facts(owner).constraints[key] for key in keys}
    if of_type and of_type != owner:
        facts = type_facts(of_type)
        found |= {key: facts.constraints[key] for key in facts.elements[0].constraints}
    return tuple(found.items())


def is_mild(constraint: Constraint) -> bool:
    """Whether it is a piece of advice, which has nothing to say of what is not there."""
    return constraint.severity == "warning"


def holds(key: str, expression: str, node: Node, *, silent: bool = True) -> bool:
    """``silent``: what to take it for where the expression says nothing, as it may over an
    element that is not there. ValueError where it cannot be evaluated."""
    native = NATIVE.get(key) or NATIVE_WHOLES.get(key)
    context = {"resource": node.within.resource, "rootResource": node.within.root}
    try:
        if native is not None:
            return native(node)
        said = _expression(expression)(_resource_node(node.value, node.base), context)
    except Exception as error:  # the engine raises what it likes
        raise ValueError(key) from error
    return silent if said == [] else said != [False]


# The engine is not typed.
_resource_node: Callable[[Any, str], Any] = nodes.ResourceNode


@cache
def _expression(expression: str) -> Callable[[Any, Mapping[str, Any]], list[Any]]:
    options = {
        "traceFn": _untold,
        "userInvocationTable": {"hasValue": {"fn": _has_value, "arity": {0: []}}},
    }
    return compiled(expression, models["r4"], options)


def _untold(_label: str, _values: Any) -> None:
    """The engine would print what an expression traces."""


def _has_value(inputs: list[Any]) -> list[bool]:
    return [len(inputs) == 1 and not isinstance(inputs[0], dict | list)]


_OPTIONS = {
    "traceFn": _untold,
    "userInvocationTable": {"hasValue": {"fn": _has_value, "arity": {0: []}}},
}
