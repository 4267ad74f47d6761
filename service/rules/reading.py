"""What do the rule files say, before anything is made of them?"""

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import TypeVar

import msgspec
from msgspec import Struct

from service.rules.files import (
    AxisFile,
    ConditionFile,
    MethodFile,
    MoveFile,
    Parameter,
    SourceFile,
    StageFile,
    WordFile,
)
from service.rules.norm_files import NormFile
from service.rules.plan_files import PlanFile

T = TypeVar("T")


class BadRuleBook(Exception):
    """The rule files cannot be used. ``faults``: one line each, the file first."""

    def __init__(self, faults: list[str]) -> None:
        super().__init__("The rule book cannot be used:\n" + "\n".join(faults))
        self.faults = faults


class RuleFiles(Struct, frozen=True):
    """Every rule file, by folder and by name."""

    sources: dict[str, SourceFile]
    parameter_groups: dict[str, dict[str, Parameter]]
    axes: dict[str, AxisFile]
    conditions: dict[str, ConditionFile]
    stages: dict[str, StageFile]
    device_classes: dict[str, WordFile]
    accessories: dict[str, WordFile]
    test_norms: dict[str, NormFile]
    methods: dict[str, MethodFile]
    moves: dict[str, MoveFile]
    plan: PlanFile


def read_files(root: Path) -> RuleFiles:
    """All rule files under ``root``. Raises BadRuleBook with every file that cannot be read."""
    faults: list[str] = []
    plan = _file(root, root / "plan.toml", PlanFile, faults)
    files = RuleFiles(
        sources=_folder(root, "sources", SourceFile, faults),
        parameter_groups=_folder(root, "parameters", dict[str, Parameter], faults),
        axes=_folder(root, "axes", AxisFile, faults),
        conditions=_folder(root, "conditions", ConditionFile, faults),
        stages=_folder(root, "stages", StageFile, faults),
        device_classes=_folder(root, "device_classes", WordFile, faults),
        accessories=_folder(root, "accessories", WordFile, faults),
        test_norms=_folder(root, "test_norms", NormFile, faults),
        methods=_folder(root, "methods", MethodFile, faults),
        moves=_folder(root, "moves", MoveFile, faults),
        plan=plan
        or PlanFile(
            version="", notices=(), rescreen=(), goals=(), exercises=(), asks={}, numbers={}
        ),
    )
    if faults:
        raise BadRuleBook(faults)
    return files


def digest_of(root: Path) -> str:
    """SHA-256, hex, over the relative path and the bytes of every rule file."""
    summed = hashlib.sha256()
    for path in sorted(root.rglob("*.toml")):
        content = path.read_bytes()
        name = path.relative_to(root).as_posix()
        summed.update(f"{len(name)}:{name}:{len(content)}:".encode() + content)
    return summed.hexdigest()


def uncited(files: RuleFiles) -> Iterator[str]:
    """Every citation in any file that names no source file."""
    told = msgspec.to_builtins(files, builtin_types=(type(None),))
    for folder, content in told.items():
        for name, file in content.items():
            named = f"plan.toml {name}" if folder == "plan" else f"{folder}/{name}"
            for place, source in _citations(file, named.replace("_groups", "s")):
                if source not in files.sources:
                    yield f"{place}: no source is called `{source}`"


def _citations(content: object, place: str) -> Iterator[tuple[str, str]]:
    if isinstance(content, dict):
        for key, value in content.items():
            if key == "source" and isinstance(value, str):
                yield place, value
            else:
                yield from _citations(value, f"{place}.{key}")
    if isinstance(content, list | tuple):
        for index, value in enumerate(content):
            yield from _citations(value, f"{place}[{index}]")


def _file(root: Path, path: Path, kind: type[T], faults: list[str]) -> T | None:
    try:
        return msgspec.toml.decode(path.read_bytes(), type=kind)
    except (OSError, ValueError) as fault:
        faults.append(f"{path.relative_to(root).as_posix()}: {fault}")
        return None


def _folder(root: Path, folder: str, kind: type[T], faults: list[str]) -> dict[str, T]:
    read: dict[str, T] = {}
    for path in sorted((root / folder).glob("*.toml")):
        content = _file(root, path, kind, faults)
        if content is not None:
            read[path.stem] = content
    if not read:
        faults.append(f"{folder}/: no rule file can be read here")
    return read
