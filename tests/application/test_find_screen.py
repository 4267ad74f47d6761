"""Is a screen found by the sender's id, and the look-up told to the trail?"""

from service.application.find_screen import screen_of_source
from tests.application.made import House, later


async def test_a_screen_is_found_by_the_senders_id(house: House) -> None:
    kept = await house.recorded(later(1, source_id="urn:x|1"))
    found = await screen_of_source(house.service, house.call, "urn:x|1")
    assert found is not None
    assert found.record == kept.screen
    assert house.told_last() == ("screen.find", "ok", kept.screen.patient_id, kept.screen.id)


async def test_what_is_not_there_is_told_too(house: House) -> None:
    await house.recorded(later(1, source_id="urn:x|1"))
    assert await screen_of_source(house.service, house.call, "urn:x|2") is None
    assert await screen_of_source(house.service, house.stranger, "urn:x|1") is None
    assert house.told_last() == ("screen.find", "not_found", None, None)
