"""Is a profile packed so that every grade, number and condition can be read again?"""

import struct
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from service.domain.axis import GRADES, Axis, Number
from service.domain.condition import Condition
from service.domain.profile import Profile
from service.rules.features import FORMAT, pack
from tests.rules.profiles import profile

NUMBERS_AT = 1 + len(Axis)
CONDITIONS_AT = NUMBERS_AT + 4 * len(Number)


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    value = st.none() | st.decimals("0", "3600", places=1)
    return profile(
        {axis: draw(st.sampled_from(grades)) for axis, grades in GRADES.items()},
        {each: number for each in Number if (number := draw(value)) is not None},
        *draw(st.sets(st.sampled_from(Condition))),
    )


@given(profiles())
def test_what_was_packed_is_read_back_by_position(seen: Profile) -> None:
    packed = pack(seen)
    assert packed[0] == FORMAT
    grades = [GRADES[axis][rank] for axis, rank in zip(Axis, packed[1:NUMBERS_AT], strict=True)]
    assert grades == [seen.grade(axis) for axis in Axis]
    tenths = struct.unpack("<4i", packed[NUMBERS_AT:CONDITIONS_AT])
    read = [None if value < 0 else Decimal(value) / 10 for value in tenths]
    assert read == [seen.numbers[number].value for number in Number]
    bits = int.from_bytes(packed[CONDITIONS_AT:], "little")
    assert {each for n, each in enumerate(Condition) if bits >> n & 1} == set(seen.conditions)


def test_every_profile_takes_the_same_room() -> None:
    assert len(pack(profile({}))) == len(pack(profile({}, None, *Condition)))
    assert len(pack(profile({}))) == CONDITIONS_AT + (len(Condition) + 7) // 8
