"""What is wrong with a resource, by the standard and by our own profiles?"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from msgspec import Struct

from service.domain.json_text import parse, refuse_depth
from service.fhir.base_facts import STRUCTURE, known_types
from service.fhir.validate_codes import code_findings
from service.fhir.validate_finding import Finding, Rule, Severity, is_valid
from service.fhir.validate_invariants import effort, invariant_findings
from service.fhir.validate_known import NOTHING, Known
from service.fhir.validate_narrative import outside_findings
from service.fhir.validate_parts import whole_findings
from service.fhir.validate_profile import place_findings, profile_findings
from service.fhir.validate_references import extension_findings, reference_findings
from service.fhir.validate_tree import MOST_NODES, Node, Walked, resource_types, walk

MOST_TOLD = 200
MOST_EFFORT = 20_000
_PAUSE_EVERY = 20
_SEVERAL = (Rule.INVARIANT, Rule.PROFILE, Rule.RESPONSE)
_UNCHECKED = (
    "Not looked at: codes of value sets and systems that are not listed here, displays, whether"
    " UCUM has a unit, whether an address elsewhere leads somewhere, extensions and profiles of"
    " others."
)


class Wanted(Struct, frozen=True):
    """``kind``: the type that the address names, or empty. ``profiles``: canonicals that the
    caller wants it held to, besides those in meta.profile. ``found``: what is wrong with the
    question itself. ``pause``: called again and again, so that others get their turn."""

    kind: str = ""
    profiles: tuple[str, ...] = ()
    found: tuple[Finding, ...] = ()
    pause: Callable[[], object] = int


def read_tree(body: bytes) -> Any:
    """``body`` as JSON whose decimals keep their digits. Raises Unreadable, Refused."""
    value = parse(body)
    refuse_depth(value)
    return value


def validate(
    resource: Any,
    known: Known = NOTHING,
    wanted: Wanted = Wanted(),  # noqa: B008 - is frozen
) -> tuple[Finding, ...]:
    """Every fault, the errors first where there are too many to tell; then what was not
    looked at. ``resource`` is what :func:`read_tree` gave."""
    walked = walk(resource)
    found = [*wanted.found, *_of_address(resource, wanted), *walked.findings]
    found += _of_nodes(walked, known, wanted)
    found += _of_profiles(walked, known, wanted)
    found += _of_extensions(walked, known)
    found += _of_responses(walked, known)
    found += whole_findings(walked.nodes, known)
    if walked.full:
        text = f"Only the first {MOST_NODES} values were looked at. Send it in parts."
        found.append(Finding(Rule.MORE, walked.nodes[0].path, text))
    return _told(_once(found), looked_at=bool(walked.nodes))


def _of_address(resource: Any, wanted: Wanted) -> Iterator[Finding]:
    kind = resource.get("resourceType") if isinstance(resource, dict) else None
    if wanted.kind and kind is not None and kind != wanted.kind:
        text = f"The address names {wanted.kind}. Send one, or use the address of this type."
        yield Finding(Rule.OTHER_TYPE, kind if str(kind) in resource_types() else "", text)


def _of_nodes(walked: Walked, known: Known, wanted: Wanted) -> Iterator[Finding]:
    sizes = Counter(id(node.within) for node in walked.nodes)
    spent, left_out = 0, 0
    faulty = _with_all_around(each.path for each in walked.findings)
    for number, node in enumerate(walked.nodes):
        yield from code_findings(node, known)
        yield from reference_findings(node, known)
        if node.type == "xhtml" and isinstance(node.value, str):
            yield from outside_findings(node.value, node.path)
        cost = effort(node, sizes[id(node.within)])
        if cost or number % _PAUSE_EVERY == 0:
            wanted.pause()
        if spent + cost > MOST_EFFORT:
            left_out += 1
            continue
        spent += cost
        yield from _of_invariants(node, faulty=node.path in faulty)
    if left_out:
        text = f"The invariants of {left_out} elements were not evaluated. Send it in parts."
        yield Finding(Rule.MORE, "", text, Severity.WARNING)


def _with_all_around(paths: Iterable[str]) -> frozenset[str]:
    """The paths, and those of everything they lie in."""
    steps = [path.split(".") for path in paths]
    return frozenset(".".join(each[: last + 1]) for each in steps for last in range(len(each)))


def _of_invariants(node: Node, *, faulty: bool) -> Iterator[Finding]:
    try:
        yield from invariant_findings(node, faulty=faulty)
    except ValueError as error:
        # Where the form is at fault already, that is what to mend first.
        if not faulty:
            text = f"The invariant {error} could not be evaluated."
            yield Finding(Rule.UNCHECKED, node.path, text, Severity.WARNING)


def _of_profiles(walked: Walked, known: Known, wanted: Wanted) -> Iterator[Finding]:
    for node in walked.nodes:
        if node.slot is not None:
            continue
        wanted.pause()
        asked = [(path, canonical, Severity.WARNING) for path, canonical in _named(node)]
        if node is walked.nodes[0]:
            asked += [(node.path, canonical, Severity.ERROR) for canonical in wanted.profiles]
        for canonical in dict.fromkeys(each.partition("|")[0] for _, each, _ in asked):
            if canonical in known.profiles:
                yield from _evaluated(node, canonical, known)
        for path, canonical, severity in asked:
            if text := _unkept(canonical, known):
                yield Finding(Rule.PROFILE_UNKNOWN, path, text, severity)


def _unkept(canonical: str, known: Known) -> str:
    """What is missing of it: kept are the profiles of ours, in one version each, and the
    definitions of the standard, which everything is held to. Empty where nothing is."""
    url, _, version = canonical.partition("|")
    kept = known.profiles.get(url)
    if kept is not None and kept.version and version not in ("", kept.version):
        return f"Version {kept.version} of this profile is kept here, and was held to. Name that."
    if kept is not None or url.removeprefix(STRUCTURE) in known_types():
        return ""
    return "This profile is not kept here, so nothing was held to it. Name one of ours."


def _named(node: Node) -> Iterator[tuple[str, str]]:
    meta = node.value.get("meta")
    listed = meta.get("profile") if isinstance(meta, dict) else None
    for index, canonical in enumerate(listed if isinstance(listed, list) else ()):
        if isinstance(canonical, str):
            yield f"{node.path}.meta.profile[{index}]", canonical


def _evaluated(node: Node, url: str, known: Known) -> Iterator[Finding]:
    try:
        yield from profile_findings(node, known.profiles[url], known)
    except ValueError as error:
        text = f"The invariant {error} of the profile could not be evaluated."
        yield Finding(Rule.UNCHECKED, node.path, text, Severity.WARNING)


def _of_extensions(walked: Walked, known: Known) -> Iterator[Finding]:
    """Ours are held to what is published of them wherever they stand."""
    for node in walked.nodes:
        if node.type != "Extension" or node.slot is None:
            continue
        yield from extension_findings(node)
        url = str(node.value.get("url"))
        if url in known.profiles:
            yield from _evaluated(node, url, known)
            yield from place_findings(node, known.profiles[url])
        elif known.lacks(url):
            text = "No extension is published here under this address. Correct it."
            yield Finding(Rule.PROFILE_UNKNOWN, f"{node.path}.url", text)
        elif node.slot.name == "modifierExtension":
            text = "This may change what the element means, and is not known here. Look at it."
            yield Finding(Rule.UNCHECKED, node.path, text, Severity.WARNING)


def _of_responses(walked: Walked, known: Known) -> Iterator[Finding]:
    for node in walked.nodes:
        if node.slot is None and node.type == "QuestionnaireResponse":
            asked = str(node.value.get("questionnaire")).partition("|")[0]
            if asked in known.responses:
                yield from known.responses[asked](node.value, node.path)


def _once(found: list[Finding]) -> list[Finding]:
    """The profile and the standard may ask the same of the same place."""
    seen: dict[tuple[str, str, str], Finding] = {}
    for each in found:
        said = each.key if each.rule in _SEVERAL else ""
        seen.setdefault((each.rule, each.path, said), each)
    return list(seen.values())


def _told(found: list[Finding], *, looked_at: bool) -> tuple[Finding, ...]:
    beside = [Finding(Rule.UNCHECKED, "", _UNCHECKED, Severity.INFORMATION)]
    if looked_at and is_valid(tuple(found)):
        beside.insert(0, Finding(Rule.NO_FAULT, "", "No fault was found.", Severity.INFORMATION))
    if len(found) > MOST_TOLD:
        text = f"Of {len(found)} findings {MOST_TOLD} are told. Mend these, then ask again."
        beside.insert(0, Finding(Rule.MORE, "", text, Severity.INFORMATION))
        order = list(Severity)
        found = sorted(found, key=lambda each: order.index(each.severity))[:MOST_TOLD]
    return (*found, *beside)
