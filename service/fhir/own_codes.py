"""In which words are the codes of our own said, and what does each rest on?

Published code systems are made from these, and what goes out takes its words from here.
"""

from collections.abc import Iterable, Mapping

from msgspec import Struct

from service.domain.citation import Citation
from service.fhir.text import fhir_id, sentence, tidy


class OwnCode(Struct, frozen=True, kw_only=True):
    """``source`` and ``standing`` are those of the rule file. ``rank``: its place where the codes
    of a system are ordered, worst first or, for methods, most active first."""

    code: str
    display: str
    definition: str | None = None
    source: str | None = None
    standing: str | None = None
    rank: int | None = None


class OwnSystem(Struct, frozen=True, kw_only=True):
    """All codes of one ``kind``, which is the end of the system's address."""

    kind: str
    title: str
    description: str
    codes: Mapping[str, OwnCode]

    def display(self, code: str) -> str | None:
        found = self.codes.get(code)
        return None if found is None else found.display


OwnSystems = Mapping[str, OwnSystem]


def own(
    code: str,
    display: str = "",
    *,
    definition: str | None = None,
    citation: Citation | None = None,
    rank: int | None = None,
) -> OwnCode:
    """A code with its words, which are its own where none are given."""
    return OwnCode(
        code=code,
        display=tidy(display) if display else sentence(code),
        definition=tidy(definition) if definition else None,
        source=None if citation is None else citation.source,
        standing=None if citation is None else citation.standing.value,
        rank=rank,
    )


def system(kind: str, title: str, description: str, codes: Iterable[OwnCode]) -> OwnSystem:
    """The system of ``kind``. Of two codes that are the same the first stands."""
    by_code: dict[str, OwnCode] = {}
    for one in codes:
        by_code.setdefault(one.code, one)
    return OwnSystem(kind=fhir_id(kind), title=title, description=description, codes=by_code)


def display(systems: OwnSystems, kind: str, code: str) -> str | None:
    """The words of a code; None where no such code is listed."""
    found = systems.get(fhir_id(kind))
    return None if found is None else found.display(code)
