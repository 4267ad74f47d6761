"""What must hold for FHIR sent out that the validators at hand do not look at?"""

import re
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree as ET

from tests.fhir.code_checks import code_faults

_ID = re.compile(r"[A-Za-z0-9\-.]{1,64}")
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_ZONED = re.compile(
    r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d+)?(Z|[+-](0\d|1[0-3]):[0-5]\d|[+-]14:00)"
)
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_XHTML = "{http://www.w3.org/1999/xhtml}"
_TAGS = {_XHTML + tag for tag in ("div", "p", "b", "h2", "h3", "ul", "ol", "li")}
_DATES = ("Date", "DateTime", "birthDate", "authored", "issued", "lastUpdated", "recorded", "start",
          "end", "created", "timestamp")  # fmt: skip
_RANGES = ("low", "high")
Path = str


def bundle_faults(bundle: dict[str, Any]) -> list[str]:
    """Everything wrong with ``bundle`` and what is in it."""
    resources = [entry["resource"] for entry in bundle["entry"]]
    found = [fault for one in resources for fault in resource_faults(one)]
    return [*found, *_entry_faults(bundle), *_reference_faults(bundle)]


def resource_faults(resource: dict[str, Any]) -> list[str]:
    """Everything wrong with one resource by itself."""
    kind = resource["resourceType"]
    found = [*_narrative_faults(resource)]
    if not _ID.fullmatch(resource.get("id", "")):
        found.append(f"{kind}: id {resource.get('id')!r}")
    for path, value in _walk(kind, resource):
        found.extend(_value_faults(path, value))
    return found


def _walk(path: Path, value: Any) -> Iterator[tuple[Path, Any]]:
    yield path, value
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _walk(f"{path}.{name}", inner)
    if isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _walk(f"{path}[{index}]", inner)


def _value_faults(path: Path, value: Any) -> Iterator[str]:
    if value is None or value in ("", [], {}):
        yield f"{path}: empty"
    if path.rpartition(".")[2] in ("modifierExtension", "doNotPerform"):
        yield f"{path}: a modifier that a receiver may drop"
    if isinstance(value, str):
        yield from _text_faults(path, value)
    if isinstance(value, float) or (isinstance(value, Decimal) and not value.is_finite()):
        yield f"{path}: not a decimal with its own digits"
    if isinstance(value, dict):
        yield from _element_faults(path, value)


def _text_faults(path: Path, value: str) -> Iterator[str]:
    if _CONTROL.search(value) or not value.strip():
        yield f"{path}: holds what no FHIR string may"
    if path.endswith(_DATES) and not path.endswith(".text"):
        yield from _moment_faults(path, value)


def _moment_faults(path: Path, value: str) -> Iterator[str]:
    try:
        if _DATE.fullmatch(value):
            date.fromisoformat(value)
        elif _ZONED.fullmatch(value):
            datetime.fromisoformat(value)
        else:
            yield f"{path}: {value} is no zoned time and no day"
    except ValueError:
        yield f"{path}: {value} is not in the calendar"


def _element_faults(path: Path, value: dict[str, Any]) -> Iterator[str]:
    if "code" in value and "value" in value and "system" not in value:
        yield f"{path}: qty-3, a coded unit needs its system"
    if "data" in value and "contentType" not in value:
        yield f"{path}: att-1, data needs its content type"
    if all(end in value for end in _RANGES):
        low, high = (value[end].get("value") for end in _RANGES)
        if low is not None and high is not None and low > high:
            yield f"{path}: rng-2, low is above high"
    yield from code_faults(path, value)


def _narrative_faults(resource: dict[str, Any]) -> Iterator[str]:
    kind = resource["resourceType"]
    text = resource.get("text")
    if text is None:
        yield f"{kind}: dom-6, no narrative"
        return
    if text.get("status") != "generated":
        yield f"{kind}: the narrative's status"
    try:
        root = ET.fromstring(text["div"])  # noqa: S314 - made by the code under test
    except ET.ParseError as error:
        yield f"{kind}: the narrative is no XML: {error}"
        return
    for element in root.iter():
        if element.tag not in _TAGS or element.attrib:
            yield f"{kind}: the narrative holds {element.tag} {element.attrib}"
    if root.tag != f"{_XHTML}div" or not "".join(root.itertext()).strip():
        yield f"{kind}: txt-2, an empty narrative"


def _entry_faults(bundle: dict[str, Any]) -> Iterator[str]:
    for url, count in Counter(entry["fullUrl"] for entry in bundle["entry"]).items():
        if count > 1:
            yield f"{url}: more than once"
    for entry in bundle["entry"]:
        resource = entry["resource"]
        if not entry["fullUrl"].endswith(f"/{resource['resourceType']}/{resource['id']}"):
            yield f"{entry['fullUrl']}: not the address of {resource['id']}"


def _reference_faults(bundle: dict[str, Any]) -> Iterator[str]:
    """Each reference leads to an entry, of the version named; but for a plan replaced."""
    versions = {
        "/".join(entry["fullUrl"].rsplit("/", 2)[-2:]): entry["resource"]["meta"]["versionId"]
        for entry in bundle["entry"]
    }
    for entry in bundle["entry"]:
        resource = entry["resource"]
        inside = {f"#{one['id']}" for one in resource.get("contained", [])}
        for path, value in _walk(resource["resourceType"], resource):
            if not path.endswith(".reference") or ".replaces" in path:
                continue
            target, _, version = value.partition("/_history/")
            known = target in inside or target in versions
            if not known or (version and versions[target] != version):
                yield f"{path}: {value} leads nowhere"
