"""Is every text of a screen one that can be shown, stored and sent on unharmed?"""

import re
from collections.abc import Iterator

from service.domain.problem import Fault
from service.domain.screen import Screen
from service.domain.sense_rules import fault
from service.domain.subject import Subject
from service.domain.value import Identifier

_UNFIT = re.compile(
    "[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef"
    + "".join(chr(plane * 0x10000 + end) for plane in range(17) for end in (0xFFFE, 0xFFFF))
    + "]"
)


def faults_of_text(path: str, text: str) -> Iterator[Fault]:
    """Faults of one text: characters no record should carry, those among them that turn round
    what is shown after them, and white space at its ends."""
    if _UNFIT.search(text):
        yield fault(path, "sense.control_character")
    if text != text.strip():
        yield fault(path, "sense.outer_space")


def text_faults(screen: Screen) -> Iterator[Fault]:
    """Faults of every text anywhere in the screen."""
    for path, text in texts_of(screen):
        if text is not None:
            yield from faults_of_text(path, text)


def texts_of(screen: Screen) -> Iterator[tuple[str, str | None]]:
    """Every text field with its JSON Pointer."""
    yield from _subject("/patient", screen.patient)
    yield "/location", screen.location
    yield "/source_id", screen.source_id
    if screen.encounter is not None:
        yield from _identifier("/encounter", screen.encounter)
    if screen.assessor is not None:
        yield from _identifier("/assessor/identifier", screen.assessor.identifier)
        yield "/assessor/role", screen.assessor.role
    if screen.context.devices != "any":
        for index, device in enumerate(screen.context.devices):
            yield f"/context/devices/{index}/device_class", device.device_class
            yield f"/context/devices/{index}/label", device.label


def _subject(path: str, subject: Subject) -> Iterator[tuple[str, str | None]]:
    yield from _identifier(f"{path}/identifier", subject.identifier)
    for index, identifier in enumerate(subject.more_identifiers):
        yield from _identifier(f"{path}/more_identifiers/{index}", identifier)
    if subject.name is not None:
        yield f"{path}/name/family", subject.name.family
        yield f"{path}/name/given", subject.name.given


def _identifier(path: str, identifier: Identifier) -> Iterator[tuple[str, str | None]]:
    yield f"{path}/system", identifier.system
    yield f"{path}/value", identifier.value
