"""Is a lock of Node packages found that has fallen behind, lacks a hash, or names an address?"""

import json
from typing import Any

from tests.house.conftest import Grow
from tests.house.npm_locks import faults
from tests.house.tree import ROOT

HASH = f"sha512-{'A' * 86}=="
SETTINGS = "ignore-scripts=true\nomit-lockfile-registry-resolved=true\n"


def tree(grow: Grow, asked: dict[str, str], settings: str = SETTINGS, **packages: Any) -> list[str]:
    locked = {f"node_modules/{name}": package for name, package in packages.items()}
    return faults(
        grow(
            {
                "a/package.json": json.dumps({"dependencies": asked}),
                "a/package-lock.json": json.dumps({"packages": {"": {}, **locked}}),
                "a/.npmrc": settings,
            }
        )
    )


def test_the_lock_is_in_step() -> None:
    assert faults(ROOT) == []
    assert (ROOT / "tests" / "clients" / "node" / "package-lock.json").is_file()


def test_a_lock_in_step_has_no_fault(grow: Grow) -> None:
    alpha = {"version": "2.1.0", "integrity": HASH}
    assert tree(grow, {"alpha": "2.1.0"}, alpha=alpha) == []


def test_a_lock_that_fell_behind_is_found(grow: Grow) -> None:
    alpha = {"version": "1.9.0", "integrity": HASH}
    assert tree(grow, {"alpha": "2.1.0", "beta": "^1.0.0"}, alpha=alpha) == [
        "a/package-lock.json: alpha 2.1.0 is asked for, 1.9.0 is locked",
        "a/package-lock.json: beta ^1.0.0 is not one version",
        "a/package-lock.json: beta ^1.0.0 is asked for, None is locked",
    ]


def test_a_missing_hash_an_address_and_a_missing_setting_are_found(grow: Grow) -> None:
    alpha = {"version": "2.1.0", "resolved": "https://packages.example/alpha.tgz"}
    assert tree(grow, {"alpha": "2.1.0"}, "ignore-scripts=true\n", alpha=alpha) == [
        "a/.npmrc: omit-lockfile-registry-resolved=true is missing",
        "a/package-lock.json: node_modules/alpha: comes from an address",
        "a/package-lock.json: node_modules/alpha: no hash",
    ]


def test_a_package_json_without_a_lock_is_found(grow: Grow) -> None:
    assert faults(grow({"a/package.json": "{}"})) == [
        "a/package.json: no package-lock.json beside it"
    ]
