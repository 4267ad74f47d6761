"""Do the clients of Node come to a machine that has only Python, and stay out of the checkout?"""

import json
import subprocess
from pathlib import Path

import pytest

from tests.clients.node_install import LOCKED, Node, _new_enough, install, node, wheel


def versions(place: Path) -> dict[str, str]:
    read = (
        place / "node_modules" / name / "package.json" for name in ("fhir-kit-client", "fhirclient")
    )
    return {one["name"]: one["version"] for one in (json.loads(path.read_bytes()) for path in read)}


def test_the_locked_versions_are_installed_and_the_checkout_stays_as_it_was(
    installed: Path,
) -> None:
    asked = json.loads((LOCKED / "package.json").read_bytes())["dependencies"]

    assert versions(installed) == asked
    assert not (LOCKED / "node_modules").exists()
    assert LOCKED not in installed.parents


def test_the_wheel_brings_a_node_and_an_npm_that_install_them_too(tmp_path: Path) -> None:
    place = install(tmp_path, wheel())

    said = subprocess.run(
        [str(wheel().program), "--input-type=module", "-e",
         "import { Client } from 'fhir-kit-client'; console.log(typeof Client)"],
        cwd=place, env=wheel().environment(), capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert said.stdout == "function\n"


def test_a_package_that_is_not_the_locked_one_is_not_installed(tmp_path: Path) -> None:
    of = node()
    place = tmp_path / "broken"
    place.mkdir()
    lock = json.loads((LOCKED / "package-lock.json").read_bytes())
    lock["packages"]["node_modules/ms"]["integrity"] = "sha512-" + "A" * 86 + "=="
    broken = tmp_path / "node-locked"
    broken.mkdir()
    for name in ("package.json", ".npmrc"):
        (broken / name).write_bytes((LOCKED / name).read_bytes())
    (broken / "package-lock.json").write_text(json.dumps(lock), encoding="utf-8")

    with pytest.raises(AssertionError, match="npm ci failed"):
        install(place, of, broken)


def test_a_node_of_the_machine_is_taken_only_with_its_npm_and_only_if_new(tmp_path: Path) -> None:
    def made(folder: str, version: str, *names: str) -> dict[str, str]:
        place = tmp_path / folder
        place.mkdir()
        for name in names:
            (place / name).write_text(f"#!/bin/sh\necho {version}\n", encoding="utf-8")
            (place / name).chmod(0o755)
        return {"PATH": str(place)}

    good = made("good", "v22.1.0", "node", "npm")
    expected = Node(tmp_path / "good" / "node", (str(tmp_path / "good" / "npm"),))
    assert list(_new_enough(good)) == [expected]
    assert list(_new_enough(made("old", "v18.20.0", "node", "npm"))) == []
    assert list(_new_enough(made("alone", "v22.1.0", "node"))) == []
    assert list(_new_enough(made("none", ""))) == []
    assert list(_new_enough({})) == []
