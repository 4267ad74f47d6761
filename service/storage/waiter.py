"""Who waits for a write, and how do they hear what became of it?"""

import asyncio
from collections.abc import Callable
from typing import Any

from service.storage.batch import Batch

Finish = Callable[[], Any]
Decide = Callable[[Batch], Finish]
"""Works on the batch; what it gives is called after the commit and makes the answer."""


class Waiting:
    """A caller's write, of which organisation it is, and where the outcome goes."""

    def __init__(self, decide: Decide, org: str | None, outcome: "asyncio.Future[Any]") -> None:
        self.decide = decide
        self.org = org
        self.outcome = outcome

    def fail(self, error: BaseException) -> None:
        if not self.outcome.done():
            self.outcome.set_exception(error)

    def finish(self, finish: Finish) -> None:
        if self.outcome.done():
            return  # the caller went away; the write stands
        try:
            self.outcome.set_result(finish())
        except Exception as error:  # noqa: BLE001 - whatever it is belongs to the caller
            self.outcome.set_exception(error)
