"""Which standard codes stand near our own, and how near?

``wider``: the standard code says less than ours. ``narrower``, ``inexact`` and ``relatedto``:
it says something else, which the comment names. Nothing is ever ``equal``.
"""

from msgspec import Struct
from msgspec.structs import replace

from service.fhir.codes import LOINC, SNOMED, STANDARD
from service.fhir.definitions.code_elements import ConceptMap, MapGroup, Mapped, Target
from service.fhir.definitions.code_systems import value_set_url
from service.fhir.definitions.heads import head
from service.fhir.narrative import bullets
from service.fhir.notices import notice_of
from service.fhir.own_codes import display
from service.fhir.site import Site, code_system
from service.fhir.structs import Coding
from service.fhir.text import fhir_id

_USUAL = (
    "The standard item is about what the person usually does over days; ours is what was seen, or"
    " what is planned, at one time."
)
NEAR: dict[tuple[str, str], tuple[str, str]] = {
    ("stage", "rise"): ("89393-3", "inexact"),
    ("move", "bed_to_chair"): ("89415-4", "relatedto"),
    ("move", "chair_to_bed"): ("89415-4", "relatedto"),
    ("move", "turn_in_bed"): ("89399-0", "relatedto"),
}
"""(kind, own code) to a LOINC item of usual performance. Never sent beside ours: only mapped."""
_HOW = {
    "129839007": ("equivalent", None),
    "2708-6": ("wider", "Ours was taken at the bedside; this one is of arterial blood in general."),
    "59408-5": ("narrower", "By pulse oximetry. Ours does not say how it was taken."),
}
"""Where it is not what is usual for the system."""
_USUALLY = {LOINC: "equivalent", SNOMED: "wider"}
_NAMES = {LOINC: "LOINC", SNOMED: "SNOMED CT"}


class Pair(Struct, frozen=True):
    code: str
    target: Target


def concept_maps(site: Site) -> list[ConceptMap]:
    """One for each kind of ours and each standard system that is spoken here."""
    pairs: dict[tuple[str, str], list[Pair]] = {}
    spare = replace(site, concepts={})
    for kind, code in STANDARD:
        for coding in spare.concept(kind, code, code).coding[1:]:
            pairs.setdefault((fhir_id(kind), coding.system), []).append(Pair(code, _target(coding)))
    for (kind, code), (loinc, how) in NEAR.items():
        target = Target(code=loinc, equivalence=how, comment=_USUAL)
        pairs.setdefault((kind, LOINC), []).append(Pair(code, target))
    spoken = [each for each in pairs.items() if each[0][1] in site.standard]
    return [_map(site, kind, system, found) for (kind, system), found in sorted(spoken, key=_key)]


def _key(each: tuple[tuple[str, str], list[Pair]]) -> tuple[str, str]:
    return each[0]


def _target(coding: Coding) -> Target:
    usual = (_USUALLY[coding.system], None)
    how, comment = _HOW.get(coding.code, usual)
    return Target(code=coding.code, display=coding.display, equivalence=how, comment=comment)


def _map(site: Site, kind: str, system: str, pairs: list[Pair]) -> ConceptMap:
    name = _NAMES[system]
    by_code: dict[str, list[Target]] = {}
    for pair in pairs:
        by_code.setdefault(pair.code, []).append(pair.target)
    title = f"{site.own[kind].title} to {name}"
    lines = [
        f"{code}: {one.code} ({one.equivalence})" for code, each in by_code.items() for one in each
    ]
    told = f"Codes of {name} near to ours."
    native = f"{kind}-to-{'loinc' if system == LOINC else 'snomed'}"
    return ConceptMap(
        **head(site, "ConceptMap", native, title, told, bullets("Maps", lines)),
        copyright=notice_of(system),
        source_canonical=value_set_url(site, kind),
        group=(
            MapGroup(
                source=code_system(site.canonical, kind),
                source_version=site.book.ref.version,
                target=system,
                element=tuple(
                    [
                        Mapped(code=code, display=display(site.own, kind, code), target=tuple(each))
                        for code, each in by_code.items()
                    ]
                ),
            ),
        ),
    )  # fmt: skip
