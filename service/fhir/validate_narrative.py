"""Is a narrative XHTML that a reader may be shown, and does it say something?"""

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

from service.fhir.validate_finding import Finding, Rule, Severity

_XHTML = "{http://www.w3.org/1999/xhtml}"
_TAGS = re.compile(
    "a|abbr|acronym|address|b|big|blockquote|br|caption|cite|code|col|colgroup|dd|del|dfn|div|dl|dt"
    "|em|h[1-6]|hr|i|img|ins|kbd|li|ol|p|pre|q|s|samp|small|span|strong|sub|sup|table|tbody|td|tfoot"
    "|th|thead|tr|tt|u|ul|var"
)
_ATTRIBUTES = re.compile(
    "abbr|align|alt|axis|bgcolor|border|cellhalign|cellpadding|cellspacing|cellvalign|char|charoff"
    "|cite|class|colspan|compact|coords|dir|frame|headers|height|href|hreflang|id|lang|longdesc|name"
    "|nohref|noshade|nowrap|rel|rev|rowspan|rules|scope|shape|span|src|start|style|summary|tabindex"
    "|title|type|usemap|valign|value|vspace|width"
)
_ADDRESSES = ("href", "src", "cite", "longdesc", "usemap")
_LANG = "{http://www.w3.org/XML/1998/namespace}"
# A browser takes no notice of blanks and control characters within the scheme of an address.
_UNSEEN = re.compile("[\x00-\x20]+")
_RUNS = re.compile("javascript:|vbscript:|data:", re.IGNORECASE)
_PICTURE = re.compile("data:image/(png|jpeg|gif|webp|bmp)[;,]", re.IGNORECASE)
_STYLE_RUNS = re.compile(r"expression\(|(java|vb)script:|behavior:|-moz-binding", re.IGNORECASE)
_OUTSIDE = re.compile("[a-z][a-z0-9+.-]*:|//", re.IGNORECASE)
_STYLE_OUTSIDE = re.compile(r"url\((?![\"']?(data:|#))", re.IGNORECASE)


def root_of(div: str) -> ET.Element | None:
    """The narrative's tree; None where it is no XML or declares something. XML knows five
    entities by name, and none of HTML's."""
    if "<!" in div.replace("<!--", "") or "<?" in div:
        return None
    try:
        return ET.fromstring(div)  # noqa: S314 - declares no entity
    except (ET.ParseError, ValueError):
        return None


def is_plain(div: str) -> bool:
    """Whether it is one XHTML ``div`` with nothing in it that acts, loads code or asks."""
    root = root_of(div)
    return root is not None and root.tag == f"{_XHTML}div" and all(map(_is_allowed, root.iter()))


def says_something(div: str) -> bool:
    root = root_of(div)
    if root is None:
        return False
    shown = root.iterfind(f".//{_XHTML}img")
    return bool("".join(root.itertext()).strip()) or any(each.get("src") for each in shown)


def outside_findings(div: str, path: str) -> Iterator[Finding]:
    """Pictures from elsewhere: who serves them learns who reads what, and when."""
    root = root_of(div)
    elements = () if root is None else root.iter()
    if any(_leads_outside(*each) for element in elements for each in element.items()):
        text = "It shows what lies elsewhere. Write it as data:, or as # and what is contained."
        yield Finding(Rule.OUTSIDE, path, text, Severity.WARNING)


def _leads_outside(name: str, value: str) -> bool:
    plain = _UNSEEN.sub("", value)
    if name == "style":
        return _STYLE_OUTSIDE.search(plain) is not None
    return name == "src" and _OUTSIDE.match(plain) is not None and not _PICTURE.match(plain)


def _is_allowed(element: ET.Element) -> bool:
    tag = element.tag
    if not tag.startswith(_XHTML) or not _TAGS.fullmatch(tag.removeprefix(_XHTML)):
        return False
    return all(
        _ATTRIBUTES.fullmatch(name.removeprefix(_LANG)) and not _acts(name, value)
        for name, value in element.items()
    )


def _acts(name: str, value: str) -> bool:
    plain = _UNSEEN.sub("", value)
    if name == "style":
        return _STYLE_RUNS.search(plain) is not None
    picture = name == "src" and _PICTURE.match(plain) is not None
    return name in _ADDRESSES and _RUNS.match(plain) is not None and not picture
