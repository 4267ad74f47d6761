"""Where does each setting come from: the environment, a secret's file, the settings file, or none?

    STANCHION_PORT=8741             the environment wins
    STANCHION_METRICS_TOKEN_FILE    a file that holds the secret, so that no environment shows it
    port = 8741                     the settings file, TOML, one key a setting

A name that is not known is refused wherever it stands.
"""

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Annotated, Any, TypeVar, get_args, get_origin, get_type_hints

import msgspec
from msgspec import Meta, Struct

PREFIX = "STANCHION_"
CONFIG = "CONFIG"
FILE = "_FILE"
DEFAULT = "default"
LONGEST_SECRET = 64 * 1024

T = TypeVar("T", bound=Struct)


class SettingsError(Exception):
    """A setting that cannot be used; the text says which and what it may be."""


class Known(Struct, frozen=True):
    """What can be said of a setting: its type, what it is for, and whether it is a secret."""

    kind: Any
    text: str
    secret: bool


class Gathered(Struct, frozen=True):
    """Raw values by name, and in words where each was found."""

    values: dict[str, Any]
    sources: dict[str, str]


@cache
def known(kind: type[Struct]) -> dict[str, Known]:
    """Every setting of ``kind``, in order."""
    hints = get_type_hints(kind, include_extras=True)
    return {name: _known(hints[name]) for name in kind.__struct_fields__}


def _known(hint: Any) -> Known:
    notes = [note for note in get_args(hint)[1:] if isinstance(note, Meta)]
    if get_origin(hint) is not Annotated:
        notes = []
    text = next((note.description for note in notes if note.description), "")
    return Known(hint, text, any((note.extra or {}).get("secret") for note in notes))


def gather(kind: type[Struct], environment: Mapping[str, str], file: Path | None) -> Gathered:
    """Everything that was set. Raises SettingsError for a name that is not known."""
    found = Gathered({}, {})
    if file is not None:
        _from_file(kind, file, found)
    for name in sorted(environment):
        text = environment[name]
        if not name.startswith(PREFIX) or not text or name == PREFIX + CONFIG:
            continue
        _from_variable(kind, name, text, found)
    return found


def config_of(environment: Mapping[str, str]) -> Path | None:
    """The settings file that the environment names."""
    named = environment.get(PREFIX + CONFIG)
    return Path(named) if named else None


def _from_variable(kind: type[Struct], name: str, text: str, found: Gathered) -> None:
    field = name.removeprefix(PREFIX).lower()
    if field in known(kind):
        found.values[field], found.sources[field] = text, name
        return
    behind = field.removesuffix(FILE.lower())
    if behind != field and behind in known(kind) and known(kind)[behind].secret:
        if PREFIX + behind.upper() in found.sources.values():
            raise SettingsError(f"Set {PREFIX}{behind.upper()} or {name}, not both.")
        found.values[behind] = _secret_in(Path(text), name)
        found.sources[behind] = f"{name} {text}"
        return
    raise SettingsError(f"Unknown setting: {name}.")


def _secret_in(path: Path, name: str) -> str:
    try:
        with path.open(encoding="utf-8") as held:
            text = held.read(LONGEST_SECRET).rstrip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{name}: {path} cannot be read: {type(error).__name__}.") from None
    if not text:
        raise SettingsError(f"{name}: {path} is empty.")
    return text


def _from_file(kind: type[Struct], path: Path, found: Gathered) -> None:
    try:
        told = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"{path} cannot be read: {type(error).__name__}.") from None
    except tomllib.TOMLDecodeError as error:
        place = str(error).rpartition("(")[2].rstrip(")")
        raise SettingsError(f"{path} is not TOML: {place}.") from None
    for field, value in told.items():
        behind = field.removesuffix(FILE.lower())
        if field in known(kind):
            found.values[field], found.sources[field] = value, str(path)
        elif behind != field and behind in known(kind) and known(kind)[behind].secret:
            found.values[behind] = _secret_in(Path(str(value)), field)
            found.sources[behind] = f"{path} {field}"
        else:
            raise SettingsError(f"{path}: unknown setting: {field}.")


def settled(kind: type[T], found: Gathered) -> T:
    """The values as what they are meant to be. Raises SettingsError with the name at fault."""
    given = {
        field: _value(known(kind)[field].kind, value, found.sources[field], field)
        for field, value in found.values.items()
    }
    return kind(**given)


def _value(kind: Any, value: Any, source: str, field: str) -> Any:
    named = source.split(" ", maxsplit=1)[0] if source.startswith(PREFIX) else f"{source}: {field}"
    if isinstance(value, str) and _is_list(kind):
        value = [part.strip() for part in value.split(",") if part.strip()]
    try:
        return msgspec.convert(value, kind, strict=not source.startswith(PREFIX), dec_hook=_path)
    except msgspec.ValidationError as error:
        raise SettingsError(f"{named}: {error}.") from None


def _is_list(kind: Any) -> bool:
    plain = get_args(kind)[0] if get_origin(kind) is Annotated else kind
    return get_origin(plain) is tuple


def _path(kind: type[Any], value: Any) -> Any:
    if kind is Path and isinstance(value, str):
        return Path(value)
    raise ValueError("Expected a path")
