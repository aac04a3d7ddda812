"""How much the Open-Meteo hosts let one address ask: weights of calls, counted by minute, hour and day."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

SENTENCES = {
    "minutely": "Minutely API request limit exceeded. Please try again in one minute.",
    "hourly": "Hourly API request limit exceeded. Please try again in the next hour.",  # its end is from memory
    "daily": "Daily API request limit exceeded. Please try again tomorrow.",
    "concurrent": "Too many concurrent requests",
}
_SPAN_S = {"minutely": 60.0, "hourly": 3600.0, "daily": 86400.0}


def weight(variables: int, days: int) -> float:
    """What one location counts: 10 variables of 14 days are one call, and no call counts less."""
    return max(1.0, variables / 10, days / 14 * variables / 10)


@dataclass(slots=True)
class Allowance:
    """Counters of one client. `limits` may be lowered by a test; `spent` is what its requests have weighed."""

    limits: dict[str, float] = field(
        default_factory=lambda: {"minutely": 600.0, "hourly": 5000.0, "daily": 10000.0, "concurrent": 5.0}
    )
    clock: Callable[[], float] = time.monotonic
    spent: float = 0.0
    _used: dict[str, tuple[int, float]] = field(default_factory=dict)
    _running: int = 0
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def enter(self) -> str:
        """Begin a request; give the sentence of refusal, or "" if it may go on. Follow with `leave` in any case."""
        with self._lock:
            self._running += 1
            if self._running > self.limits["concurrent"]:
                return SENTENCES["concurrent"]
            full = [span for span in _SPAN_S if self._used_in(span) >= self.limits[span]]
        return SENTENCES[full[-1]] if full else ""

    def leave(self, cost: float) -> None:
        """End a request and count what it weighed; a failed one counts 1."""
        with self._lock:
            self._running -= 1
            self.spent += cost
            for span in _SPAN_S:
                self._used[span] = (self._period(span), self._used_in(span) + cost)

    def reset(self) -> None:
        """Forget what was used, as after a day; limits stay as they are set."""
        with self._lock:
            self._used.clear()
            self.spent = 0.0

    def _period(self, span: str) -> int:
        return int(self.clock() // _SPAN_S[span])

    def _used_in(self, span: str) -> float:
        period, used = self._used.get(span, (0, 0.0))
        return used if period == self._period(span) else 0.0
