"""Can an answer be another, or be taken away, and the screen that is read stay the same?"""

from collections.abc import Iterator
from copy import deepcopy

import pytest
from msgspec.structs import replace

from service.domain.problem import Refused
from service.domain.screen import Screen
from service.domain.stages import Attempt, Help, Outcome, Rise, Sides, SittingBalance, Stages
from service.fhir.read_form import questions_of
from tests.fhir.answers import BARE, FULL, HELPED, SITE
from tests.fhir.responses import Raw, plain, read_screen, response_to

QUESTIONS = questions_of(SITE.form)
LIFTED = Attempt(
    outcome=Outcome.ACHIEVED_WITH_HELP, help=Help.LIFTING, lift_kg=FULL.stages.rise.lift_kg,
    lift_percent=7,
)  # fmt: skip
ALL_LIFTED = replace(
    FULL,
    stages=Stages(
        sitting_balance=SittingBalance(
            outcome=LIFTED.outcome, help=LIFTED.help, lift_kg=LIFTED.lift_kg, lift_percent=7
        ),
        forward_lean=LIFTED,
        arm_pull=Sides(left=LIFTED, right=LIFTED),
        rise=Rise(outcome=LIFTED.outcome, help=LIFTED.help, lift_kg=LIFTED.lift_kg),
        weight_shift=Sides(left=LIFTED, right=LIFTED),
        heel_raise=Sides(left=LIFTED, right=LIFTED),
        foot_lift=Sides(left=LIFTED, right=LIFTED),
    ),
)
SCREENS = {"full": FULL, "helped": HELPED, "bare": BARE, "lifted": ALL_LIFTED}
SAID_OTHERWISE = {"observed_at", "context.devices"}
"""By authored, and by the devices that are listed."""
DEFAULTS = {
    "readiness.anaesthetised": False,
    "setting": "acute",
    "context.walking_aid": "not_used",
    "context.devices.listed.status": "ready",
}
"""What stands where nothing is answered; outcomes and ``context.devices`` aside."""


def answers_in(raw: Raw, path: tuple[int, ...] = ()) -> Iterator[tuple[tuple[int, ...], int]]:
    """The path of each item, and the number of each of its answers."""
    for index, item in enumerate(raw.get("item", [])):
        here = (*path, index)
        yield from ((here, number) for number in range(len(item.get("answer", []))))
        yield from answers_in(item, here)


def item_at(raw: Raw, path: tuple[int, ...]) -> Raw:
    for index in path:
        raw = raw["item"][index]
    return raw


def change(answer: Raw, link: str) -> None:
    ((name, value),) = answer.items()
    if name == "valueBoolean":
        answer[name] = not value
    elif name == "valueCoding":
        value["code"] = next(code for code in QUESTIONS[link].item.ready if code != value["code"])
    elif name == "valueQuantity":
        value["value"] += 1
    elif name == "valueInteger":
        answer[name] += 1
    else:
        answer[name] = {"valueDate": "1949-01-01", "valueDateTime": "2026-03-02T08:00:00Z"}.get(
            name, f"{value}x"
        )


def is_read_as(raw: Raw, screen: Screen) -> bool:
    try:
        return read_screen(raw) == screen
    except Refused:
        return False


@pytest.mark.parametrize("name", SCREENS)
def test_no_answer_can_be_another_without_a_word(name: str) -> None:
    for made in (plain(SCREENS[name]), response_to(SCREENS[name])):
        assert is_read_as(made, SCREENS[name])
        for path, number in answers_in(made):
            bent = deepcopy(made)
            item = item_at(bent, path)
            change(item["answer"][number], item["linkId"])
            assert not is_read_as(bent, SCREENS[name]), item["linkId"]


@pytest.mark.parametrize("name", SCREENS)
def test_no_answer_can_be_left_out_without_a_word_but_one_that_stands_anyway(name: str) -> None:
    made = plain(SCREENS[name])
    for path in dict.fromkeys(path for path, _ in answers_in(made)):
        bent = deepcopy(made)
        item = item_at(bent, path)
        answers, link = item.pop("answer"), item["linkId"]
        if is_read_as(bent, SCREENS[name]) and link not in SAID_OTHERWISE:
            (value,) = answers[0].values()
            said = value["code"] if isinstance(value, dict) else value
            assert said == DEFAULTS.get(link, "not_attempted"), link
