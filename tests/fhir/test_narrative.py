"""Is the narrative safe XHTML whatever is said in it?"""

from xml.etree import ElementTree as ET

from hypothesis import given
from hypothesis import strategies as st

from service.fhir.narrative import bullets, listed, narrative, safe, said, struck
from service.fhir.structs import Narrative


def read(text: Narrative) -> ET.Element:
    return ET.fromstring(text.div)  # noqa: S314 - made by the code under test


@given(st.text())
def test_any_text_is_well_formed_and_read_back_as_text(text: str) -> None:
    root = read(said(f"x{text}"))
    (paragraph,) = list(root)
    assert list(paragraph) == []
    assert paragraph.text is not None
    assert paragraph.text.startswith("x")


@given(st.lists(st.text()))
def test_a_list_has_one_point_for_each_text(texts: list[str]) -> None:
    root = read(narrative(f"<p>-</p>{bullets('<Heading>', texts)}"))
    assert len(root.findall(".//{*}li")) == len(texts)


def test_markup_is_escaped_and_control_characters_are_gone() -> None:
    assert safe("<script>\x00\x1b&\ufffe\"'") == "&lt;script&gt;&amp;\"'"


def test_line_breaks_and_emoji_stay() -> None:
    assert safe("a\nb\t\N{FACE WITH TEARS OF JOY}") == "a\nb\t\N{FACE WITH TEARS OF JOY}"


def test_one_text_with_markup_does_not_leave_the_others_unescaped() -> None:
    assert (
        bullets("H", ["plain", "<b>"]) == "<p><b>H</b></p><ul><li>plain</li><li>&lt;b&gt;</li></ul>"
    )


def test_nothing_to_say_gives_no_heading() -> None:
    assert bullets("Steps", [], "ol") == ""


def test_steps_can_be_numbered() -> None:
    assert bullets("Steps", ["Rise."], "ol") == "<p><b>Steps</b></p><ol><li>Rise.</li></ol>"


def test_what_is_entered_in_error_says_so_first_and_once() -> None:
    once = struck(said("Oxygen saturation: 96 %."))
    first, second = list(read(once))
    assert "".join(first.itertext()) == "Entered in error: do not use."
    assert second.text == "Oxygen saturation: 96 %."
    assert struck(once) == once


def test_a_list_of_the_rule_book_reads_like_any_other() -> None:
    texts = ("Lock the <brakes>.", "Lower the bed & wait.")
    for kind in ("ul", "ol", "ul"):
        assert listed("Steps", texts, kind) == bullets("Steps", texts, kind)
    assert listed("Steps", ()) == ""
