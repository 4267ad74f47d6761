"""What did the operator set? The only reader of the environment."""

import ipaddress
import os
from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path

from msgspec import Struct

PREFIX = "STANCHION_"
DEFAULT_PORT = 8741


class SettingsError(Exception):
    """A setting that cannot be used; the text says which and what it may be."""


class Auth(StrEnum):
    """keys: every call needs an API key. off: none does, on loopback only."""

    KEYS = "keys"
    OFF = "off"


class Settings(Struct, frozen=True, kw_only=True):
    """Everything that can be set, with its default. ``public_base`` is how clients reach the
    service; where it is not given, it follows from host and port. ``rules_overlay`` is the
    hospital's own file over the rule book."""

    database: Path = Path("stanchion.db")
    host: str = "127.0.0.1"
    port: int = DEFAULT_PORT
    auth: Auth = Auth.KEYS
    public_base: str | None = None
    fhir_base: str | None = None
    rules_overlay: Path | None = None

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


def from_environment(environment: Mapping[str, str] = os.environ) -> Settings:
    """The settings of this process. Raises SettingsError."""
    given = {
        name.removeprefix(PREFIX).lower(): value
        for name, value in environment.items()
        if name.startswith(PREFIX) and value
    }
    unknown = sorted(given.keys() - set(Settings.__struct_fields__))
    if unknown:
        raise SettingsError(f"Unknown setting: {PREFIX}{unknown[0].upper()}.")
    return checked(
        Settings(
            database=Path(given.get("database", "stanchion.db")),
            host=given.get("host", "127.0.0.1"),
            port=_port(given.get("port", str(DEFAULT_PORT))),
            auth=_auth(given.get("auth", Auth.KEYS)),
            public_base=_base("public_base", given.get("public_base")),
            fhir_base=_base("fhir_base", given.get("fhir_base")),
            rules_overlay=Path(given["rules_overlay"]) if "rules_overlay" in given else None,
        )
    )


def checked(settings: Settings) -> Settings:
    """``settings``, or SettingsError where they would open the service to all comers."""
    if settings.auth == Auth.OFF and not settings.loopback:
        raise SettingsError(
            f"{PREFIX}AUTH=off is for loopback only: set {PREFIX}HOST to 127.0.0.1, or use keys."
        )
    return settings


def _port(text: str) -> int:
    if not text.isascii() or not text.isdigit() or int(text) > 65535:
        raise SettingsError(f"{PREFIX}PORT must be a number from 0 to 65535.")
    return int(text)


def _auth(text: str) -> Auth:
    try:
        return Auth(text)
    except ValueError:
        raise SettingsError(f"{PREFIX}AUTH must be keys or off.") from None


def _base(name: str, text: str | None) -> str | None:
    if text is None:
        return None
    if not text.startswith(("http://", "https://")):
        raise SettingsError(f"{PREFIX}{name.upper()} must begin with http:// or https://.")
    return text.rstrip("/")
