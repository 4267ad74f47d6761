"""Does the container run as nobody, on a read-only file system, from the hashed lock?"""

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import yaml

# Each line must be in the last stage of the Dockerfile, and why.
RUNS = {
    "USER 10001:10001": "runs as root",
    "VOLUME /data": "has no place to write to",
    "HEALTHCHECK": "cannot be asked whether it is well",
    "/health/ready": "is not asked whether it is ready",
}
NOT_RUNS = {
    "curl": "carries a tool that the service does not need",
    "apt-get": "carries packages that the service does not need",
    ":latest": "is built on something else every day",
}


def faults(root: Path) -> list[str]:
    """Every property that the Dockerfile or a compose file lacks."""
    said = [*_dockerfile(root / "docker" / "Dockerfile")]
    for path in sorted((root / "docker").glob("compose*.yaml")):
        said += _compose(path)
    return said


def _dockerfile(path: Path) -> Iterator[str]:
    lines = [
        line
        for line in path.read_text(encoding="utf-8").replace("\\\n", " ").splitlines()
        if line and not line.startswith("#")
    ]
    starts = [number for number, line in enumerate(lines) if line.startswith("FROM ")]
    last = "\n".join(lines[starts[-1] :])
    if len(starts) < 2:
        yield "Dockerfile: what builds is not apart from what runs"
    yield from (f"Dockerfile: {why}" for text, why in RUNS.items() if text not in last)
    yield from (f"Dockerfile: {why}" for text, why in NOT_RUNS.items() if text in "\n".join(lines))
    for line in lines:
        if re.search(r"\bpip\b.*\binstall\b", line) and not _sealed(line):
            yield f"Dockerfile: installs what no hash vouches for: {line}"
        if line.startswith(("CMD", "ENTRYPOINT")) and not _is_exec_form(line):
            yield f"Dockerfile: a shell stands before the service: {line}"


def _sealed(line: str) -> bool:
    return "--require-hashes" in line or ("--no-deps" in line and "--no-build-isolation" in line)


def _is_exec_form(line: str) -> bool:
    try:
        return isinstance(json.loads(line.partition(" ")[2]), list)
    except json.JSONDecodeError:
        return False


def _compose(path: Path) -> Iterator[str]:
    made: dict[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    yield from hardening(path.name, made["services"])
    database = made["services"].get("postgres")
    if database is None:
        return
    networks = made.get("networks", {})
    inside = [name for name in database.get("networks", []) if networks[name].get("internal")]
    if database.get("ports") or not inside or inside != database["networks"]:
        yield f"{path.name}: the database can be reached from outside, or reaches out"


def hardening(file: str, services: dict[str, dict[str, Any]]) -> Iterator[str]:
    """What the containers of ``file`` lack."""
    for name, service in services.items():
        wants = {
            "read_only": service.get("read_only") is True,
            "cap_drop": service.get("cap_drop") == ["ALL"],
            "security_opt": "no-new-privileges:true" in service.get("security_opt", []),
            "tmpfs": bool(service.get("tmpfs")),
            "pids_limit": bool(service.get("pids_limit")),
        }
        yield from (f"{file}: {name}: {key} is not set" for key, ok in wants.items() if not ok)
        for port in service.get("ports", []):
            if not str(port).startswith("127.0.0.1:"):
                yield f"{file}: {name}: {port} is open to every network"
