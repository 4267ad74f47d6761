"""How is a profile packed, so that a million stored screens can be read again at once?

Little-endian: a format byte, one byte an axis (the grade's position), four bytes a number
(whole tenths; -1 unknown), then a bit for each condition in the order of the vocabulary.
"""

import struct

from service.domain.axis import RANK, Axis, Number
from service.domain.condition import Condition
from service.domain.profile import Profile

FORMAT = 1
UNKNOWN_NUMBER = -1
_BITS_A_BYTE = 8
_LENGTH = (len(Condition) + _BITS_A_BYTE - 1) // _BITS_A_BYTE


def pack(profile: Profile) -> bytes:
    """The profile's grades, numbers and conditions as bytes."""
    grades = bytes(RANK[axis][profile.grade(axis)] for axis in Axis)
    tenths = [profile.tenths(number) for number in Number]
    numbers = struct.pack(
        f"<{len(Number)}i", *(UNKNOWN_NUMBER if value is None else value for value in tenths)
    )
    bits = sum(1 << index for index, each in enumerate(Condition) if profile.has(each))
    return bytes([FORMAT]) + grades + numbers + bits.to_bytes(_LENGTH, "little")
