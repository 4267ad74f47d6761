"""Does a resource keep to a profile: what must be there, how often, and which values?"""

from collections.abc import Iterator
from typing import Any

from msgspec import Struct

from service.fhir.base_facts import Constraint, known_types, type_facts
from service.fhir.validate_codes import bound_findings
from service.fhir.validate_finding import Finding, Rule
from service.fhir.validate_invariants import broken, holds, is_mild
from service.fhir.validate_known import Known
from service.fhir.validate_profile_tree import Asked, Profile, belongs, given, matches
from service.fhir.validate_references import allowed_types, target_findings
from service.fhir.validate_tree import Node, Within

_DEEPEST = 8
# (path, type where the name told it, value)
Given = tuple[str, str, Any]


class Against(Struct, frozen=True):
    """``depth``: how many extensions have been entered."""

    profile: Profile
    known: Known
    within: Within
    depth: int = 0

    def say(self, rule: Rule, path: str, text: str) -> Finding:
        name = self.profile.url.rpartition("/")[2]
        return Finding(rule, path, f"{text} The profile {name} asks so.", key=self.profile.url)


def profile_findings(node: Node, profile: Profile, known: Known) -> Iterator[Finding]:
    """``node``: a whole resource."""
    if profile.type != node.type:
        text = f"This profile is for {profile.type}. Name one for {node.type}."
        yield Finding(Rule.OTHER_TYPE, node.path, text, key=profile.url)
        return
    against = Against(profile, known, node.within)
    yield from _one(profile.root, (node.path, node.type, node.value), against)


def place_findings(node: Node, profile: Profile) -> Iterator[Finding]:
    """``node``: an extension that has a profile. Whether it may stand where it does."""
    around, _, name = node.element.path.rpartition(".")
    if profile.contexts and around not in profile.contexts:
        text = f"This extension stands in {', '.join(sorted(profile.contexts))} only. Move it."
        yield Finding(Rule.UNKNOWN_ELEMENT, node.path, text)
    elif name == "modifierExtension" and not profile.root.definition.get("isModifier"):
        text = "This extension changes no meaning. Send it as extension."
        yield Finding(Rule.UNKNOWN_ELEMENT, node.path, text)


def _one(asked: Asked, one: Given, against: Against) -> Iterator[Finding]:
    path, _, value = one
    yield from _value_findings(asked, one, against)
    if not isinstance(value, dict):
        return
    yield from _invariant_findings(asked, one, against)
    yield from _extension_findings(asked, one, against)
    for name, inner in asked.inner.items():
        found = [
            (f"{path}.{name}{index}", kind, each)
            for index, kind, each in given(value, name, choice=inner.is_choice)
        ]
        yield from _element(inner, found, f"{path}.{name}", against)


def _element(asked: Asked, found: list[Given], path: str, against: Against) -> Iterator[Finding]:
    yield from _count(asked, len(found), path, against)
    for one in found:
        yield from _one(asked, one, against)
    if asked.slices:
        yield from _slices(asked, found, path, against)


def _slices(asked: Asked, found: list[Given], path: str, against: Against) -> Iterator[Finding]:
    left = list(found)
    for slice_name, inner in asked.slices.items():
        own: list[Given] = []
        others: list[Given] = []
        for one in left:
            (own if belongs(inner, asked.discriminators, one[2]) else others).append(one)
        left = others
        yield from _count(inner, len(own), path, against, f" of {slice_name}")
        for one in own:
            yield from _one(inner, one, against)
    if asked.closed:
        for where, _, _ in left:
            yield against.say(Rule.PROFILE, where, "This is none of those that may be here.")


def _count(
    asked: Asked, count: int, path: str, against: Against, kind: str = ""
) -> Iterator[Finding]:
    name = path.rpartition(".")[2]
    if count < asked.least:
        text = f"At least {asked.least} {name}{kind} must be given."
        yield against.say(Rule.MISSING, path, text)
    if asked.most is not None and count > asked.most:
        text = f"At most {asked.most} {name}{kind} may be given."
        yield against.say(Rule.TOO_MANY, path, text)


def _value_findings(asked: Asked, one: Given, against: Against) -> Iterator[Finding]:
    path, written, value = one
    if value is None:
        return
    if asked.fixed is not None and value != asked.fixed:
        yield against.say(Rule.PROFILE, path, "The value is not the one that is fixed.")
    if asked.pattern is not None and not matches(asked.pattern, value):
        yield against.say(Rule.PROFILE, path, "What must be in the value is not in it.")
    kind = _kind(asked, written)
    if kind is None:
        text = f"The value must be one of {', '.join(asked.types)}."
        yield against.say(Rule.PROFILE, path, text)
        return
    binding = asked.definition.get("binding", {})
    if binding.get("strength") == "required" and "valueSet" in binding:
        yield from bound_findings(kind, value, path, binding["valueSet"], against.known)
    targets = tuple(asked.types.get("Reference", {}).get("targetProfile", ()))
    if kind == "Reference" and targets and isinstance(value, dict):
        allowed = allowed_types(targets, against.known)
        yield from target_findings(value, path, against.within, allowed)


def _kind(asked: Asked, written: str) -> str | None:
    """The type of the value; None where it is a choice that the profile leaves out. What has
    no type of its own in the snapshot is looked at by its names alone."""
    if not asked.is_choice:
        return next(iter(asked.types), "")
    by_suffix = {code[0].upper() + code[1:]: code for code in asked.types}
    return by_suffix.get(written)


def _invariant_findings(asked: Asked, one: Given, against: Against) -> Iterator[Finding]:
    """The invariants that the profile adds to those of the standard."""
    path, written, value = one
    kind = _kind(asked, written) or asked.path
    nested = kind in ("BackboneElement", "Element")
    base = asked.definition.get("base", {}).get("path", asked.path) if nested else kind
    facts = type_facts(kind if kind in known_types() else against.profile.type)
    for each in asked.definition.get("constraint", ()):
        if each.get("source") != against.profile.url or "expression" not in each:
            continue
        constraint = Constraint(each["severity"], each["expression"])
        node = Node(path, facts.elements[0], facts, kind, base, value, against.within)
        if not holds(each["key"], constraint.expression, node, silent=is_mild(constraint)):
            yield broken(each["key"], constraint, node, each["human"])


def _extension_findings(asked: Asked, one: Given, against: Against) -> Iterator[Finding]:
    """What stands in one of our own extensions, by the profile of that extension."""
    profile = against.known.profiles.get(str(asked.extension))
    if profile is None or against.depth >= _DEEPEST:
        return
    deeper = Against(profile, against.known, against.within, against.depth + 1)
    yield from _one(profile.root, one, deeper)
