"""Does every alert and every panel ask for a number that the service has?"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

NAMED = re.compile(r"\bstanchion_[a-z_]+")
LABELS = re.compile(r"(?P<name>stanchion_[a-z_]+)\{(?P<labels>[^}]*)\}")
LABEL = re.compile(r"([a-z_]+)\s*(?:=|!=|=~|!~)")


def faults(root: Path, known: dict[str, set[str]]) -> list[str]:
    """``known``: the labels of each sample that the service gives."""
    return [
        *_alerts(root / "docker" / "alerts.yaml", known),
        *_dashboard(root / "docker" / "dashboard.json", known),
    ]


def _alerts(path: Path, known: dict[str, set[str]]) -> Iterator[str]:
    rules = [
        rule
        for group in yaml.safe_load(path.read_text(encoding="utf-8"))["groups"]
        for rule in group["rules"]
    ]
    if not rules:
        yield f"{path.name}: has no rule"
    for rule in rules:
        name = rule.get("alert", "a rule without a name")
        if not {"summary", "action"} <= rule.get("annotations", {}).keys():
            yield f"{path.name}: {name}: does not say what is so and what to do"
        if rule.get("labels", {}).get("severity") not in ("page", "ticket"):
            yield f"{path.name}: {name}: does not say how urgent it is"
        yield from (f"{path.name}: {name}: {said}" for said in _asked(rule["expr"], known))


def _dashboard(path: Path, known: dict[str, set[str]]) -> Iterator[str]:
    board: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    ids = [panel["id"] for panel in board["panels"]]
    if len(ids) != len(set(ids)):
        yield f"{path.name}: two panels have one id"
    for panel in board["panels"]:
        for target in panel["targets"]:
            told = _asked(target["expr"], known)
            yield from (f"{path.name}: {panel['title']}: {said}" for said in told)


def _asked(expression: str, known: dict[str, set[str]]) -> Iterator[str]:
    names = set(NAMED.findall(expression))
    if not names and "up{" not in expression:
        yield "asks for no number of the service"
    for name in sorted(names - known.keys()):
        yield f"{name} is not to be had"
    for found in LABELS.finditer(expression):
        wrong = set(LABEL.findall(found["labels"])) - known.get(found["name"], set())
        if wrong:
            yield f"{found['name']} has no label {', '.join(sorted(wrong))}"
    if expression.count("(") != expression.count(")"):
        yield "has a bracket too many"
