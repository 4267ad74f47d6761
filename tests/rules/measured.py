"""How do the tests get a screen with measured tests, and the norms it is scored by?"""

from datetime import UTC, datetime
from pathlib import Path
from typing import Any, cast

import msgspec

import service.rules
from service.domain.measured_tests import MeasuredTests
from service.domain.orders import Orders
from service.domain.readiness import Readiness
from service.domain.score import Judgement, TestScore
from service.domain.screen import Screen
from service.domain.stages import Stages
from service.domain.subject import Sex, Subject
from service.domain.value import Identifier
from service.rules.book import RuleBook
from service.rules.norm_files import NormFile
from service.rules.norms import score_tests

RULES = Path(service.rules.__file__).parent


class Norms(msgspec.Struct, frozen=True):
    """The one part of a rule book that scoring reads."""

    norms: dict[str, NormFile]


def read_norms() -> dict[str, NormFile]:
    return {
        path.stem: msgspec.toml.decode(path.read_bytes(), type=NormFile)
        for path in sorted((RULES / "test_norms").glob("*.toml"))
    }


NORMS = Norms(read_norms())


def screen(raw: dict[str, Any], age: int = 75, sex: Sex | None = Sex.FEMALE) -> Screen:
    """A screen with these raw results, read as they would be from a request."""
    who = Identifier(system="urn:example:patients", value="p-1")
    return Screen(
        patient=Subject(identifier=who, age_years=age, sex=sex),
        observed_at=datetime(2025, 3, 1, 9, 0, tzinfo=UTC),
        orders=Orders(precautions=[]),
        readiness=Readiness(),
        stages=Stages(),
        tests=msgspec.convert(raw, MeasuredTests),
    )


def scores(
    raw: dict[str, Any],
    age: int = 75,
    sex: Sex | None = Sex.FEMALE,
    norms: Norms = NORMS,
) -> tuple[TestScore, ...]:
    return score_tests(cast(RuleBook, norms), screen(raw, age, sex))


def score(test: str, raw: dict[str, Any], age: int = 75, sex: Sex | None = Sex.FEMALE) -> TestScore:
    (only,) = scores({test: raw}, age, sex)
    return only


def judgement(found: TestScore, rule: str) -> Judgement:
    (only,) = [each for each in found.judgements if each.rule == rule]
    return only


def outcome(
    rule: str, raw: dict[str, Any], age: int = 75, sex: Sex | None = Sex.FEMALE
) -> str | None:
    return judgement(score(rule.split(".", maxsplit=1)[0], raw, age, sex), rule).outcome
