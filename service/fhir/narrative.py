"""How is a resource said in safe XHTML?"""

import re
from collections.abc import Iterable
from functools import lru_cache

from service.fhir.structs import Narrative

_SPECIAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff&<>]")
_WRITTEN = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}
_OPEN = '<div xmlns="http://www.w3.org/1999/xhtml">'
_STRUCK = "<p><b>Entered in error: do not use.</b></p>"


def _written(found: re.Match[str]) -> str:
    return _WRITTEN.get(found.group(), "")


def safe(text: str) -> str:
    """``text`` as the content of an XHTML element, never as an attribute: markup escaped,
    control characters removed."""
    if _is_plain(text):
        return text
    return _SPECIAL.sub(_written, text)


def _is_plain(text: str) -> bool:
    """Almost all text is, and is told so much faster than by a pattern."""
    return text.isprintable() and "&" not in text and "<" not in text and ">" not in text


def narrative(body: str) -> Narrative:
    """A narrative of ``body``, which is XHTML already."""
    return Narrative("generated", f"{_OPEN}{body}</div>")


def said(text: str) -> Narrative:
    """A narrative of one paragraph of plain ``text``."""
    return Narrative("generated", f"{_OPEN}<p>{safe(text)}</p></div>")


def struck(told: Narrative) -> Narrative:
    """``told``, with a line before it, once, that nobody who reads on can miss."""
    body = told.div.removeprefix(_OPEN).removeprefix(_STRUCK)
    return Narrative(told.status, f"{_OPEN}{_STRUCK}{body}")


def bullets(heading: str, texts: Iterable[str], kind: str = "ul") -> str:
    """``heading`` over a list of plain texts; nothing at all where there is none."""
    lines = "".join([f"<li>{line}</li>" for line in _all_safe(list(texts))])
    return f"<p><b>{safe(heading)}</b></p><{kind}>{lines}</{kind}>" if lines else ""


@lru_cache(maxsize=1024)
def listed(heading: str, sentences: tuple[str, ...], kind: str = "ul") -> str:
    """The same of sentences of the rule book, of which there are only so many lists: each is made
    once. Nothing that was seen of a person belongs here."""
    return bullets(heading, sentences, kind)


def _all_safe(texts: list[str]) -> list[str]:
    """One look over all of them is enough for most lists."""
    return texts if _is_plain("".join(texts)) else [safe(text) for text in texts]
