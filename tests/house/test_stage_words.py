"""Has every stage of the screen its words, in the order in which the stages are done?"""

import msgspec

from service.domain.stages import Stage
from service.rules.files import SourceFile, StageFile
from tests.rules.measured import RULES

STAGES = {
    path.stem: msgspec.toml.decode(path.read_bytes(), type=StageFile)
    for path in (RULES / "stages").glob("*.toml")
}


def test_every_stage_has_words_and_nothing_else_has() -> None:
    assert set(STAGES) == {stage.value for stage in Stage}


def test_the_stages_are_numbered_in_the_order_they_are_done() -> None:
    in_order = sorted(STAGES, key=lambda stage: STAGES[stage].order)
    assert in_order == [stage.value for stage in Stage]
    assert [STAGES[stage].order for stage in in_order] == list(range(1, len(STAGES) + 1))


def test_the_standing_stages_begin_with_the_rise() -> None:
    rise = STAGES["rise"].order
    for words in STAGES.values():
        assert words.standing_stage is (words.order >= rise)


def test_every_standing_stage_asks_the_person_to_hold_on() -> None:
    for words in STAGES.values():
        if words.standing_stage:
            assert "holding on" in words.asks.lower()


def test_every_stage_cites_a_source_that_is_there() -> None:
    for words in STAGES.values():
        path = RULES / "sources" / f"{words.source}.toml"
        assert msgspec.toml.decode(path.read_bytes(), type=SourceFile).title
