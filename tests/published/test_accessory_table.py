"""Does each method take the accessories that the design gives it, for whom it says?"""

import pytest

from service.rules.load import load_book
from tests.published.accessory_table import ROWS, Row, taken

BOOK = load_book()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row.method}-{row.move}")
def test_a_method_takes_its_accessories_for_whom_they_are_meant(row: Row) -> None:
    assert sorted(taken(BOOK, row)) == sorted(row.takes)


def test_every_accessory_of_every_method_has_a_row() -> None:
    told = {(row.method, accessory) for row in ROWS for accessory in row.takes}
    ruled = {(name, each.accessory) for name, m in BOOK.methods.items() for each in m.accessories}
    assert told == ruled
