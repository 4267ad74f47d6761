"""What did the operator set? The only reader of the environment."""

import ipaddress
import os
import re
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path
from typing import Annotated

from msgspec import Meta, Struct

from service.settings_sources import PREFIX, SettingsError, config_of, gather, settled
from service.storage.place import Place, Server

__all__ = ["PREFIX", "Auth", "Settings", "SettingsError", "checked", "from_environment"]

DEFAULT_PORT = 8741
MIB = 1024 * 1024
_ONE_RATE = r"[1-9][0-9]{0,8}/([1-9][0-9]{0,3} ?)?(second|minute|hour|day)s?"
_RATE = re.compile(rf"off|{_ONE_RATE}(;{_ONE_RATE})*")
_BASES = ("public_base", "fhir_base", "traces")


class Auth(StrEnum):
    """keys: every call needs an API key or a token. off: none does, on loopback only."""

    KEYS = "keys"
    OFF = "off"


class Switch(StrEnum):
    ON = "on"
    OFF = "off"


class LogForm(StrEnum):
    JSON = "json"
    TEXT = "text"


class LogLevel(StrEnum):
    INFO = "info"
    WARNING = "warning"
    ERROR = "error"


class AuditReads(StrEnum):
    """open: a current plan is read even while the audit cannot be written. closed: it is not."""

    OPEN = "open"
    CLOSED = "closed"


def _is(text: str) -> Meta:
    return Meta(description=text)


def _secret(text: str) -> Meta:
    return Meta(description=text, extra={"secret": True})


Whole = Annotated[int, Meta(ge=0, le=2**40)]
Seconds = Annotated[float, Meta(ge=0, le=86_400)]
Address = Annotated[str, Meta(min_length=1)]
Secret = Annotated[str, Meta(min_length=16)]


class Settings(Struct, frozen=True, kw_only=True):
    """Everything that can be set, with its default; what each is for stands beside it."""

    database: Annotated[Path, _is("The SQLite file.")] = Path("stanchion.db")
    postgres: Annotated[
        Address | None,
        _secret("The record on PostgreSQL instead: address of the role that owns it."),
    ] = None
    postgres_read: Annotated[
        Address | None,
        _secret("The role that only reads, held to one organisation; else the first."),
    ] = None
    workers: Annotated[
        int, Meta(ge=1, le=64, description="Serving processes; more than 1 on PostgreSQL only.")
    ] = 1
    host: Annotated[str, _is("The address to listen on.")] = "127.0.0.1"
    port: Annotated[int, Meta(ge=0, le=65535, description="The port; 0 takes any free one.")] = (
        DEFAULT_PORT
    )
    auth: Annotated[Auth, _is("`keys`, or `off` on loopback only.")] = Auth.KEYS
    public_base: Annotated[
        str | None, _is("How clients reach the service; else it follows from host and port.")
    ] = None
    fhir_base: Annotated[str | None, _is("The FHIR base; else `/fhir/R4` below that.")] = None
    fhir_loinc: Annotated[Switch, _is("`on` sends LOINC codes beside our own; or `off`.")] = (
        Switch.ON
    )
    fhir_snomed: Annotated[
        Switch, _is("`on` sends SNOMED CT codes beside our own; `off` where there is no license.")
    ] = Switch.ON
    fhir_patient: Annotated[
        str,
        _is("The subject: `own`, `none` (identifier alone), or an address with `{value}` in it."),
    ] = "own"
    issuers: Annotated[
        Path | None, _is("File of the issuers whose access tokens are taken; else keys alone.")
    ] = None
    rules_overlay: Annotated[Path | None, _is("The hospital's own file over the rule book.")] = None

    log: Annotated[LogForm, _is("`json`, a line an event, or `text` to read by eye.")] = (
        LogForm.JSON
    )
    log_level: Annotated[LogLevel, _is("`info`, `warning` or `error`.")] = LogLevel.INFO
    traces: Annotated[
        str | None, _is("Where to send OpenTelemetry traces, OTLP over HTTP; needs extra `traces`.")
    ] = None
    metrics_token: Annotated[
        Secret | None, _secret("Who asks for `/metrics` must send it; without it, loopback only.")
    ] = None

    rate: Annotated[
        str,
        _is(
            "A credential's requests, each process: `1000/second`, `100/second;3000/minute`, `off`."
        ),
    ] = "1000/second"
    credential_concurrency: Annotated[
        Whole, _is("Requests of one credential that may run at once; 0 is no limit.")
    ] = 256
    concurrency: Annotated[Whole, _is("Requests that may run at once; 0 is no limit.")] = 1024
    connections: Annotated[Whole, _is("Connections that may be open; 0 is no limit.")] = 4096
    body_bytes: Annotated[int, Meta(ge=1024, description="Largest native body, bytes.")] = MIB
    fhir_body_bytes: Annotated[int, Meta(ge=1024, description="Largest FHIR body, bytes.")] = (
        4 * MIB
    )
    url_bytes: Annotated[int, Meta(ge=256, description="Longest address, bytes.")] = 8192
    head_bytes: Annotated[int, Meta(ge=1024, description="Longest head of a request, bytes.")] = (
        32_768
    )
    head_seconds: Annotated[Seconds, _is("A head must be there by then; 0 is no limit.")] = 10.0
    body_seconds: Annotated[Seconds, _is("A body must be there by then.")] = 30.0
    request_seconds: Annotated[
        Seconds, _is("An answer must have gone out by then; 0 is no limit.")
    ] = 60.0
    keep_alive_seconds: Annotated[
        int, Meta(ge=1, le=3600, description="An idle connection is closed after.")
    ] = 30
    cors_origins: Annotated[
        tuple[str, ...], _is("Origins whose pages may call: `https://a.example,...`; none else.")
    ] = ()

    audit_reads: Annotated[
        AuditReads, _is("Is a current plan read while the audit cannot be written?")
    ] = AuditReads.OPEN
    disk_low_mib: Annotated[Whole, _is("Below this, `/health/ready` warns.")] = 1024
    disk_least_mib: Annotated[Whole, _is("Below this, `/health/ready` is 503.")] = 64
    outbox_old_seconds: Annotated[Whole, _is("An older undelivered entry is warned of.")] = 3600
    drain_seconds: Annotated[
        Seconds, _is("How long not ready before it stops, so that a balancer can see it.")
    ] = 0.0
    grace_seconds: Annotated[
        int, Meta(ge=1, le=600, description="How long running requests may take to end.")
    ] = 20

    @property
    def place(self) -> Place:
        """Where the record is."""
        if self.postgres is None:
            return self.database
        return Server(self.postgres, self.postgres_read)

    @property
    def loopback(self) -> bool:
        return is_loopback(self.host)

    @property
    def base(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return self.public_base or f"http://{host}:{self.port}"

    @property
    def fhir(self) -> str:
        return self.fhir_base or f"{self.base}/fhir/R4"


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach ``host``. A name other than localhost may not be."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def from_environment(
    environment: Mapping[str, str] = os.environ, file: Path | None = None
) -> Settings:
    """The settings of this process; ``file`` before the one the environment names.

    Raises SettingsError.
    """
    return sourced(environment, file)[0]


def sourced(
    environment: Mapping[str, str] = os.environ, file: Path | None = None
) -> tuple[Settings, dict[str, str]]:
    """The settings, and in words where each that was set came from. Raises SettingsError."""
    found = gather(Settings, environment, file or config_of(environment))
    for name in _BASES:
        if name in found.values:
            found.values[name] = _base(name, found.values[name])
    return checked(settled(Settings, found)), found.sources


def checked(settings: Settings) -> Settings:
    """``settings``, or SettingsError where they would open the service to all comers."""
    if settings.auth == Auth.OFF and not settings.loopback:
        raise SettingsError(
            f"{PREFIX}AUTH=off is for loopback only: set {PREFIX}HOST to 127.0.0.1, or use keys."
        )
    if settings.workers > 1 and settings.postgres is None:
        raise SettingsError(
            f"{PREFIX}WORKERS={settings.workers} needs PostgreSQL: one process serves a file."
        )
    if not _RATE.fullmatch(settings.rate):
        raise SettingsError(f"{PREFIX}RATE must be such as 1000/second;20000/minute, or off.")
    patient = settings.fhir_patient
    absolute = patient.startswith(("http://", "https://")) and "{value}" in patient
    if patient not in ("own", "none") and not absolute:
        raise SettingsError(
            f"{PREFIX}FHIR_PATIENT must be own, none, or such as https://a.example/Patient/{{value}}."
        )
    for origin in settings.cors_origins:
        scheme, _, host = origin.partition("://")
        if scheme not in ("http", "https") or not host or set(host) & set("/*?# "):
            raise SettingsError(
                f"{PREFIX}CORS_ORIGINS must list origins such as https://ward.example."
            )
    return settings


def _base(name: str, text: object) -> str:
    if not isinstance(text, str) or not text.startswith(("http://", "https://")):
        raise SettingsError(f"{PREFIX}{name.upper()} must begin with http:// or https://.")
    return text.rstrip("/")
