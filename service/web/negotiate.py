"""Which form does the client want its answer in: native JSON or FHIR?

    Accept missing, */*, application/*, application/json   native
    application/fhir+json, with fhirVersion 4.0 or without  FHIR
    neither, or both with q=0                                406, or native for an error

The greater q wins; at equal q the more exactly named form, then native.
"""

from enum import StrEnum

from service.web.refusals import NotAcceptable


class Form(StrEnum):
    NATIVE = "application/json"
    FHIR = "application/fhir+json"


BOTH = (Form.NATIVE, Form.FHIR)
_FHIR_VERSIONS = (None, "4.0", "4.0.1")


def form_of(accept: str | None, offers: tuple[Form, ...] = BOTH) -> Form:
    """The form to answer in. Raises NotAcceptable where none of ``offers`` is wanted."""
    best = _best(accept, offers)
    if best is None:
        raise NotAcceptable(f"This can be had as {' or '.join(offers)} only; see Accept.")
    return best


def error_form(accept: str | None) -> Form:
    """The form to tell an error in: there always is one."""
    return _best(accept, BOTH) or Form.NATIVE


def _best(accept: str | None, offers: tuple[Form, ...]) -> Form | None:
    if accept is None or not accept.strip():
        return offers[0]
    ranges = [found for part in accept.split(",") if (found := _range(part)) is not None]
    ranked = [(_quality(offer, ranges), offer) for offer in offers]
    (quality, _), best = max(ranked, key=lambda pair: pair[0])
    return best if quality > 0 else None


def _range(part: str) -> tuple[str, float] | None:
    """Media range and q. A FHIR version that is not spoken here counts as q=0."""
    media, *parameters = (piece.strip().lower() for piece in part.split(";"))
    named = dict(piece.split("=", 1) for piece in parameters if "=" in piece)
    try:
        quality = float(named.get("q", "1"))
    except ValueError:
        return None
    version = named.get("fhirversion")
    if version is not None and version.strip('"') not in _FHIR_VERSIONS:
        return None
    return media, quality


def _quality(offer: Form, ranges: list[tuple[str, float]]) -> tuple[float, int]:
    """Q of the most exact range that takes in ``offer``, and how exact that one is."""
    for exactness, media in ((2, offer.value), (1, "application/*"), (0, "*/*")):
        qualities = [quality for name, quality in ranges if name == media]
        if qualities:
            return max(qualities), exactness
    return 0.0, 0
