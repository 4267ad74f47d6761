"""How is a scenario of fixed days lived today, and how are its answers told as of those days?

Plans lapse by the clock. So every time of the scenario is moved by one and the same whole number
of minutes, which puts its newest screen ten minutes ago, and birth dates by as many days as their
screen moved, so that nobody gets older. An answer is told the other way round.
"""

import re
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

from service.demo.scenario import Sample

SINCE_NEWEST = timedelta(minutes=10)
_MINUTE = timedelta(minutes=1)
_INSTANT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)")
_DAY = re.compile(r'(?P<before>"(?P<name>startDate|statusDate)": ?")(?P<day>\d{4}-\d\d-\d\d)(?=")')
_CLOCK_TIME = re.compile(r"\d{1,2} [A-Z][a-z]+ \d{4}, \d\d:\d\d(?= \(UTC)")
_CLOCK_FORM = "%d %B %Y, %H:%M"


class Shift:
    """The scenario's days against today."""

    def __init__(self, samples: Iterable[Sample], now: datetime) -> None:
        self._samples = tuple(samples)
        newest = max(sample.observed_at for sample in self._samples)
        self._by = (now - SINCE_NEWEST - newest) // _MINUTE * _MINUTE
        self._now_then = newest.astimezone(UTC) + SINCE_NEWEST

    def today(self, sample: Sample) -> str:
        """The sample's request as it would be written today, every digit of it kept."""
        text = _INSTANT.sub(lambda found: _moved(found[0], self._by), sample.request)
        born = sample.screen.patient.birth_date
        return text if born is None else text.replace(str(born), str(self._born(sample, born)))

    def then(self, sample: Sample, answer: str, begun: datetime, ended: datetime) -> str:
        """``answer`` as of the scenario's days. Times the service took from its own clock, which
        lie between ``begun`` and ``ended``, become ten minutes after the newest screen."""

        def told(found: re.Match[str]) -> str:
            if begun <= datetime.fromisoformat(found[0]) <= ended:
                return _written(self._now_then)
            return _moved(found[0], -self._by)

        text = _INSTANT.sub(told, answer)
        text = _CLOCK_TIME.sub(lambda found: _clock_moved(found[0], -self._by), text)
        text = _DAY.sub(lambda found: found["before"] + str(self._day(sample, found)), text)
        born = sample.screen.patient.birth_date
        return text if born is None else text.replace(str(self._born(sample, born)), str(born))

    def _day(self, sample: Sample, found: re.Match[str]) -> date:
        """A day that stands without its hour: a status is of the service's own clock, a start of
        the day on which a screen of the same person was observed."""
        if found["name"] == "statusDate":
            return self._now_then.astimezone(sample.observed_at.tzinfo).date()
        day, person = date.fromisoformat(found["day"]), sample.screen.patient.identifier
        days = [
            one.observed_at.date()
            for one in sorted(self._samples, key=lambda each: each.observed_at)
            if one.screen.patient.identifier == person
            and one.observed_at <= sample.observed_at
            and (one.observed_at + self._by).date() == day
        ]
        return days[-1] if days else day - self._by

    def _born(self, sample: Sample, born: date) -> date:
        observed = sample.observed_at
        return born + ((observed + self._by).date() - observed.date())


def _moved(instant: str, by: timedelta) -> str:
    return _written(datetime.fromisoformat(instant) + by)


def _clock_moved(told: str, by: timedelta) -> str:
    moved = datetime.strptime(f"{told}Z", f"{_CLOCK_FORM}%z") + by
    return moved.strftime(_CLOCK_FORM).removeprefix("0")


def _written(moment: datetime) -> str:
    return moment.isoformat().replace("+00:00", "Z")
