"""Work that takes a whole core for seconds: one at a time in this process, and nobody waits for long."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from threading import BoundedSemaphore, Lock

from etsched.web.problems import UNAVAILABLE, Refused


class Turns:
    """Whoever does the work has the turn; so many wait for so long, since each of them holds a thread of the pages."""

    def __init__(self, busy: str, wait_s: float, most_waiting: int) -> None:
        self._busy, self._wait_s = busy, wait_s
        self._turn, self._places = Lock(), BoundedSemaphore(most_waiting + 1)

    @contextmanager
    def taken(self) -> Iterator[None]:
        """Have the turn. Raises Refused where it does not come in time, or too many wait already."""
        if not self._places.acquire(blocking=False):
            raise self._refused()
        try:
            if not self._turn.acquire(timeout=self._wait_s):
                raise self._refused()
            try:
                yield
            finally:
                self._turn.release()
        finally:
            self._places.release()

    def _refused(self) -> Refused:
        again_s = max(1, round(self._wait_s))
        return Refused(UNAVAILABLE, f"{self._busy}; try again in {again_s} s.", headers={"retry-after": str(again_s)})
