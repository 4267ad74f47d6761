"""Is what the service is made of listed whole, and does every finding in its code have a reason?"""

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

BIN = Path(sys.executable).parent
PINNED = re.compile(r"^([A-Za-z0-9_.-]+)==([^ ;\\]+)", re.MULTILINE)

# What the search for faults reports and stands: rule and file, and why it does.
REASONS = {
    ("B105", "service/fhir/search_query.py"): "a mark for a missing value, no password",
    ("B105", "service/settings.py"): "says that a setting is a secret; holds none",
    ("B405", "service/fhir/validate_narrative.py"): "used with entities refused before",
    ("B314", "service/fhir/validate_narrative.py"): "a document type, and so an entity, is refused",
    ("B608", "service/storage/backup.py"): "the table's name comes from the schema",
    ("B608", "service/storage/transfer.py"): "the names of tables and columns are the schema's",
    (
        "B608",
        "service/storage/versions/v0004_when_a_plan_runs_out.py",
    ): "the names of columns are constants",
}


def findings(root: Path, folder: str = "service") -> list[tuple[str, str, int]]:
    """What bandit reports: rule, file, line."""
    done = subprocess.run(
        [BIN / "bandit", "-q", "-r", folder, "-f", "json"],
        cwd=root,
        capture_output=True,
        text=True,
        check=False,
    )
    told: dict[str, Any] = json.loads(done.stdout)
    if told["errors"]:
        raise AssertionError(told["errors"])
    return [(one["test_id"], one["filename"], one["line_number"]) for one in told["results"]]


def unreasoned(found: list[tuple[str, str, int]]) -> Iterator[str]:
    """Findings without a reason, and reasons without a finding."""
    for rule, file, line in found:
        if (rule, file) not in REASONS:
            yield f"{file}:{line}: {rule} has no reason in tests/house/supply.py"
    for rule, file in sorted(REASONS.keys() - {(rule, file) for rule, file, _ in found}):
        yield f"{file}: {rule} is found no more, and its reason stands"


def bill(root: Path, lock: str = "requirements.txt") -> dict[str, Any]:
    """The bill of materials of a lock, as `poe sbom` writes it."""
    done = subprocess.run(
        [BIN / "cyclonedx-py", "requirements", lock, "--of", "JSON", "--output-reproducible"],
        cwd=root,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def unlisted(told: dict[str, Any], lock: str, asked_for: list[str]) -> Iterator[str]:
    """Libraries of the lock, or asked for by the project, that the bill lacks or has unhashed."""
    listed = {
        str(canonicalize_name(one["name"])): (
            one["version"],
            [
                each
                for place in one.get("externalReferences", [])
                for each in place.get("hashes", [])
            ],
        )
        for one in told["components"]
    }
    pinned = {str(canonicalize_name(name)): version for name, version in PINNED.findall(lock)}
    names = {str(canonicalize_name(Requirement(text).name)) for text in asked_for}
    for name in sorted(pinned.keys() | names):
        version, hashes = listed.get(name, (None, []))
        if version is None:
            yield f"{name}: is not in the bill of materials"
        elif version != pinned.get(name) or not hashes:
            yield f"{name}: the bill of materials has no hash of the pinned version"
