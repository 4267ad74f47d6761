"""Is a narrative let through only if it is formatting, and only if it says something?"""

import pytest

from service.fhir.validate_narrative import is_plain, says_something

OPEN = '<div xmlns="http://www.w3.org/1999/xhtml">'


@pytest.mark.parametrize(
    "inside",
    ["Said.", "<p><b>Said</b></p>", '<a href="#x">x</a>', '<img src="#i" alt="x"/>', "&nbsp;a",
     "&lt;script&gt;", "<!-- a -->b", '<table class="a"><tr><td style="x">1</td></tr></table>',
     '<p xml:lang="de">x</p>', "<br/>a<hr/>"],
)  # fmt: skip
def test_formatting_is_let_through(inside: str) -> None:
    assert is_plain(f"{OPEN}{inside}</div>")


@pytest.mark.parametrize(
    "inside",
    ["<script>x</script>", '<p onclick="x">a</p>', "<form/>", "<iframe/>", "<object/>", "<p>",
     '<a href="javascript:x">a</a>', '<a href=" JavaScript:x">a</a>', "<link/>", "&unknown;",
     '<svg xmlns="http://www.w3.org/2000/svg"/>', "<![CDATA[a]]>", "<?php a?>", "<style>a</style>"],
)  # fmt: skip
def test_what_acts_or_is_no_xml_is_not(inside: str) -> None:
    assert not is_plain(f"{OPEN}{inside}</div>")


@pytest.mark.parametrize(
    "div",
    ["<div>no namespace</div>", '<p xmlns="http://www.w3.org/1999/xhtml">a</p>', "text", "",
     '<!DOCTYPE div [<!ENTITY a "b">]>' + OPEN + "&a;</div>"],
)  # fmt: skip
def test_what_is_no_div_of_xhtml_is_not(div: str) -> None:
    assert not is_plain(div)


def test_a_narrative_says_something_or_shows_it() -> None:
    assert says_something(f"{OPEN}a</div>")
    assert says_something(f'{OPEN}<img src="#i"/></div>')
    assert not says_something(f"{OPEN} <p/></div>")
    assert not says_something("<div")
