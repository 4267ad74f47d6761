"""Which facts of the official FHIR definitions does the service carry, and in which files?

``poe facts`` writes them anew to ``service/fhir/base/``: numbers, names, types, codes and
expressions. No sentence of the definitions is carried.
"""

import json
import sys
import tarfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import service.fhir
from tests.fhir.base_values import Definitions, codes_of
from tests.fhir.validators import definitions

HERE = Path(service.fhir.__file__).parent / "base"
STRUCTURE = "http://hl7.org/fhir/StructureDefinition/"
_RESOURCES = (
    "Patient", "QuestionnaireResponse", "Questionnaire", "Observation", "CarePlan", "Provenance",
    "Goal", "Flag", "Task", "Device", "Bundle", "OperationOutcome", "Parameters",
    "CapabilityStatement", "StructureDefinition", "CodeSystem", "ValueSet", "ConceptMap",
    "SearchParameter", "PlanDefinition", "ActivityDefinition", "OperationDefinition",
    "AuditEvent", "ImplementationGuide", "Practitioner", "PractitionerRole", "RelatedPerson",
    "Organization", "Location", "Encounter", "Group", "Resource", "DomainResource",
)  # fmt: skip
_REGEX = STRUCTURE + "regex"
_FHIR_TYPE = STRUCTURE + "structuredefinition-fhir-type"
# Sets of more codes than this are lists of the whole world, not of a standard.
_MOST_CODES = 400


@cache
def package() -> Definitions:
    """Every definition of the official package, by its canonical address."""
    found: Definitions = {}
    with tarfile.open(definitions()) as archive:
        for member in archive:
            name = member.name.rpartition("/")[2]
            if name.startswith(("StructureDefinition-", "ValueSet-", "CodeSystem-")):
                file = archive.extractfile(member)
                if file is not None:
                    one = json.load(file)
                    found.setdefault(one["url"], one)
    return found


def facts(found: Definitions) -> dict[str, dict[str, Any]]:
    """File name → what it holds."""
    types = dict(_types(found))
    bindings = sorted({each for one in types.values() for each in _required(one)})
    sets = {url: codes_of(found, url.partition("|")[0]) for url in bindings}
    kept = {
        url: {system: sorted(codes) for system, codes in sorted(listed.items())}
        for url, listed in sets.items()
        if listed is not None and sum(map(len, listed.values())) <= _MOST_CODES
    }
    return {**{f"{name}.json": one for name, one in types.items()}, "value-sets.json": kept}


def _types(found: Definitions) -> Iterator[tuple[str, dict[str, Any]]]:
    waiting = list(_RESOURCES)
    seen: set[str] = set()
    while waiting:
        name = waiting.pop()
        definition = found.get(STRUCTURE + name)
        if name in seen or definition is None or definition["kind"] == "logical":
            continue
        seen.add(name)
        one = _one_type(definition)
        yield name, one
        if one["kind"] == "resource" and one["url"].endswith(tuple(_RESOURCES)):
            waiting.append(str(one.get("base", "")).removeprefix(STRUCTURE))
        for element in one["elements"]:
            for kind in element.get("types", ()):
                waiting.append(kind["code"])
                waiting.extend(each.removeprefix(STRUCTURE) for each in kind.get("profiles", ()))


def _one_type(definition: dict[str, Any]) -> dict[str, Any]:
    elements = definition["snapshot"]["element"]
    constraints = {
        each["key"]: _filled(
            severity=each["severity"], expression=each["expression"], source=each.get("source")
        )
        for element in elements
        for each in element.get("constraint", ())
    }
    return {
        **_filled(
            name=definition["name"], url=definition["url"], type=definition["type"],
            kind=definition["kind"], abstract=definition["abstract"],
            base=definition.get("baseDefinition"),
        ),
        "constraints": dict(sorted(constraints.items())),
        "elements": [_element(element) for element in elements],
    }  # fmt: skip


def _element(element: dict[str, Any]) -> dict[str, Any]:
    base = element["base"]
    changed = any(base[each] != element[each] for each in ("path", "min", "max"))
    binding = element.get("binding")
    return _filled(
        path=element["path"],
        min=element["min"],
        max=element["max"],
        base=base if changed else None,
        types=[_kind(each) for each in element.get("type", ())],
        content_reference=element.get("contentReference"),
        binding=binding
        and _filled(strength=binding["strength"], value_set=binding.get("valueSet")),
        constraints=[each["key"] for each in element.get("constraint", ())],
        conditions=element.get("condition"),
        is_modifier=element.get("isModifier"),
        is_summary=element.get("isSummary"),
    )


def _kind(kind: dict[str, Any]) -> dict[str, Any]:
    beside = {each["url"]: each for each in kind.get("extension", ())}
    return _filled(
        code=kind["code"],
        fhir_type=beside.get(_FHIR_TYPE, {}).get("valueUrl"),
        regex=beside.get(_REGEX, {}).get("valueString"),
        profiles=kind.get("profile"),
        targets=kind.get("targetProfile"),
    )


def _filled(**facts: Any) -> dict[str, Any]:
    """Without what is absent, false or empty; ``min`` 0 stays."""
    return {
        name: value for name, value in facts.items() if value or (value == 0 and value is not False)
    }


def _required(one: dict[str, Any]) -> Iterator[str]:
    for element in one["elements"]:
        binding = element.get("binding", {})
        if binding.get("strength") == "required" and "value_set" in binding:
            yield binding["value_set"]


def text(facts: dict[str, Any]) -> str:
    """JSON with one element, constraint or code list in a line, so that a change can be read."""
    lines = []
    for name, value in facts.items():
        if isinstance(value, list):
            inner = [f"  {_line(each)}" for each in value]
            lines.append(f" {_line(name)}: [\n" + ",\n".join(inner) + "\n ]")
        elif isinstance(value, dict) and value:
            inner = [f"  {_line(key)}: {_line(each)}" for key, each in value.items()]
            lines.append(f" {_line(name)}: {{\n" + ",\n".join(inner) + "\n }")
        else:
            lines.append(f" {_line(name)}: {_line(value)}")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _line(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(", ", ":") if value else None)


def files() -> dict[Path, str]:
    return {HERE / name: text(one) for name, one in sorted(facts(package()).items())}


def main() -> int:
    made = files()
    for stale in set(HERE.glob("*.json")) - set(made):
        stale.unlink()
    HERE.mkdir(exist_ok=True)
    for path, content in made.items():
        path.write_text(content, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
