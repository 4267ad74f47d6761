"""Are the requirements files what pyproject.toml asks for, hashed, and free of any index?"""

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PIN = re.compile(r"^(?P<name>[A-Za-z0-9][A-Za-z0-9._-]*)==(?P<version>[^\s;\\]+)")
HASH = re.compile(r"^\s+--hash=sha256:[0-9a-f]{64}( \\)?$")
FILES = (
    "requirements.txt",
    "requirements-postgres.txt",
    "requirements-dev.txt",
    "requirements-fhir.txt",
)
RUN = FILES[:2]
"""What an installed service is made of: on a file; on PostgreSQL."""


def faults(root: Path) -> list[str]:
    """Everything in which the locks and pyproject.toml disagree, or that no lock may say."""
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    groups = project.get("dependency-groups", {})
    run = [*project["project"]["dependencies"], *group(groups, "build")]
    run += project["build-system"]["requires"]
    said = [fault for name in FILES for fault in _form(root / name)]
    second = project["project"].get("optional-dependencies", {}).get("postgres", [])
    said += _missing(run, root / "requirements.txt")
    said += _missing([*run, *second], root / "requirements-postgres.txt")
    said += _missing([*run, *group(groups, "dev")], root / "requirements-dev.txt")
    return said + _apart(root)


def pins(path: Path) -> dict[str, str]:
    """Name → version of every pin."""
    found = (PIN.match(line) for line in path.read_text(encoding="utf-8").splitlines())
    return {canonicalize_name(pin["name"]): pin["version"] for pin in found if pin}


def group(groups: dict[str, list[str | dict[str, str]]], name: str) -> list[str]:
    """The requirements of a group and of those it includes."""
    return [
        each
        for entry in groups.get(name, [])
        for each in ([entry] if isinstance(entry, str) else group(groups, entry["include-group"]))
    ]


def _missing(asked: list[str], path: Path) -> Iterator[str]:
    pinned = pins(path)
    for text in asked:
        need = Requirement(text)
        version = pinned.get(canonicalize_name(need.name))
        if version is None or not need.specifier.contains(version):
            yield f"{path.name}: {text} is asked for, {version} is locked"


def _apart(root: Path) -> list[str]:
    """What is run must be what is tested."""
    tested = pins(root / "requirements-dev.txt")
    return [
        f"{lock}: {name}=={version} is run, {tested.get(name)} is tested"
        for lock in RUN
        for name, version in pins(root / lock).items()
        if tested.get(name) != version
    ]


def _form(path: Path) -> Iterator[str]:
    """Pins with hashes, the wheels-only option and comments; nothing else."""
    lines = path.read_text(encoding="utf-8").splitlines()
    if "--only-binary :all:" not in lines:
        yield f"{path.name}: a source package could be built by an unhashed backend"
    for number, line in enumerate(lines, 1):
        if not line or line.startswith("#") or line == "--only-binary :all:":
            continue
        if PIN.match(line):
            if not line.endswith("\\") or not HASH.match((*lines, "")[number]):
                yield f"{path.name}:{number}: no hash"
        elif not HASH.match(line):
            yield f"{path.name}:{number}: is neither a pin nor a hash"
