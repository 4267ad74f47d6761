"""What does the answer to one entry of a Bundle hold?"""

from http import HTTPStatus

from service.domain.problem import NotAllowed, Problem
from service.fhir.answer_entries import AnsweredEntry, EntryResponse, made_outcome
from service.fhir.outcome import outcome_for_status
from service.fhir.questionnaire_response import response_of
from service.fhir.site import Site
from service.web.fhir.conditions import Returned
from service.web.fhir.deeds import Done, location_of
from service.web.fhir.reading_within import Within
from service.web.problems import STATUS

_FORBIDDEN = 403


def entry_of(site: Site, done: Done, wanted: Returned) -> AnsweredEntry:
    """A response that was created, changed or found."""
    screen = done.answer.screen
    whole = wanted == Returned.REPRESENTATION
    return AnsweredEntry(
        full_url=f"{site.base}/QuestionnaireResponse/{screen.id}" if whole else None,
        resource=response_of(site, screen) if whole else None,
        response=EntryResponse(
            status=_status(done.status),
            location=location_of(site, done.answer),
            etag=f'W/"{screen.version}"',
            last_modified=screen.recorded_at,
            outcome=made_outcome(done.answer) if wanted == Returned.OUTCOME else None,
        ),
    )


def entry_of_patient(site: Site, patient: str, *, new: bool) -> AnsweredEntry:
    """A Patient that a response referred to, under the id that is theirs here."""
    return AnsweredEntry(
        response=EntryResponse(
            status=_status(201 if new else 200), location=f"{site.base}/Patient/{patient}"
        )
    )


def entry_of_problem(problem: Problem) -> AnsweredEntry:
    """What one entry of a batch was refused with."""
    status = _FORBIDDEN if isinstance(problem, NotAllowed) else STATUS[type(problem)]
    outcome = outcome_for_status(status, problem.detail, problem.faults)
    return AnsweredEntry(response=EntryResponse(status=_status(status), outcome=outcome))


def entry_of_read(within: Within) -> AnsweredEntry:
    """A read or search, good or not."""
    good = within.status == HTTPStatus.OK
    return AnsweredEntry(
        resource=within.resource if good else None,
        response=EntryResponse(
            status=_status(within.status),
            etag=within.headers.get("etag"),
            last_modified=within.last_modified,
            outcome=None if good else within.resource,
        ),
    )


def _status(status: int) -> str:
    return f"{status} {HTTPStatus(status).phrase}"
