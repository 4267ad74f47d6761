"""Do ids sort by the time they were made, and give away nobody?"""

from uuid import UUID

from service.storage.ids import TimeOrderedIds, patient_id
from tests.storage.made import SteppingClock


def test_each_id_is_greater_than_the_one_before() -> None:
    clock = SteppingClock()
    new_id = TimeOrderedIds(clock)
    made = [new_id()]
    for step in (0.0, 0.001, -5.0, 0.0, 10.0):
        clock.go_on(seconds=step)
        made += [new_id() for _ in range(3000)]
    assert made == sorted(set(made))


def test_an_id_is_a_version_7_with_the_time_in_front() -> None:
    clock = SteppingClock()
    made = UUID(TimeOrderedIds(clock)())
    assert (made.version, made.variant) == (7, "specified in RFC 4122")
    assert made.int >> 80 == int(clock.now.timestamp() * 1000)


def test_a_patient_id_is_a_version_8_that_only_the_key_and_identifier_decide() -> None:
    made = patient_id(b"k" * 32, "urn:a", "1")
    assert UUID(made).version == 8
    assert UUID(made).variant == "specified in RFC 4122"
    assert made == patient_id(b"k" * 32, "urn:a", "1")
    others = {
        patient_id(b"l" * 32, "urn:a", "1"),
        patient_id(b"k" * 32, "urn:a", "2"),
        patient_id(b"k" * 32, "urn:", "a1"),
        patient_id(b"k" * 32, "urn:a|1", ""),
    }
    assert len(others | {made}) == 5
