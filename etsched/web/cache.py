"""What is remembered for a moment: whole answers for the two addresses that are asked most, and who holds a key.

What is remembered is good until this process writes anything, and for a second at most: what another instance changes,
a key that is revoked or runs out among it, is seen within that second.
"""

from __future__ import annotations

import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from threading import Lock
from typing import ClassVar, Generic, Self, TypeVar

N = TypeVar("N", bound=Hashable)
V = TypeVar("V")
_KEPT = (b"/tonight", b"/week")


@dataclass(frozen=True, slots=True)
class Moment:
    """When something was begun to be read: after how many transactions of this process, and at what second."""

    clock_s: ClassVar[Callable[[], float]] = time.monotonic
    commits: int
    now_s: float

    @classmethod
    def after(cls, commits: int) -> Self:
        """Give this moment."""
        return cls(commits, cls.clock_s())


@dataclass(frozen=True, slots=True)
class _Kept(Generic[V]):
    value: V
    size: int
    since: Moment


class Remembered(Generic[N, V]):
    """Values by name, within a size in all; the one that was remembered longest ago goes first."""

    def __init__(self, most: int, good_s: float) -> None:
        self._most, self._good_s = most, good_s
        self._kept: OrderedDict[N, _Kept[V]] = OrderedDict()
        self._size = 0
        self._lock = Lock()

    def get(self, name: N, now: Moment) -> V | None:
        """Give a value that is still good."""
        kept = self._kept.get(name)
        if kept is None or kept.since.commits != now.commits or now.now_s >= kept.since.now_s + self._good_s:
            return None
        return kept.value

    def put(self, name: N, value: V, since: Moment, size: int = 1) -> None:
        """Remember a value."""
        with self._lock:
            self._drop(name)
            self._kept[name] = _Kept(value, size, since)
            self._size += size
            while self._size > self._most:
                self._drop(next(iter(self._kept)))

    def _drop(self, name: N) -> None:
        gone = self._kept.pop(name, None)
        self._size -= gone.size if gone is not None else 0


def may_keep(method: str, path: bytes, authorization: bytes) -> bool:
    """Say whether an answer to such a request is remembered at all."""
    return method == "GET" and bool(authorization) and path.startswith(b"/v1/sites/") and path.endswith(_KEPT)
