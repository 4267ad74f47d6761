"""Which seals of the audit trail does a text held elsewhere name: a manifest, or a log?"""

import re
from collections.abc import Iterator

import msgspec

from service.storage.verify import HeldSeal

_OBJECT = re.compile(r"\{[^{}]*\}")
_SEAL = msgspec.json.Decoder(HeldSeal)


def held_seals(text: str) -> tuple[HeldSeal, ...]:
    """Every seal in ``text``, as it stands there: each a JSON object of its own, be it in a list,
    in a line of a log, or inside a string of another JSON object."""
    return tuple(dict.fromkeys(_found(text)))


def _found(text: str) -> Iterator[HeldSeal]:
    for told in _OBJECT.findall(text):
        for written in (told, told.replace('\\"', '"')):
            try:
                yield _SEAL.decode(written)
                break
            except msgspec.MsgspecError:
                continue
