"""How is the scenario shown on a terminal?"""

import re
import shlex
import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator
from signal import pause

from service.demo.post import FHIR_TYPE, Posted, post_all
from service.demo.profile_line import profile_line
from service.demo.scenario import REQUEST, Sample
from service.demo.served import ORGANISATION, Place
from service.domain.age import age_at
from service.domain.plan import Plan, PlannedMove, PlanState

NARROW, WIDE = 80, 100
INDENT = "    "
GAP = "  "
HELPERS = 7
_NUMBER = re.compile(r"(\d) (?=\w)")

OPENING = (
    f"{ORGANISATION} is invented, and so is everybody in it. Each screen below is posted to the"
    " real service over HTTP; what follows is its answer. A plan supports trained staff. It does"
    " not diagnose. Local policy, the device maker's instructions and the judgement of licensed"
    " staff come first."
)


def show(place: Place, samples: tuple[Sample, ...]) -> None:
    """Post the scenario, and print each plan and what to try next."""
    width = _width()
    _say(f"Stanchion serves on {place.url} until Ctrl-C.", "", *_wrapped(OPENING, width))
    last: Posted | None = None
    for last in post_all(place, samples):
        _say("", *_person(last, width))
    if last is not None:
        _say("", *_next(place, last, width))


def wait(place: Place) -> None:
    """Keep serving until somebody stops it."""
    _say("", f"Serving on {place.url}. Ctrl-C ends it and deletes its data.")
    while True:
        pause()


def _person(posted: Posted, width: int) -> Iterator[str]:
    sample, answer = posted.sample, posted.answer
    patient = answer.screen.content.patient
    name = f"{patient.name.given} {patient.name.family}" if patient.name else ""
    age = age_at(patient, answer.screen.content.observed_at)
    mass = "mass unknown" if patient.mass_kg is None else f"{patient.mass_kg} kg"
    yield _rule(f"{sample.number:02d} {sample.claim}", width)
    who = f"{name}, {age} years, {mass}, {sample.screen.location}. {_holds(answer.plan)}"
    yield from _wrapped(who, width)
    yield from _wrapped(profile_line(answer), width)
    yield from _table(_rows(answer.plan.moves), width)
    decided = [f"To be confirmed: {one.text}" for one in answer.plan.conditions]
    for text in (*decided, *_waits(answer.plan.moves)):
        yield from textwrap.wrap(
            text, width - len(INDENT), initial_indent="  ! ", subsequent_indent=INDENT
        )


def _holds(plan: Plan) -> str:
    until = f"{plan.valid_until:%Y-%m-%d %H:%M} UTC"
    if plan.state == PlanState.CURRENT:
        return f"Plan good until {until}."
    return f"Plan ran out on {until}: screen again."


def _waits(moves: Iterable[PlannedMove]) -> list[str]:
    return list(dict.fromkeys(text for move in moves for text in move.wait_for))


def _rows(moves: Iterable[PlannedMove]) -> list[tuple[str, str, str, str]]:
    """One row for all moves that are done in one way."""
    titles: dict[tuple[str, str, str], list[str]] = {}
    for move in moves:
        helpers = "-" if move.helpers is None else str(move.helpers)
        titles.setdefault((move.method_title, helpers, _device(move)), []).append(move.move_title)
    return [("; ".join(moved), *how) for how, moved in titles.items()]


def _device(move: PlannedMove) -> str:
    if move.device is None:
        return "none"
    parts = [move.device.label or move.device.title]
    parts += ["expanded capacity"] if move.device.expanded_capacity else []
    parts += dict.fromkeys(
        one.title for one in move.accessories if one.accessory != "expanded_capacity_equipment"
    )
    return ", ".join(parts)


def _table(rows: list[tuple[str, str, str, str]], width: int) -> Iterator[str]:
    room = width - len(INDENT) - HELPERS - 3 * len(GAP)
    move, method = room * 36 // 100, room * 32 // 100
    widths = (move, method, HELPERS, room - move - method)
    for row in (("Move", "Method", "Helpers", "Device"), *rows):
        cells = [textwrap.wrap(cell, wide) for cell, wide in zip(row, widths, strict=True)]
        for line in range(max(map(len, cells))):
            parts = (
                (cell[line] if line < len(cell) else "").ljust(wide)
                for cell, wide in zip(cells, widths, strict=True)
            )
            yield f"{INDENT}{GAP.join(parts)}".rstrip()


def _next(place: Place, last: Posted, width: int) -> Iterator[str]:
    """What to copy into another terminal."""
    record, request = last.answer.screen, shlex.quote(str(last.sample.folder / REQUEST))
    patient = record.content.patient.identifier.value
    yield _rule("What to try", width)
    yield "Paste these two lines into another terminal, then any of the commands:"
    yield from ("", f"URL={place.url}", f"KEY={place.key}")
    yield from ("", f"The plan of {patient} as it is at this moment:", "")
    yield f'curl -s -H "X-API-Key: $KEY" $URL/v1/patients/{record.patient_id}/plan'
    yield from ("", "The whole answer to the last screen, as FHIR:", "")
    yield f'curl -s -H "X-API-Key: $KEY" -H "Accept: {FHIR_TYPE}" \\'
    yield f"    $URL/v1/screens/{record.id}"
    yield from ("", "What a changed screen would be answered, with nothing kept:", "")
    yield 'curl -s -H "X-API-Key: $KEY" -H "Content-Type: application/json" \\'
    yield f"    --data-binary @{request} \\"
    yield "    $URL/v1/screens/preview"
    yield from ("", f"Every call, to read and to try in a browser: {place.url}/docs")


def _rule(title: str, width: int) -> str:
    return f"-- {title} ".ljust(width, "-")


def _wrapped(text: str, width: int) -> list[str]:
    """A number stays with its unit."""
    tied = _NUMBER.sub("\\1\N{NO-BREAK SPACE}", text)
    lines = textwrap.wrap(tied, width, break_on_hyphens=False)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def _width() -> int:
    return max(NARROW, min(WIDE, shutil.get_terminal_size((NARROW, 24)).columns))


def _say(*lines: str) -> None:
    """At once, also into a pipe."""
    print("\n".join(lines), file=sys.stdout, flush=True)
