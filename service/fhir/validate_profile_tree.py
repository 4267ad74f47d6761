"""What does a profile ask of each element, and of each of its slices?"""

from collections.abc import Mapping
from typing import Any

from msgspec import Struct

from service.fhir.base_facts import MANY

Json = Mapping[str, Any]


class Asked(Struct, frozen=True):
    """What a profile says of one element or slice.

    ``definition``: as it stands in the snapshot. ``inner``: name without type → what is asked
    inside. ``slices``: by their names.
    """

    path: str
    definition: Json
    inner: dict[str, "Asked"]
    slices: dict[str, "Asked"]

    @property
    def is_choice(self) -> bool:
        return self.path.endswith("[x]")

    @property
    def least(self) -> int:
        return int(self.definition.get("min", 0))

    @property
    def most(self) -> int | None:
        most = self.definition.get("max", MANY)
        return None if most == MANY else int(most)

    @property
    def fixed(self) -> Any:
        return _chosen(self.definition, "fixed")

    @property
    def pattern(self) -> Any:
        return _chosen(self.definition, "pattern")

    @property
    def types(self) -> dict[str, Json]:
        """Each type that is allowed, by its code."""
        return {each["code"]: each for each in self.definition.get("type", ())}

    @property
    def discriminators(self) -> tuple[str, ...]:
        """The paths by whose values a slice is told from the others."""
        slicing = self.definition.get("slicing", {})
        return tuple(each["path"] for each in slicing.get("discriminator", ()))

    @property
    def extension(self) -> str | None:
        """The profile of the extension that this is, where it is one."""
        return next(iter(self.types.get("Extension", {}).get("profile", ())), None)

    @property
    def closed(self) -> bool:
        return bool(self.definition.get("slicing", {}).get("rules") == "closed")


class Profile(Struct, frozen=True):
    """``type``: of the resources, or of the data type, that it is for. ``contexts``: paths of the
    elements in which an extension may stand; empty where that is not told by paths."""

    url: str
    type: str
    root: Asked
    version: str = ""
    contexts: frozenset[str] = frozenset()


def profile_of(definition: Json) -> Profile:
    """A StructureDefinition with its snapshot."""
    told = definition.get("context", ())
    paths = [each["expression"] for each in told if each["type"] == "element"]
    return Profile(
        definition["url"],
        definition["type"],
        asked_by(definition),
        definition.get("version", ""),
        frozenset(paths if len(paths) == len(told) else ()),
    )


def asked_by(profile: Json) -> Asked:
    """The tree of a profile's snapshot, by the ids of its elements."""
    elements = profile["snapshot"]["element"]
    root = Asked(elements[0]["path"], elements[0], {}, {})
    for element in elements[1:]:
        _, *steps = element["id"].split(".")
        at = root
        for step in steps[:-1]:
            name, _, slice_name = step.partition(":")
            at = at.inner[_plain(name)]
            at = at.slices[slice_name] if slice_name else at
        name, _, slice_name = steps[-1].partition(":")
        made = Asked(element["path"], element, {}, {})
        if slice_name:
            at.inner[_plain(name)].slices[slice_name] = made
        else:
            at.inner[_plain(name)] = made
    return root


def _plain(name: str) -> str:
    return name.removesuffix("[x]")


def _chosen(definition: Json, word: str) -> Any:
    return next((value for name, value in definition.items() if name.startswith(word)), None)


def expected_at(asked: Asked, path: str) -> Any:
    """The value by which a slice is known at the path of a discriminator; None where the
    profile does not tell it by a fixed value, a pattern or an extension's address."""
    if path == "url" and asked.extension is not None:
        return asked.extension
    at = asked
    steps = [] if path == "$this" else path.split(".")
    for number, name in enumerate(steps):
        if name not in at.inner:
            told = found_at(at.pattern, ".".join(steps[number:]))
            return told[0] if told else None
        at = at.inner[name]
    return at.pattern if at.fixed is None else at.fixed


def belongs(asked: Asked, paths: tuple[str, ...], value: Any) -> bool:
    """Whether ``value`` is of the slice ``asked``; ``paths`` are the discriminators."""
    expected = [(path, expected_at(asked, path)) for path in paths]
    return bool(expected) and all(
        one is not None and any(matches(one, found) for found in found_at(value, path))
        for path, one in expected
    )


def matches(pattern: Any, value: Any) -> bool:
    """Whether ``value`` holds everything of ``pattern``; more may stand beside it."""
    if isinstance(pattern, dict):
        return isinstance(value, dict) and all(
            name in value and matches(part, value[name]) for name, part in pattern.items()
        )
    if isinstance(pattern, list):
        return isinstance(value, list) and all(
            any(matches(part, one) for one in value) for part in pattern
        )
    return isinstance(pattern, bool) == isinstance(value, bool) and bool(pattern == value)


def found_at(value: Any, path: str) -> list[Any]:
    """The values at the simple path of a discriminator."""
    found = [value]
    for name in () if path == "$this" else path.split("."):
        found = [one for outer in found for _, _, one in given(outer, name)]
    return found


def given(value: Any, name: str, *, choice: bool = False) -> list[tuple[str, str, Any]]:
    """(index, type or empty, value) of each value under ``name``; under a choice's name with
    its type where it is a choice. A primitive that has only extensions counts as None."""
    if not isinstance(value, dict):
        return []
    for key in value:
        plain = key.removeprefix("_")
        if plain == name or (choice and _is_choice(plain, name)):
            part = value[plain] if plain in value else _nothing_of(value[key])
            listed = part if isinstance(part, list) else [part]
            return [
                (f"[{index}]" if listed is part else "", plain[len(name) :], one)
                for index, one in enumerate(listed)
            ]
    return []


def _nothing_of(beside: Any) -> Any:
    return [None] * len(beside) if isinstance(beside, list) else None


def _is_choice(key: str, name: str) -> bool:
    return key.startswith(name) and key[len(name) : len(name) + 1].isupper()
