"""Do the answers equal the samples, to the letter?"""

import difflib
from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path

from service.commands import CHECK_FAILED, DONE
from service.demo.post import Posted, post_all
from service.demo.scenario import FHIR, NATIVE, Sample
from service.demo.served import Place

SHOWN_LINES = 20


def check(place: Place, samples: tuple[Sample, ...]) -> int:
    """Say of each sample whether its answers are the kept ones, and where they are not."""
    differ = 0
    for posted in post_all(place, samples):
        said = list(differences(posted))
        differ += bool(said)
        print(f"{'differs' if said else 'equal  '}  {posted.sample.name}")
        for line in said:
            print(f"         {line}")
    if differ:
        print(f"{differ} of {len(samples)} samples differ.")
        return CHECK_FAILED
    print(f"All {len(samples)} samples are answered as kept, native and FHIR.")
    return DONE


def write(place: Place, samples: Iterable[Sample]) -> int:
    """Keep the answers beside the requests."""
    for posted in post_all(place, samples):
        for name, text in _forms(posted):
            (posted.sample.folder / name).write_text(text, encoding="utf-8")
        print(posted.sample.folder)
    return DONE


def differences(posted: Posted) -> Iterator[str]:
    """The lines that differ, ``-`` as kept and ``+`` as answered; the first few of each file."""
    for name, text in _forms(posted):
        path = posted.sample.folder / name
        kept = _kept(path)
        if kept == text:
            continue
        lines = [
            line
            for line in difflib.unified_diff(kept.splitlines(), text.splitlines(), n=1)
            if not line.startswith(("---", "+++"))
        ]
        yield f"{name}:"
        yield from islice(lines, SHOWN_LINES)
        if len(lines) > SHOWN_LINES:
            yield f"and {len(lines) - SHOWN_LINES} lines more"


def _forms(posted: Posted) -> tuple[tuple[str, str], ...]:
    return ((NATIVE, posted.native), (FHIR, posted.fhir))


def _kept(path: Path) -> str:
    return path.read_text(encoding="utf-8") if path.is_file() else ""
