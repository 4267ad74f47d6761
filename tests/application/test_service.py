"""Does an audit entry say who calls, under which request, and no more than it is told?"""

from service.application.ports import AuditEntry
from tests.application.made import REQUEST, WARD, House


def test_an_entry_names_the_caller_and_the_request(house: House) -> None:
    assert house.call.entry("screen.read", "ok", "a", "b") == AuditEntry(
        action="screen.read",
        principal=WARD,
        request_id=REQUEST,
        outcome="ok",
        patient="a",
        target="b",
    )


def test_an_entry_without_a_patient_names_none(house: House) -> None:
    entry = house.call.entry("screen.list", "ok")
    assert (entry.patient, entry.target) == (None, None)
