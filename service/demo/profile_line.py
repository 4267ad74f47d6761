"""How is a profile said in one line?"""

from collections.abc import Iterator

from service.domain.axis import UNKNOWN, Axis, Number
from service.domain.profile import Profile
from service.domain.record import Answer

CLEAR = "clear"
_GRADES: dict[Axis, dict[str, str]] = {
    Axis.CLEARANCE: {
        CLEAR: "fit to move",
        "review": "to be confirmed first",
        "withhold": "not fit to move",
        UNKNOWN: "fitness to move unknown",
    },
    Axis.COOPERATION: {
        "full": "cooperates",
        "prompted": "cooperates when prompted",
        "none": "does not cooperate",
    },
    Axis.SITTING: {
        "unsupported": "sits unsupported",
        "supported": "sits supported",
        "none": "does not sit",
    },
    Axis.ARMS: {"both": "both arms", "one": "one arm", "none": "no arm to pull with"},
    Axis.RISE: {
        "without_hands": "rises without hands",
        "with_hands": "rises with hands",
        "steadied": "rises steadied",
        "lifted": "rises lifted",
        "none": "does not rise",
    },
    Axis.WEIGHT_BEARING: {
        "full": "full weight",
        "partial": "part of the weight",
        "none": "no weight",
    },
}


def profile_line(answer: Answer) -> str:
    """The axes that decide most, the standing time, and each test that says something."""
    parts = [*_axes(answer.profile), *_standing(answer.profile), *_tests(answer)]
    line = ", ".join(parts)
    return f"{line[:1].upper()}{line[1:]}."


def _axes(profile: Profile) -> Iterator[str]:
    unknown = []
    for axis, words in _GRADES.items():
        grade = profile.grade(axis)
        if grade in words:
            yield f"{words[grade]}{_cause(profile) if axis == Axis.CLEARANCE else ''}"
        else:
            unknown.append(axis.value.replace("_", " "))
    if unknown:
        yield f"not known: {' and '.join(unknown)}"


def _cause(profile: Profile) -> str:
    """What stands against moving, as it was seen."""
    found = profile.axes[Axis.CLEARANCE]
    if found.grade == CLEAR:
        return ""
    seen = (f"{one.path.rpartition('/')[2]} {one.seen}" for one in found.set_by)
    return f" ({', '.join(dict.fromkeys(seen))})".replace("_", " ")


def _standing(profile: Profile) -> Iterator[str]:
    seconds = profile.numbers[Number.STANDING_TIME_S].value
    if seconds is not None:
        yield f"stands {seconds.normalize():f} s"


def _tests(answer: Answer) -> Iterator[str]:
    for test in answer.tests:
        said = [each.outcome for each in test.judgements if each.outcome is not None]
        told = f" ({', '.join(dict.fromkeys(said))})".replace("_", " ") if said else ""
        score = (
            "unable"
            if test.score is None
            else f"{test.score.normalize():f} {test.unit.strip('{}')}"
        )
        yield f"{test.title.lower()} {score}{told}"
