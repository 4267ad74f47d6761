"""Are the seals found in whatever was kept elsewhere?"""

import json
import logging
from collections.abc import Iterator

import pytest

from service.storage.held_seals import held_seals
from service.storage.rows import AuditSealRow
from service.storage.seal import _tell
from service.storage.verify import HeldSeal
from service.web.logs import configure

ONE = {"org": "o-1", "n": 1, "at": 5, "digest": "ab"}
TWO = {"org": "o-1", "n": 2, "at": 6, "digest": "cd"}
SEALS = (HeldSeal("o-1", 1, "ab"), HeldSeal("o-1", 2, "cd"))


def test_seals_are_read_from_a_manifest_with_other_things_round_them() -> None:
    assert held_seals(json.dumps({"rows": {"screen": 3}, "seals": [ONE, TWO]}, indent=2)) == SEALS


def test_seals_are_read_from_plain_log_lines() -> None:
    log = f"09:00 started\n09:01 seal {json.dumps(ONE)}\n09:02 seal {json.dumps(TWO)}\n"
    assert held_seals(log) == SEALS


def test_seals_are_read_from_log_lines_that_are_json_themselves() -> None:
    lines = [
        json.dumps({"event": f"seal {json.dumps(each)}", "level": "info"}) for each in (ONE, TWO)
    ]
    assert held_seals("\n".join(lines)) == SEALS


def test_a_seal_told_twice_is_one_and_other_text_is_none() -> None:
    assert held_seals(json.dumps(ONE) * 2) == SEALS[:1]
    assert held_seals('{"org": "o-1"} nothing {here}') == ()


@pytest.fixture
def root() -> Iterator[None]:
    """What a test makes of the log is undone."""
    logger = logging.getLogger()
    handlers, level = logger.handlers[:], logger.level
    yield
    logger.handlers[:] = handlers
    logger.setLevel(level)


@pytest.mark.usefixtures("root")
@pytest.mark.parametrize("form", ["json", "text"])
def test_seals_are_read_as_the_service_itself_writes_them(
    form: str, capsys: pytest.CaptureFixture[str]
) -> None:
    configure(form, "info")
    rows = [
        AuditSealRow("o-1", n, 4 + n, b"{}", bytes.fromhex(d)) for n, d in ((1, "ab"), (2, "cd"))
    ]
    _tell(rows)
    assert held_seals(capsys.readouterr().err) == SEALS
