"""Which server do the clients of others get, and how do they come to this machine?"""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.clients.driver import Driver, Place
from tests.clients.fhirpy_async import FhirpyAsync
from tests.clients.fhirpy_sync import FhirpySync
from tests.clients.node_driver import NodeDriver
from tests.clients.node_install import install, node
from tests.clients.smart_python import SmartPython
from tests.clients.ward import Ward, fill
from tests.system.server import serving

IN_PYTHON: dict[str, Callable[[Place], Driver]] = {
    "fhirclient of Python": SmartPython,
    "fhirpy": FhirpySync,
    "fhirpy async": FhirpyAsync,
}
IN_NODE = {"fhir-kit-client": "kit.mjs", "fhirclient of Node": "smart.mjs"}


@pytest.fixture(scope="session")
def ward(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Ward]:
    with serving(tmp_path_factory.mktemp("clients") / "clients.db") as server:
        yield fill(server)


@pytest.fixture(scope="session")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy outside the checkout with the locked clients of Node in it."""
    return install(tmp_path_factory.mktemp("node"), node())


@pytest.fixture(scope="session", params=[*IN_PYTHON, *IN_NODE])
def driver(request: pytest.FixtureRequest, ward: Ward) -> Iterator[Driver]:
    """Each client in turn."""
    name = request.param
    if name in IN_PYTHON:
        one = IN_PYTHON[name](ward.place)
    else:
        one = NodeDriver(ward.place, request.getfixturevalue("installed"), node(), IN_NODE[name])
    yield one
    one.close()
