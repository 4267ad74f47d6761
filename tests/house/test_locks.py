"""Is a lock found that has fallen behind, lacks a hash, or names an index?"""

from tests.house.conftest import Grow
from tests.house.locks import faults, pins
from tests.house.tree import ROOT

HASH = f"    --hash=sha256:{'0' * 64}\n"
PROJECT = """
[project]
dependencies = ["alpha>=2"]
[project.optional-dependencies]
postgres = ["delta"]
[build-system]
requires = ["builder"]
[dependency-groups]
build = ["builder"]
dev = [{ include-group = "build" }, "gamma; sys_platform == 'win32'"]
"""


def lock(*names: str) -> str:
    return "--only-binary :all:\n\n" + "".join(f"{name} \\\n{HASH}" for name in names)


DEV = lock("alpha==2.1", "builder==1", "delta==3", "gamma==1")


def tree(grow: Grow, run: str, dev: str, second: str | None = None) -> list[str]:
    """Faults of locks that are in step but for what is given."""
    return faults(
        grow(
            {
                "pyproject.toml": PROJECT,
                "requirements.txt": run,
                "requirements-postgres.txt": second or lock("alpha==2.1", "builder==1", "delta==3"),
                "requirements-dev.txt": dev,
                "requirements-fhir.txt": lock("data==1"),
            }
        )
    )


def test_the_locks_are_in_step() -> None:
    assert faults(ROOT) == []
    assert len(pins(ROOT / "requirements-dev.txt")) > len(pins(ROOT / "requirements.txt")) > 15


def test_locks_in_step_have_no_fault(grow: Grow) -> None:
    assert tree(grow, lock("alpha==2.1", "builder==1"), DEV) == []


def test_locks_that_fell_behind_or_apart_are_found(grow: Grow) -> None:
    assert tree(grow, lock("alpha==1.9", "builder==1"), DEV.replace("gamma", "other")) == [
        "requirements.txt: alpha>=2 is asked for, 1.9 is locked",
        "requirements-dev.txt: gamma; sys_platform == 'win32' is asked for, None is locked",
        "requirements.txt: alpha==1.9 is run, 2.1 is tested",
    ]


def test_a_missing_hash_an_index_and_source_builds_are_found(grow: Grow) -> None:
    run = f"--extra-index-url https://index.example\nalpha==2.1\nbuilder==1 \\\n{HASH}"
    assert tree(grow, run, DEV) == [
        "requirements.txt: a source package could be built by an unhashed backend",
        "requirements.txt:1: is neither a pin nor a hash",
        "requirements.txt:2: no hash",
    ]


def test_the_second_store_is_pinned_with_its_driver_as_it_is_tested(grow: Grow) -> None:
    run = lock("alpha==2.1", "builder==1")
    assert tree(grow, run, DEV, run) == [
        "requirements-postgres.txt: delta is asked for, None is locked"
    ]
    assert tree(grow, run, DEV, lock("alpha==2.1", "builder==1", "delta==4")) == [
        "requirements-postgres.txt: delta==4 is run, 3 is tested"
    ]
