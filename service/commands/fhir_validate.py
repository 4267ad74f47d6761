"""What is wrong with the FHIR resources in these files?

Exit codes: 0 all are valid · 1 one or more are not · 2 one or more cannot be read.
"""

import sys
from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from service.commands import CHECK_FAILED, DONE, WRONG_USE, Parsers, with_json
from service.domain.problem import Problem
from service.fhir.validate_finding import Finding, Severity, is_valid, summary

_LINES = (".ndjson", ".jsonl")
_SUFFIXES = (".json", *_LINES)
STDIN = "-"


class Piece(Struct, frozen=True):
    """One resource as it was found. ``where``: the file, and the line where it has several."""

    where: str
    body: bytes


class Looked(Struct, frozen=True):
    """``problem``: why it could not be read; None where it was."""

    where: str
    findings: tuple[Finding, ...] = ()
    problem: str | None = None


def add_parser(actions: Parsers) -> None:
    validate = actions.add_parser("validate", help="say what is wrong with FHIR resources")
    validate.add_argument(
        "files", nargs="+", metavar="FILE", help="a file, an NDJSON file, a folder, or - for input"
    )
    validate.add_argument(
        "--profile", action="append", default=[], help="a profile it must keep to; may be repeated"
    )
    with_json(validate)
    validate.set_defaults(run=run)


def run(args: Namespace) -> int:
    looked = []
    for found in pieces(args.files):
        one = found if isinstance(found, Looked) else look(found, tuple(args.profile))
        looked.append(one)
        print("\n".join(told_json(one) if args.json else told(one)))
    if any(one.problem is not None for one in looked):
        return WRONG_USE
    return DONE if all(is_valid(one.findings) for one in looked) else CHECK_FAILED


def look(piece: Piece, profiles: tuple[str, ...]) -> Looked:
    """``piece`` against the standard, the profiles it names itself, and ``profiles``."""
    from service.fhir.validate import Wanted, read_tree, validate
    from service.fhir.validate_ours import known_here

    try:
        tree = read_tree(piece.body)
    except Problem as problem:
        at = {each: f"At {each.path}: " if each.path else "" for each in problem.faults}
        said = [problem.detail, *(f"{where}{each.text}" for each, where in at.items())]
        return Looked(piece.where, problem=" ".join(said))
    return Looked(piece.where, validate(tree, known_here(), Wanted(profiles=profiles)))


def pieces(names: list[str]) -> Iterator[Piece | Looked]:
    """Every resource in the files; a folder stands for the JSON and NDJSON files in it."""
    for name in names:
        if name == STDIN:
            yield from _split(STDIN, sys.stdin.buffer.read(), lines=False)
            continue
        path = Path(name)
        inside = sorted(each for each in path.rglob("*") if _may_be_resource(each))
        if path.is_dir() and not inside:
            yield Looked(name, problem="There is no JSON file in this folder.")
        for each in inside if path.is_dir() else [path]:
            yield from _file(each)


def _may_be_resource(path: Path) -> bool:
    """A FHIR package lists what is in it in files that are no resources."""
    return path.suffix in _SUFFIXES and path.name != "package.json" and path.name[0] != "."


def _file(path: Path) -> Iterator[Piece | Looked]:
    try:
        raw = path.read_bytes()
    except OSError as error:
        yield Looked(str(path), problem=f"Cannot be read: {error.strerror}.")
        return
    yield from _split(str(path), raw, lines=path.suffix in _LINES)


def _split(where: str, raw: bytes, *, lines: bool) -> Iterator[Piece]:
    """One resource, or one a line where it is NDJSON: input is that where its first line is a
    whole object and more follows."""
    listed = [(number, line) for number, line in enumerate(raw.splitlines(), 1) if line.strip()]
    if not lines and where == STDIN and len(listed) > 1:
        lines = listed[0][1].strip().endswith(b"}") and listed[1][1].strip().startswith(b"{")
    if not lines:
        yield Piece(where, raw)
        return
    for number, line in listed:
        yield Piece(f"{where}:{number}", line)


def told(one: Looked) -> list[str]:
    """A line for the whole, then one for each finding that asks for something."""
    if one.problem is not None:
        return [f"{one.where}: unreadable: {one.problem}"]
    kept = [each for each in one.findings if each.severity != Severity.INFORMATION]
    word = "valid" if is_valid(one.findings) else "not valid"
    lines = [f"{one.where}: {word}, {summary(one.findings)}"]
    return lines + [f"  {each.severity}: {each.path or '(whole)'}: {each.text}" for each in kept]


def told_json(one: Looked) -> list[str]:
    """One JSON object a line: where, whether it is valid (null where unreadable), and the
    OperationOutcome or the problem."""
    import json

    from service.fhir.encode import bytes_of
    from service.fhir.validate_outcome import outcome_of_findings

    if one.problem is not None:
        return [json.dumps({"where": one.where, "valid": None, "problem": one.problem})]
    outcome = json.loads(bytes_of(outcome_of_findings(one.findings)))
    said = {"where": one.where, "valid": is_valid(one.findings), "outcome": outcome}
    return [json.dumps(said, ensure_ascii=False)]
