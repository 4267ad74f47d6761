"""Do the statements of an erasure stay inside one organisation, and run in an order that works?"""

import re

from service.storage import erase
from service.storage import statements_sqlite as sql
from service.storage.erase_queries import KEPT_OF_A_PATIENT, erasures


def test_every_statement_names_the_organisation_and_the_patient() -> None:
    for name in erasures():
        text = getattr(sql, name.upper())
        assert re.search(r"\.org = :of_org\b", text), name
        assert ":of_patient" in text, name


def test_each_of_them_is_run_and_rows_that_others_are_found_by_go_last() -> None:
    order = list(erase._IN_ORDER)
    assert len(order) == len(erasures()) == len(KEPT_OF_A_PATIENT) + 3
    assert order.index("idempotency") < order.index("screen")
    assert order[-2:] == ["merged patient", "patient"]
