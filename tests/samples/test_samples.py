"""Does a real server process answer every sample as it is kept, and as its story says?"""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from service.demo.check import differences
from service.demo.post import Posted, post_all
from service.demo.scenario import FHIR, NATIVE, Sample, read
from service.demo.served import KEY_NAME, Place
from service.storage.place import Place as Kept
from tests.house.tree import ROOT
from tests.storage.servers import database
from tests.system.server import command, serving

SAMPLES = read(ROOT / "samples")
NAMES = [sample.name for sample in SAMPLES]

# By the published tables and the method list, read for each story by hand: move, method, helpers.
STORIES: dict[int, tuple[tuple[str, str, int | None], ...]] = {
    1: (("bed_to_chair", "unaided", 0), ("walk", "unaided", 0)),
    2: (("bed_to_chair", "walking_aid", 0), ("stand_for_care", "standby", 1)),
    3: (("bed_to_chair", "standby", 1), ("walk", "standby", 1)),
    4: (("chair_to_toilet", "belt_steadied", 1),),
    5: (("bed_to_chair", "stand_aid", 1), ("chair_to_toilet", "stand_aid", 1)),
    6: (("bed_to_chair", "powered_stand_lift", 2),),
    7: (("bed_to_chair", "transfer_board", 1), ("chair_to_car", "transfer_board", 1)),
    8: (("bed_to_chair", "sling_lift", 2), ("bed_to_stretcher", "air_transfer_mat", 2)),
    9: (("bed_to_chair", "do_not_move", None), ("turn_in_bed", "do_not_move", None)),
    10: (("bed_to_chair", "powered_stand_lift", 2), ("bed_to_stretcher", "air_transfer_mat", 3)),
    11: (("bed_to_chair", "sling_lift", 2),),
    12: (("up_from_floor", "floor_air_lift", 2),),
    13: (("chair_to_car", "stand_aid", 1), ("car_to_chair", "stand_aid", 1)),
    14: (("bed_to_chair", "transfer_board", 1), ("walk", "do_not_move", None)),
    15: (("chair_to_bed", "do_not_move", None),),
    16: (("bed_to_stretcher", "slide_sheet", 3),),
    17: (("bed_to_chair", "sling_lift", 2),),
    18: (("bed_to_chair", "powered_stand_lift", 1),),
    19: (("bed_to_chair", "stand_aid", 1),),
}


@pytest.fixture(scope="module", params=["a file", "PostgreSQL, three processes"])
def posted(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[str, Posted]]:
    """Every sample's answers by a server process of its own."""
    if request.param == "a file":
        with _posted(tmp_path_factory.mktemp("samples") / "samples.db") as told:
            yield told
        return
    with database() as place, _posted(place, STANCHION_WORKERS="3") as told:
        yield told


@contextmanager
def _posted(at: Kept, **more: str) -> Iterator[dict[str, Posted]]:
    assert command(at, "org", "create", "Quillmere Hospital").returncode == 0
    key = command(at, "keys", "create", KEY_NAME).stdout.splitlines()[0]
    with serving(at, key, **more) as server:
        place = Place(server.base, int(server.base.rpartition(":")[2]), key)
        yield {one.sample.name: one for one in post_all(place, SAMPLES)}


@pytest.mark.parametrize("name", NAMES)
def test_the_answers_are_the_kept_ones_native_and_fhir(
    name: str, posted: dict[str, Posted]
) -> None:
    assert list(differences(posted[name])) == []


@pytest.mark.parametrize("sample", SAMPLES, ids=NAMES)
def test_the_answer_says_what_the_story_says(sample: Sample) -> None:
    moves = {move["move"]: move for move in kept(sample, NATIVE)["plan"]["moves"]}

    told = [(move, moves[move]["method"], moves[move]["helpers"]) for move in moves]
    for expected in STORIES[sample.number]:
        assert expected in told


@pytest.mark.parametrize("sample", SAMPLES, ids=NAMES)
def test_the_fhir_says_the_same_state_and_the_same_moves(sample: Sample) -> None:
    plan = kept(sample, NATIVE)["plan"]
    entries = kept(sample, FHIR)["entry"]
    (care_plan,) = (
        one["resource"] for one in entries if one["resource"]["resourceType"] == "CarePlan"
    )

    assert care_plan["id"] == plan["id"]
    assert care_plan["status"] == {"current": "active", "lapsed": "completed"}[plan["state"]]
    assert len(care_plan["activity"]) == len(plan["moves"])


def test_the_series_of_one_patient_gets_less_and_less_support() -> None:
    plans = [kept(sample, NATIVE)["plan"] for sample in SAMPLES[-3:]]

    methods = [plan["moves"][0]["method"] for plan in plans]
    assert methods == ["sling_lift", "powered_stand_lift", "stand_aid"]
    assert len({plan["patient_id"] for plan in plans}) == 1
    assert [plan["replaces"] for plan in plans] == [None, plans[0]["id"], plans[1]["id"]]


def test_the_device_at_hand_decides_where_the_better_one_is_too_weak() -> None:
    (sample,) = (one for one in SAMPLES if one.number == 10)
    move = kept(sample, NATIVE)["plan"]["moves"][0]

    assert move["device"]["label"] == "Heron stand lift 2"
    (stand_aid,) = (one for one in move["ruled_out"] if one["method"] == "stand_aid")
    assert [reason["status"] for reason in stand_aid["reasons"]] == ["missing"]


def test_who_must_wait_is_told_for_what() -> None:
    (sample,) = (one for one in SAMPLES if one.number == 15)
    for move in kept(sample, NATIVE)["plan"]["moves"]:
        assert move["wait_for"] == ["Not enough trained helpers are there: needs at least 2."]


def test_the_readme_of_the_samples_tells_every_story_once() -> None:
    readme = (ROOT / "samples" / "README.md").read_text(encoding="utf-8")

    assert [readme.count(f"]({name})") for name in NAMES] == [1] * len(NAMES)
    assert sorted(STORIES) == [sample.number for sample in SAMPLES]


def test_every_identifier_is_below_the_arc_for_examples() -> None:
    for sample in SAMPLES:
        text = sample.request
        assert text.count('"system": "') == text.count('"system": "urn:oid:2.999.')


def kept(sample: Sample, name: str) -> Any:
    return json.loads((sample.folder / name).read_text(encoding="utf-8"))
