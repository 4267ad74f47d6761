"""Do the values that pass the ports say what they stand for?"""

from service.application.ports import Undone
from service.application.standing import looked_up
from service.domain.problem import NotFound
from tests.application.made import House


def test_what_was_undone_tells_which_write_stood_in_the_way() -> None:
    problem = NotFound("No such screen.")
    undone = Undone({2: problem})
    assert undone.problems == {2: problem}
    assert str(undone) == "Nothing was kept."


async def test_a_standing_names_the_plan_and_the_screen_that_stood(house: House) -> None:
    answer = await house.recorded()
    (found,) = await looked_up(house.service, house.call, answer.screen.patient_id, 1, 1)
    assert (found.plan.plan.id, found.screen) == (answer.plan.id, answer.screen)
