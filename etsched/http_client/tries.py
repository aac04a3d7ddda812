"""How often and how long one `get` goes on: its tries, its deadline, and urllib3's retries bound to both."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from urllib3.exceptions import InvalidHeader
from urllib3.util import Retry

from etsched.errors import FeedFailed
from etsched.http_client.reasons import reason_of, status_text

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Self

    from urllib3 import BaseHTTPResponse

    from etsched.http_client.hosts import Host
    from etsched.http_client.records import ClientLimits

# 408 Request Timeout, 425 Too Early, 429 Too Many Requests, and the server faults that pass: RFC 9110, 8470, 6585.
PASSING = frozenset({408, 425, 429, 500, 502, 503, 504})


class TimeUp(FeedFailed):
    """What is left of the deadline is too short for anything more."""


class Tries:
    """What one `get` has spent and may still spend."""

    def __init__(
        self, limits: ClientLimits, host: Host, clock: Callable[[], float], sleep: Callable[[float], None]
    ) -> None:
        self.limits, self.host = limits, host
        self.made = 0
        self.failure = ""  # why the last try came to nothing
        self._clock, self._sleep = clock, sleep
        self._deadline = clock() + limits.deadline_s

    @property
    def left(self) -> int:
        """How many more requests may be made."""
        return self.limits.tries - self.made

    def left_s(self) -> float:
        """Give the seconds until the deadline; raises TimeUp when there are none."""
        left = self._deadline - self._clock()
        if left <= 0.0:
            raise self.time_up()
        return left

    def time_up(self) -> TimeUp:
        """Give the error that says that the deadline has passed."""
        return TimeUp(f"{self._before()}no whole answer came within {self.limits.deadline_s:g} s")

    def begin(self) -> None:
        """Wait for the next try's turn and count it; raises TimeUp when that would come too late."""
        backoff = self.limits.backoff_s * 2.0 ** (self.made - 1) if self.made else 0.0
        left = self.left_s()
        wait = self.host.turn_s(backoff, left)
        if wait >= left:
            raise TimeUp(f"{self._before()}it may be asked again in {wait:.0f} s, with {left:.0f} s left to wait")
        if wait > 0.0:
            self._sleep(wait)
        self.made += 1

    def _before(self) -> str:
        return f"{self.failure}; " if self.failure else ""


class BoundRetry(Retry):
    """urllib3's Retry, counting and waiting by a `Tries`; failed connections and passing statuses are tried again."""

    def __init__(self, *, tries: Tries, **settings: Any) -> None:  # noqa: ANN401 - urllib3's own settings, passed on
        super().__init__(**settings)
        self.tries = tries

    @classmethod
    def of(cls, tries: Tries) -> Self:
        """Give the retries that a request may still have."""
        settings = {"redirect": False, "status_forcelist": PASSING, "raise_on_status": False}
        return cls(tries=tries, total=tries.left, **settings)

    def new(self, **changed: Any) -> Self:  # noqa: ANN401 - as urllib3 has it
        """Give the retries after one more failure."""
        return super().new(tries=self.tries, **changed)

    def increment(
        self,
        method: str | None = None,
        url: str | None = None,
        response: BaseHTTPResponse | None = None,
        error: Exception | None = None,
        *rest: Any,  # noqa: ANN401
        **more: Any,  # noqa: ANN401
    ) -> Self:
        """Count a failure; raises what urllib3 raises when it was the last."""
        if response is not None:
            self.tries.failure = f"it answers {status_text(response.status, response.reason)}"
            self.tries.host.rest(self.pause_asked_s(response))
        elif error is not None:
            self.tries.failure = f"it {reason_of(error)}"
        following = super().increment(method, url, response, error, *rest, **more)
        if response is not None:
            # urllib3 is about to read the rest of the answer, which may have no end.
            response.close()
        return following

    def pause_asked_s(self, response: BaseHTTPResponse) -> float:
        """Give the pause that a Retry-After asks for; 0 where there is none, or nothing that means one."""
        try:
            return self.get_retry_after(response) or 0.0
        except InvalidHeader:
            return 0.0

    def sleep(self, response: BaseHTTPResponse | None = None) -> None:
        """Wait for the next try."""
        self.tries.begin()
