"""Is a lock of Node packages what its package.json asks for, hashed, and free of any address?"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tests.house.tree import files, named

EXACT = re.compile(r"\d+\.\d+\.\d+")
HASH = re.compile(r"sha512-[A-Za-z0-9+/]{86}==")
# What npm must be told each time it installs or writes the lock.
SETTINGS = {"ignore-scripts=true", "omit-lockfile-registry-resolved=true"}


def faults(root: Path) -> list[str]:
    """Everything in which a lock and its package.json disagree, or that no lock may say."""
    asking = [path for path in files(root) if path.name == "package.json"]
    return [said for path in asking for said in _one(root, path)]


def _one(root: Path, path: Path) -> Iterator[str]:
    beside = {name: path.with_name(name) for name in ("package-lock.json", ".npmrc")}
    for name, file in beside.items():
        if not file.is_file():
            yield f"{named(root, path)}: no {name} beside it"
            return
    told = set(beside[".npmrc"].read_text(encoding="utf-8").splitlines())
    for setting in sorted(SETTINGS - told):
        yield f"{named(root, beside['.npmrc'])}: {setting} is missing"
    asked = json.loads(path.read_bytes()).get("dependencies", {})
    packages = json.loads(beside["package-lock.json"].read_bytes())["packages"]
    for said in (*_missing(asked, packages), *_form(packages)):
        yield f"{named(root, beside['package-lock.json'])}: {said}"


def _missing(asked: dict[str, str], packages: dict[str, Any]) -> Iterator[str]:
    for name, version in asked.items():
        if not EXACT.fullmatch(version):
            yield f"{name} {version} is not one version"
        locked = packages.get(f"node_modules/{name}", {}).get("version")
        if locked != version:
            yield f"{name} {version} is asked for, {locked} is locked"


def _form(packages: dict[str, Any]) -> Iterator[str]:
    for name, package in packages.items():
        if "resolved" in package or "://" in package.get("version", ""):
            yield f"{name}: comes from an address"
        if name and not HASH.fullmatch(package.get("integrity", "")):
            yield f"{name}: no hash"
