"""How old was the person when the screen was observed?"""

from datetime import datetime

from service.domain.subject import Subject


def age_at(subject: Subject, observed_at: datetime) -> int:
    """Completed years on the day of ``observed_at``, as that day is written in its own offset.

    Someone born on 29 February turns a year older on 1 March of a common year.
    """
    if subject.age_years is not None:
        return subject.age_years
    born = subject.birth_date
    if born is None:
        raise ValueError("A subject has a birth date or an age.")
    day = observed_at.date()
    before_birthday = (day.month, day.day) < (born.month, born.day)
    return day.year - born.year - before_birthday
