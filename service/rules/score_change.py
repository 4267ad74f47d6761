"""Has a test score changed since the last comparable one, and by as much as counts?"""

from collections.abc import Sequence

from msgspec.structs import replace

from service.domain.score import ChangeClaim, EarlierScore, ScoreChange, TestScore
from service.rules.book import RuleBook
from service.rules.norm_files import NormFile

DISTANCE = "distance_m"


def with_changes(
    book: RuleBook, scores: tuple[TestScore, ...], earlier: Sequence[EarlierScore]
) -> tuple[TestScore, ...]:
    """``scores``, each with its change since the latest comparable one of ``earlier``, which
    stand newest first."""
    return tuple(
        replace(score, change=_change(score, book.norms[score.test], earlier)) for score in scores
    )


def _change(
    score: TestScore, norm: NormFile, earlier: Sequence[EarlierScore]
) -> ScoreChange | None:
    for then in earlier:
        before = then.score.score
        if score.score is None or before is None or not _comparable(score, then.score):
            continue
        difference = score.score - before
        claims = tuple(
            ChangeClaim(
                rule=f"{score.test}.{change.id}",
                kind=change.kind,
                size=change.value,
                claim=change.claim if abs(difference) >= change.value else None,
                source=change.source,
                standing=change.standing,
            )
            for change in norm.change
        )
        return ScoreChange(then.observed_at, before, difference, claims, norm.no_change)
    return None


def _comparable(now: TestScore, then: TestScore) -> bool:
    """The same test in the same unit, and a walk over the same distance."""
    same = now.test == then.test and now.unit == then.unit
    return same and now.parts.get(DISTANCE) == then.parts.get(DISTANCE)
