"""What must hold for the service to be well, asked one by one?"""

import asyncio
import shutil
from collections.abc import Awaitable, Callable
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from msgspec import Struct

from service.domain.problem import Problem

MIB = 1024 * 1024


class Standing(StrEnum):
    """ok; warn: somebody should look, the service serves; fail: do not send it anything."""

    OK = "ok"
    WARN = "warn"
    FAIL = "fail"


WORTH = {Standing.OK: 1.0, Standing.WARN: 0.5, Standing.FAIL: 0.0}


class Finding(Struct, frozen=True, omit_defaults=True):
    """How one check went. ``text``: what is wrong, and what to do."""

    status: Standing
    text: str = ""


OK = Finding(Standing.OK)
Ask = Callable[[], Awaitable[Finding]]


class Check(Struct, frozen=True):
    """``ask`` never raises. ``at_start``: must hold before the service counts as started."""

    name: str
    ask: Ask
    at_start: bool = False


def raising(name: str, attempt: Callable[[], Awaitable[None]]) -> Check:
    """Good unless ``attempt`` raises a Problem, whose text is told."""

    async def ask() -> Finding:
        try:
            await attempt()
        except Problem as problem:
            return Finding(Standing.FAIL, problem.detail)
        return OK

    return Check(name, ask)


def stated(name: str, good: Callable[[], bool], otherwise: str) -> Check:
    """Good while ``good``, which may wait for an answer and not get it; asked at the start too."""

    async def ask() -> Finding:
        try:
            holds = await asyncio.to_thread(good)
        except Exception as error:  # noqa: BLE001 - whatever it is, it is not well
            return Finding(Standing.FAIL, f"It cannot be asked now ({type(error).__name__}).")
        return OK if holds else Finding(Standing.FAIL, otherwise)

    return Check(name, ask, at_start=True)


def disk(path: Path, low_mib: int, least_mib: int, tell: Callable[[int], None]) -> Check:
    """How much is free where the record is; ``tell`` hears it, bytes."""

    folder = path.resolve().parent

    async def ask() -> Finding:
        free = shutil.disk_usage(folder).free
        tell(free)
        if free < least_mib * MIB:
            return Finding(Standing.FAIL, f"Less than {least_mib} MiB are free for the record.")
        if free < low_mib * MIB:
            return Finding(Standing.WARN, f"Less than {low_mib} MiB are free for the record.")
        return OK

    return Check("disk", ask)


Waiting = Callable[[], Awaitable[tuple[int, datetime | None]]]
"""Gives how many entries of the outbox are undelivered, and when the oldest was made."""


def outbox(
    waiting: Waiting,
    now: Callable[[], datetime],
    old_seconds: int,
    tell: Callable[[int, float], None],
) -> Check:
    """A partner that takes nothing is no reason to send this service nothing: it warns."""

    async def ask() -> Finding:
        try:
            depth, oldest = await waiting()
        except Problem as problem:
            return Finding(Standing.FAIL, problem.detail)
        age = max(0.0, (now() - oldest).total_seconds()) if oldest is not None else 0.0
        tell(depth, age)
        if age > old_seconds:
            return Finding(Standing.WARN, f"{depth} entries wait, the oldest for {age:.0f} s.")
        return OK

    return Check("outbox", ask)
