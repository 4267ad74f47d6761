"""Does the service answer by the hospital's overlay, and read back what it answered before it?"""

from pathlib import Path

from service.rules.load import load_book
from tests.system.server import command, key_for, serving
from tests.web.world import screen

OVERLAY = """
title = "Our own numbers"
version = "v1"
decided_by = "The safe handling board"

[parameters.stop_systolic_above]
value = "170"
unit = "mm[Hg]"
why = "The stroke unit asks for it"

[parameters.systolic_withhold_above]
value = "170"
unit = "mm[Hg]"
why = "Nobody begins where all would stop"
"""
SETTING = "STANCHION_RULES_OVERLAY"


def test_a_plan_of_the_book_before_is_read_back_to_the_byte_and_a_new_one_names_the_overlay(
    tmp_path: Path,
) -> None:
    database, overlay = tmp_path / "kept.db", tmp_path / "ours.toml"
    overlay.write_text(OVERLAY, encoding="utf-8")
    key = key_for(database)
    with serving(database, key) as server:
        first = server.client.post("/v1/screens", json=screen("H-1")).json()
        address = f"/v1/plans/{first['plan']['id']}"
        before = server.client.get(address)
        assert before.status_code == 200
        assert server.stop() == 0
    with serving(database, key, **{SETTING: str(overlay)}) as server:
        after = server.client.get(address)
        second = server.client.post("/v1/screens", json=screen("H-2")).json()
    assert after.content == before.content
    assert first["plan"]["rule_book"]["digest"] == load_book().ref.digest
    assert second["plan"]["rule_book"]["digest"] == load_book(overlay).ref.digest
    assert "goes over 170" in str(second["plan"]["moves"])
    assert "goes over 180" not in str(second["plan"]["moves"])


def test_a_looser_overlay_stops_the_start_with_the_reason(tmp_path: Path) -> None:
    overlay = tmp_path / "loose.toml"
    overlay.write_text(OVERLAY.replace('"170"', '"190"'), encoding="utf-8")
    refused = command(tmp_path / "a.db", "serve", "--port", "0", **{SETTING: str(overlay)})
    assert refused.returncode == 3
    assert "loose.toml: parameters.stop_systolic_above: 190 is looser" in refused.stderr
