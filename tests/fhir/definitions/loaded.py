"""What does a validator say that has loaded our package beside the official one?"""

import contextlib
import io
import json
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

from pyrofile_validator import ValidationIssue, Validator
from pyrofile_validator.config import ValidatorConfig

from service.demo.scenario import here
from service.demo.scenario import read as read_samples
from service.fhir.definitions.examples import examples
from service.fhir.definitions.package import file_name, package_of
from tests.fhir.answers import SITE
from tests.fhir.definitions.definition_alarms import is_known
from tests.fhir.validators import _each_tree_once, definitions, told


@cache
def package() -> bytes:
    return package_of(SITE, examples(SITE, [one.screen for one in read_samples(here())]))


@cache
def loaded() -> Validator:
    """With both packages, as an interface team would set it up."""
    with tempfile.TemporaryDirectory() as folder:
        own = Path(folder) / file_name(SITE)
        own.write_bytes(package())
        return Validator(
            ValidatorConfig.load_dict(
                {
                    "fhirVersion": "4.0.1",
                    "localPackagePaths": [str(definitions()), str(own)],
                    "allowUnknownExtensions": False,
                    "errorOnUnknownProfile": True,
                }
            )
        )


def issues(resource: dict[str, Any], validator: Validator) -> tuple[ValidationIssue, ...]:
    """All that ``validator`` says; a form takes it long enough to ask once."""
    return _issues(json.dumps(resource), validator)


@cache
def _issues(raw: str, validator: Validator) -> tuple[ValidationIssue, ...]:
    with _each_tree_once(), contextlib.redirect_stdout(io.StringIO()):
        return tuple(validator.validate_resource(json.loads(raw)).issues)


def package_faults(resource: dict[str, Any]) -> list[str]:
    """Every error against the official definitions and our own profiles."""
    return [
        told(one)
        for one in issues(resource, loaded())
        if not is_known(one) and str(one.severity.value) == "error"
    ]
