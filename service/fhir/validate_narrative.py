"""Is a narrative XHTML that a reader may be shown, and does it say something?"""

import html
import re
from xml.etree import ElementTree as ET

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
_LANG = "{http://www.w3.org/XML/1998/namespace}"
_NAMED = re.compile(r"&([A-Za-z][A-Za-z0-9]*);")
_OF_XML = ("amp", "lt", "gt", "quot", "apos")
_RUNS = re.compile(r"\s*(javascript|vbscript|data\s*:\s*text)", re.IGNORECASE)


def root_of(div: str) -> ET.Element | None:
    """The narrative's tree; None where it is no XML or declares something."""
    if "<!" in div.replace("<!--", "") or "<?" in div:
        return None
    try:
        return ET.fromstring(_NAMED.sub(_character, div))  # noqa: S314 - declares no entity
    except (ET.ParseError, ValueError):
        return None


def _character(found: re.Match[str]) -> str:
    """The character of an entity of HTML, as XML knows only five by name."""
    character = html.unescape(found[0])
    return found[0] if found[1] in _OF_XML or character == found[0] else character


def is_plain(div: str) -> bool:
    """Whether it is one XHTML ``div`` with nothing in it that acts, loads code or asks."""
    root = root_of(div)
    return root is not None and root.tag == f"{_XHTML}div" and all(map(_is_allowed, root.iter()))


def says_something(div: str) -> bool:
    root = root_of(div)
    if root is None:
        return False
    return bool("".join(root.itertext()).strip()) or root.find(f".//{_XHTML}img") is not None


def _is_allowed(element: ET.Element) -> bool:
    tag = element.tag
    if not tag.startswith(_XHTML) or not _TAGS.fullmatch(tag.removeprefix(_XHTML)):
        return False
    return all(
        _ATTRIBUTES.fullmatch(name.removeprefix(_LANG)) and not _RUNS.match(value)
        for name, value in element.items()
    )
