"""Is every worked example of a method file answered as it says?"""

from msgspec.structs import replace

from service.rules.load import load_book
from tests.published.worked import wrong_examples


def test_every_worked_example_is_answered_as_it_says() -> None:
    book = load_book()
    assert all(method.examples for method in book.methods.values())
    assert wrong_examples(book) == []


def test_an_example_that_is_answered_otherwise_is_named() -> None:
    book = load_book()
    sling = book.methods["sling_lift"]
    wrong = replace(sling.examples[0], helpers=1)
    methods = {**book.methods, "sling_lift": replace(sling, examples=(wrong,))}
    assert wrong_examples(replace(book, methods=methods)) == [wrong.says]
