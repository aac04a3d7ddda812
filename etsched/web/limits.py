"""How much one key may ask for: requests a minute, bytes a request."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from math import ceil
from threading import Lock

_MOST_KEYS = 10_000


@dataclass(frozen=True, slots=True)
class Limits:
    """What a deployment allows (common practice, no source)."""

    body_bytes: int = 1_048_576
    requests_a_minute: int = 600
    failed_tries_a_minute: int = 10
    cache_s: float = 1.0  # how long another instance's change may stay unseen
    cache_bytes: int = 64 * 1_048_576


class Rate:
    """Requests by holder: each has a minute's worth to spend, which fills again steadily."""

    def __init__(self, a_minute: int) -> None:
        self._most = float(a_minute)
        self._a_second = a_minute / 60.0
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()
        self._lock = Lock()

    def wait_s(self, holder: str, now_s: float) -> int:
        """Take one from what a holder has left; give the whole seconds to wait where nothing is left, else 0."""
        with self._lock:
            left, then_s = self._left.pop(holder, (self._most, now_s))
            left = min(self._most, left + max(0.0, now_s - then_s) * self._a_second)
            wait_s = 0 if left >= 1.0 else ceil((1.0 - left) / self._a_second)
            self._left[holder] = (left if wait_s else left - 1.0, now_s)
            if len(self._left) > _MOST_KEYS:
                self._left.popitem(last=False)
            return wait_s
