"""Is a narrative let through only if it is formatting, and only if it says something?"""

import pytest

from service.fhir.validate_finding import Rule, Severity
from service.fhir.validate_narrative import is_plain, outside_findings, says_something
from tests.fhir.broken import OBSERVATION, changed, found

OPEN = '<div xmlns="http://www.w3.org/1999/xhtml">'


@pytest.mark.parametrize(
    "inside",
    ["Said.", "<p><b>Said</b></p>", '<a href="#x">x</a>', '<img src="#i" alt="x"/>', "&#160;a",
     "&lt;script&gt;", "<!-- a -->b", '<table class="a"><tr><td style="x">1</td></tr></table>',
     '<p xml:lang="de">x</p>', "<br/>a<hr/>", '<img src="data:image/png;base64,AA"/>',
     '<p style="color:red">a</p>', '<p title="Data: none">a</p>',
     '<img src="#i" alt="data: x"/>', '<a href="https://a.example/">a</a>'],
)  # fmt: skip
def test_formatting_is_let_through(inside: str) -> None:
    assert is_plain(f"{OPEN}{inside}</div>")


@pytest.mark.parametrize(
    "inside",
    ["<script>x</script>", '<p onclick="x">a</p>', "<form/>", "<iframe/>", "<object/>", "<p>",
     '<a href="javascript:x">a</a>', '<a href=" JavaScript:x">a</a>', "<link/>", "&unknown;",
     '<a href="java&#10;script:x">a</a>', '<a href="&#9;java&#9;script:x">a</a>', "&nbsp;a",
     '<q cite="javascript:x">a</q>',
     '<a href="data:text/html,x">a</a>', '<a href="data:image/svg+xml,x">a</a>',
     '<img src="data:image/svg+xml,x"/>', '<a href="data:image/png,x">a</a>',
     '<p style="width: expression (x)">a</p>', '<p style="background:url(javascript:x)">a</p>',
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
    assert not says_something(f'{OPEN}<img alt=""/></div>')
    assert not says_something(f"{OPEN} <p/></div>")
    assert not says_something("<div")


@pytest.mark.parametrize(
    "inside",
    ['<img src="https://a.example/x.png"/>', '<img src="//a.example/x"/>',
     '<p style="background: url( https://a.example/x )">a</p>', '<img src="file:///x"/>'],
)  # fmt: skip
def test_what_is_shown_from_elsewhere_is_warned_of(inside: str) -> None:
    told = found(changed(OBSERVATION, "text.div", f"{OPEN}{inside}</div>"))
    assert [(each.rule, each.path) for each in told] == [(Rule.OUTSIDE, "Observation.text.div")]
    assert told[0].severity == Severity.WARNING


@pytest.mark.parametrize(
    "inside",
    ['<img src="#i"/>', '<img src="data:image/png;base64,AA"/>', '<a href="https://a.example">a</a>',
     "<p style='background:url(\"#a\")'>a</p>", "<p>"],
)  # fmt: skip
def test_what_comes_along_is_not(inside: str) -> None:
    assert list(outside_findings(f"{OPEN}{inside}</div>", "a")) == []
