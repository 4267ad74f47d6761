"""Whose access tokens are trusted, and for which organisation?

The file is TOML, one ``[[issuers]]`` table each; docs/security-identity.md shows one. An issuer
speaks for one organisation, or a claim of its tokens names which of several: never the body of
a request.
"""

import ipaddress
from collections.abc import Iterable, Iterator
from pathlib import Path
from urllib.parse import urlsplit

import msgspec
from msgspec import Struct, field
from msgspec.structs import replace

LONGEST_SKEW_S = 300
SMART_CAPABILITIES = ("client-confidential-asymmetric", "permission-v1", "permission-v2")


class BadIssuers(Exception):
    """The file cannot be used; the text says what is wrong in it."""


class Issuer(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """``issuer``, ``audience``: the claims ``iss`` and ``aud`` to the letter. ``jwks``: address or
    file of its public keys. ``organisation``: the id of the one it speaks for; or
    ``organisation_claim``, and ``organisations`` from the claim's value to an id.
    ``clock_skew_s``: how far its clock may be off, seconds. ``ca_file``: whom to trust besides
    the public authorities, for its address."""

    issuer: str
    audience: str
    jwks: str
    token_endpoint: str
    organisation: str | None = None
    organisation_claim: str | None = None
    organisations: dict[str, str] = field(default_factory=dict)
    clock_skew_s: int = 60
    ca_file: str | None = None
    capabilities: tuple[str, ...] = SMART_CAPABILITIES

    @property
    def by_address(self) -> bool:
        return "://" in self.jwks

    def org_of(self, claims: dict[str, object]) -> str | None:
        """The organisation that a token with these claims belongs to."""
        if self.organisation_claim is None:
            return self.organisation
        named = claims.get(self.organisation_claim)
        return self.organisations.get(named) if isinstance(named, str) else None

    def orgs(self) -> set[str]:
        """Every organisation it may speak for."""
        return set(self.organisations.values()) | ({self.organisation} - {None})  # type: ignore[operator]


class IssuersFile(Struct, frozen=True, forbid_unknown_fields=True):
    issuers: tuple[Issuer, ...]


def read_issuers(path: Path) -> tuple[Issuer, ...]:
    """The issuers in the file, files named in it found beside it. Raises BadIssuers."""
    try:
        found = msgspec.toml.decode(path.read_bytes(), type=IssuersFile).issuers
    except OSError as error:
        raise BadIssuers(f"{path}: {error.strerror}.") from None
    except ValueError as error:
        raise BadIssuers(f"{path}: {error}.") from None
    faults = list(_faults(found))
    if faults:
        raise BadIssuers("\n".join(f"{path}: {fault}" for fault in faults))
    return tuple(_beside(path, one) for one in found)


def refuse_strangers(issuers: Iterable[Issuer], known: Iterable[str]) -> None:
    """Raises BadIssuers where one speaks for an organisation that is not there."""
    there = set(known)
    for one in issuers:
        for org in sorted(one.orgs() - there):
            raise BadIssuers(
                f"The issuer {one.issuer} speaks for organisation {org}, which is not there:"
                " `stanchion org list` lists them."
            )


def _beside(path: Path, one: Issuer) -> Issuer:
    jwks = one.jwks if one.by_address else str(path.parent / one.jwks)
    ca_file = None if one.ca_file is None else str(path.parent / one.ca_file)
    return replace(one, jwks=jwks, ca_file=ca_file)


def _faults(issuers: tuple[Issuer, ...]) -> Iterator[str]:
    if not issuers:
        yield "it names no issuer"
    names = [one.issuer for one in issuers]
    for number, one in enumerate(issuers, 1):
        if names.count(one.issuer) > 1:
            yield f"issuer {number}: {one.issuer} stands twice"
        yield from (f"issuer {number}: {said}" for said in _faults_of(one))


def _faults_of(one: Issuer) -> Iterator[str]:
    for name in ("issuer", "audience", "jwks", "token_endpoint"):
        if not getattr(one, name).strip():
            yield f"{name} is empty"
    if one.by_address and not _safe(one.jwks):
        yield "jwks must be a file or begin with https://; http:// is for loopback only"
    if not _safe(one.token_endpoint):
        yield "token_endpoint must begin with https://; http:// is for loopback only"
    if not 0 <= one.clock_skew_s <= LONGEST_SKEW_S:
        yield f"clock_skew_s must be from 0 to {LONGEST_SKEW_S}"
    if (one.organisation is None) == (one.organisation_claim is None):
        yield "name either organisation or organisation_claim"
    if (one.organisation_claim is None) == bool(one.organisations):
        yield "organisation_claim and the table organisations belong together"


def _safe(address: str) -> bool:
    """Nobody on the way can put in keys of his own."""
    parts = urlsplit(address)
    if parts.scheme == "https":
        return bool(parts.hostname)
    return parts.scheme == "http" and _is_loopback(parts.hostname or "")


def _is_loopback(host: str) -> bool:
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
