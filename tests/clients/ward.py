"""What do the clients find in the server, and what do they send it? Every value is invented."""

import json
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

from msgspec import Struct

from service.fhir.site import CANONICAL
from tests.clients.driver import Document, Place
from tests.system.server import Server
from tests.web.world import screen

PERSONS = "urn:oid:2.999.7"
SCREENS_OF_MARA = 5
_numbers = count(1)


class Ward(Struct, frozen=True):
    """A server that holds five screens of one person and one of another.

    ``mara``: the answers to the five, oldest first, as native JSON; ``joe`` the other's.
    """

    server: Server
    mara: list[Document]
    joe: Document

    @property
    def place(self) -> Place:
        return Place(f"{self.server.base}/fhir/R4", self.server.key)

    @property
    def patient(self) -> str:
        """Mara's id."""
        return str(self.mara[0]["screen"]["patient_id"])

    @property
    def newest(self) -> str:
        """The id of Mara's newest screen."""
        return str(self.mara[-1]["screen"]["id"])

    def get(self, path: str, **query: str) -> Document:
        """A FHIR read or search by a plain HTTP client."""
        response = self.server.client.get(f"/fhir/R4/{path}", params=query or None)
        assert response.status_code == 200, response.text
        document: Document = response.json()
        return document

    def responses(self) -> int:
        """How many QuestionnaireResponses the server holds."""
        return int(self.get("QuestionnaireResponse", _summary="count")["total"])


def moment(minutes_ago: int) -> str:
    """A time in the last hours, in whole seconds, so that the plans of it are current."""
    ago = datetime.now(UTC).replace(microsecond=0) - timedelta(minutes=minutes_ago)
    return ago.isoformat()


def fill(server: Server) -> Ward:
    minutes = range(60, 60 - 10 * SCREENS_OF_MARA, -10)
    mara = [_post(server, screen("C-1", moment(ago))) for ago in minutes]
    return Ward(server, mara, _post(server, screen("C-2", moment(30))))


def _post(server: Server, body: dict[str, Any]) -> Document:
    response = server.client.post("/v1/screens", json=body)
    assert response.status_code == 201, response.text
    answer: Document = response.json()
    return answer


def new_person() -> str:
    """The identifier of a person nobody has screened yet."""
    return f"N-{next(_numbers)}"


def answers_of(person: str, observed_at: str | None = None, **more: Any) -> Document:
    """A QuestionnaireResponse as another system fills it in, by the questions' link ids: a
    person who stands with a hand on the rail. ``more``: further elements of the resource."""
    at = observed_at or moment(5)
    return {
        "resourceType": "QuestionnaireResponse",
        "questionnaire": f"{CANONICAL}/Questionnaire/bedside-mobility-screen|1.0.0",
        "status": "completed",
        "subject": {"type": "Patient", "identifier": {"system": PERSONS, "value": person}},
        "authored": at,
        "item": [
            _group("patient", *_person(person)),
            _item("observed_at", valueDateTime=at),
            _group("orders", _coded("orders.precautions", "precaution", "none")),
            _group(
                "readiness",
                _item("readiness.rass", valueInteger=0),
                _coded("readiness.instructions", "instructions", "two_step"),
                _coded("readiness.cooperation", "cooperation", "cooperative"),
            ),
            _group(
                "stages",
                _group("stages.sitting_balance", *_sat()),
                _group("stages.rise", *_rose()),
            ),
        ],
        **more,
    }


def item_of(response: Document, link: str) -> Document:
    """The item of ``response`` at ``link``, however deep."""
    waiting = list(response["item"])
    while waiting:
        item: Document = waiting.pop()
        if item["linkId"] == link:
            return item
        waiting.extend(item.get("item", ()))
    raise KeyError(link)


def amended(response: Document, seconds: int = 45) -> Document:
    """``response`` with another time of sitting, as a correction."""
    changed: Document = {**json.loads(json.dumps(response)), "status": "amended"}
    sat = item_of(changed, "stages.sitting_balance.seconds")
    sat["answer"][0]["valueQuantity"]["value"] = seconds
    return changed


def _person(value: str) -> tuple[Document, ...]:
    known = _group(
        "patient.identifier",
        _item("patient.identifier.system", valueUri=PERSONS),
        _item("patient.identifier.value", valueString=value),
    )
    mass = _quantity("patient.mass_kg", 71.5, "kg")
    return known, _quantity("patient.age_years", 80, "a"), mass


def _sat() -> tuple[Document, ...]:
    achieved = _coded("stages.sitting_balance.outcome", "outcome", "achieved")
    return achieved, _quantity("stages.sitting_balance.seconds", 30, "s")


def _rose() -> tuple[Document, ...]:
    achieved = _coded("stages.rise.outcome", "outcome", "achieved")
    return achieved, _item("stages.rise.hands_used", valueBoolean=True)


def _group(link: str, *inside: Document) -> Document:
    return {"linkId": link, "item": list(inside)}


def _item(link: str, **answer: Any) -> Document:
    return {"linkId": link, "answer": [answer]}


def _coded(link: str, system: str, code: str) -> Document:
    return _item(link, valueCoding={"system": f"{CANONICAL}/CodeSystem/{system}", "code": code})


def _quantity(link: str, value: float, unit: str) -> Document:
    ucum = "http://unitsofmeasure.org"
    return _item(link, valueQuantity={"value": value, "unit": unit, "system": ucum, "code": unit})


def transaction(*entries: tuple[str, str, Document]) -> Document:
    """A transaction of (method, url, resource), each under a fresh name of its own."""
    return {
        "resourceType": "Bundle",
        "type": "transaction",
        "entry": [
            {
                "fullUrl": f"urn:uuid:00000000-0000-4000-8000-{number:012d}",
                "resource": resource,
                "request": {"method": method, "url": url},
            }
            for number, (method, url, resource) in enumerate(entries, 1)
        ],
    }
