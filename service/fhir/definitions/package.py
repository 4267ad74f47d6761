"""How are the definitions packed so that the validators of others can load them?

A FHIR package: a gzipped tar with ``package/package.json``, an index, a file a definition,
examples, and the notices of whose codes are in them. The same content gives the same bytes.
"""

import gzip
import io
import tarfile
from collections.abc import Mapping, Sequence
from typing import Any

import msgspec

from service.fhir.base_facts import FHIR_VERSION
from service.fhir.definitions.everything import all_definitions
from service.fhir.definitions.guide import ABOUT, LICENSE, PACKAGE, guide
from service.fhir.definitions.heads import PUBLISHER
from service.fhir.encode import bytes_of
from service.fhir.notices import notice_of
from service.fhir.site import Site
from service.fhir.structs import Resource

CORE = "hl7.fhir.r4.core"
_ROOT = "package"
_EXAMPLES = f"{_ROOT}/example"
_NOTICE = f"{_ROOT}/other/NOTICE.txt"
_INDEXED = ("url", "version", "kind", "type")


def package_of(site: Site, examples: Mapping[str, Resource]) -> bytes:
    """The ``.tgz``. ``examples``: by the name of the profile that each keeps."""
    files = files_of(site, examples)
    held = io.BytesIO()
    with tarfile.open(fileobj=held, mode="w", format=tarfile.USTAR_FORMAT) as archive:
        for name, body in sorted(files.items()):
            told = tarfile.TarInfo(name)
            told.size = len(body)
            archive.addfile(told, io.BytesIO(body))
    return gzip.compress(held.getvalue(), mtime=0)


def files_of(site: Site, examples: Mapping[str, Resource]) -> dict[str, bytes]:
    """Everything in the package by its path."""
    definitions = all_definitions(site)
    ordered = dict(sorted(examples.items()))
    definitions = (*definitions, guide(site, definitions, ordered))
    told = [(f"{_ROOT}/{_file(one)}", one) for one in definitions]
    shown = [(f"{_EXAMPLES}/{_file(one)}", one) for one in ordered.values()]
    notice = notice_of(*site.standard)
    return {
        **({} if notice is None else {_NOTICE: f"{notice}\n".encode()}),
        f"{_ROOT}/package.json": _json(_manifest(site)),
        f"{_ROOT}/.index.json": _json(_index(_ROOT, told)),
        f"{_EXAMPLES}/.index.json": _json(_index(_EXAMPLES, shown)),
        **{path: _pretty(bytes_of(one)) for path, one in (*told, *shown)},
    }


def file_name(site: Site) -> str:
    return f"{PACKAGE}-{site.book.ref.version}.tgz"


def _file(one: Resource) -> str:
    return f"{type(one).__name__}-{one.id}.json"


def _manifest(site: Site) -> dict[str, Any]:
    return {
        "name": PACKAGE,
        "version": site.book.ref.version,
        "tools-version": 3,
        "type": "IG",
        "canonical": site.canonical,
        "url": site.canonical,
        "title": "Stanchion",
        "description": ABOUT,
        "fhirVersions": [FHIR_VERSION],
        "dependencies": {CORE: FHIR_VERSION},
        "author": PUBLISHER,
        "license": LICENSE,
    }


def _index(folder: str, files: Sequence[tuple[str, Resource]]) -> dict[str, Any]:
    return {
        "index-version": 1,
        "files": [
            {
                "filename": path.removeprefix(f"{folder}/"),
                "resourceType": type(one).__name__,
                "id": one.id,
                **_indexed(one),
            }
            for path, one in sorted(files, key=lambda each: each[0])
        ],
    }


def _indexed(one: Resource) -> dict[str, Any]:
    told = {name: getattr(one, name, None) for name in _INDEXED}
    return {name: value for name, value in told.items() if isinstance(value, str)}


def _json(value: Any) -> bytes:
    return _pretty(msgspec.json.encode(value))


def _pretty(body: bytes) -> bytes:
    return msgspec.json.format(body, indent=2) + b"\n"
