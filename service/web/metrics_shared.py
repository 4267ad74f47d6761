"""How are the numbers of several processes one, though one of them is killed?

Each process counts in files of its own, in a folder that they share; who is asked adds them up.
A process that takes the place of one that ended goes on counting where that one stopped. These
are the files of the library's own way for several processes, which it finds by an environment
variable only.
"""

from pathlib import Path
from threading import Lock
from typing import Any

from prometheus_client import CollectorRegistry, generate_latest, values
from prometheus_client.mmap_dict import MmapedDict, mmap_key
from prometheus_client.multiprocess import MultiProcessCollector


def share(folder: Path, place: int) -> None:
    """From now on this process counts in ``folder``, in the files of its ``place`` among the
    others, in which nobody else counts at the same time."""
    values.ValueClass = type("Kept", (_Kept,), {"files": _Files(folder, place)})


def whole(folder: Path) -> bytes:
    """The numbers of all, in the text form that Prometheus reads."""
    registry = CollectorRegistry()
    MultiProcessCollector(registry, str(folder))  # type: ignore[no-untyped-call]
    return generate_latest(registry)


class _Files:
    """Those of one process, by the kind of number and by how those of several are told as one."""

    def __init__(self, folder: Path, place: int) -> None:
        self.lock = Lock()
        self._folder = folder
        self._place = place
        self._files: dict[str, Any] = {}

    def file_of(self, kind: str, mode: str) -> Any:
        name = f"gauge_{mode}" if kind == "gauge" else kind
        if name not in self._files:
            path = str(self._folder / f"{name}_{self._place}.db")
            self._files[name] = MmapedDict(path)  # type: ignore[no-untyped-call]
        return self._files[name]


class _Kept:
    """One number, as the library's metrics want it."""

    _multiprocess = True
    files: _Files

    def __init__(self, kind: str, *named: Any, multiprocess_mode: str = "", **_unused: Any) -> None:
        self._key = mmap_key(*named)
        with self.files.lock:
            self._file = self.files.file_of(kind, multiprocess_mode)
            self._value, self._at = self._file.read_value(self._key)

    def inc(self, amount: float) -> None:
        with self.files.lock:
            self._value += amount
            self._file.write_value(self._key, self._value, self._at)

    def set(self, value: float, timestamp: float | None = None) -> None:
        with self.files.lock:
            self._value, self._at = value, timestamp or 0.0
            self._file.write_value(self._key, self._value, self._at)

    def get(self) -> float:
        return float(self._value)

    def set_exemplar(self, _exemplar: Any) -> None:
        """None are sent."""

    def get_exemplar(self) -> None:
        return None
