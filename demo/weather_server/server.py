"""One loopback server that plays every provider, each under a prefix of its own, and can be made to fail on request."""

from __future__ import annotations

import threading
from collections import Counter, deque
from datetime import date
from types import TracebackType
from typing import Self

from . import faults
from .exchange import Reply, Seen, World, json_reply
from .feeds import NAMES
from .limits import Allowance
from .wire import LOOPBACK, Listener

_MOST_LOGGED = 100_000


class WeatherServer:
    """A server, running inside `with`. A feed's name is the prefix of its paths, such as `power`.

    `requests` holds what was asked, oldest first; `allowance` what the Open-Meteo hosts let their askers have. A
    fault set for a feed lasts until `clear`, or as many requests as its name says.
    """

    def __init__(self, today: date, *, seed: int = 1, port: int = 0) -> None:
        self.allowance = Allowance()
        self.stopping = threading.Event()
        self._today, self._seed = today, seed
        self._faults: dict[str, tuple[str, int | None]] = {}
        self._seen: deque[Seen] = deque(maxlen=_MOST_LOGGED)
        self._lock = threading.Lock()
        self._listener = Listener(port, self)
        self.base_url = f"http://{LOOPBACK}:{self._listener.server_address[1]}"
        self._thread = threading.Thread(target=self._listener.serve_forever, args=(0.02,), daemon=True)

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        """End at once: wake what hangs, cut every connection, and wait for the threads a moment."""
        self.stopping.set()
        self._listener.shutdown()
        self._listener.end_connections()
        self._listener.server_close()
        self._thread.join()

    @property
    def requests(self) -> list[Seen]:
        with self._lock:
            return list(self._seen)

    def counts(self) -> dict[str, int]:
        """Count requests by feed since the start or the last `forget`."""
        return dict(Counter(seen.feed for seen in self.requests))

    def forget(self) -> None:
        """Empty the log and what was used of the limits."""
        with self._lock:
            self._seen.clear()
        self.allowance.reset()

    def set_today(self, today: date) -> None:
        """Move the day: forecasts are issued anew, and past days become known."""
        self._today = today

    def set_fault(self, feed: str, fault: str) -> None:
        """Give a feed a fault in place of the one it had; ValueError where it cannot have it."""
        if feed not in NAMES or fault not in faults.faults_of(feed):
            raise ValueError(f"the feed {feed!r} cannot have the fault {fault!r}")
        with self._lock:
            self._faults[feed] = (fault, faults.times_of(fault))

    def clear(self) -> None:
        """Make every feed well again."""
        with self._lock:
            self._faults.clear()

    def fault_for(self, feed: str) -> str:
        """Give the fault of a feed, if any, and count down one that does not last."""
        with self._lock:
            fault, left = self._faults.get(feed, ("", None))
            if left == 1:
                del self._faults[feed]
            elif left is not None:
                self._faults[feed] = (fault, left - 1)
            return fault

    def world(self, fault: str) -> World:
        """Give the world as a feed with this fault sees it."""
        in_data = fault if fault and faults.is_in_data(fault) else ""
        return World(self._seed, self._today, self.base_url, self.allowance, in_data)

    def note(self, seen: Seen) -> None:
        """Keep a request in the log."""
        with self._lock:
            self._seen.append(seen)

    def manage(self, path: str) -> Reply:
        """Do what a path outside the feeds asks for, as where the server is another process.

        `/admin/counts`, `/admin/clear`, `/admin/today/2026-07-14`, `/admin/fault/power/hang`.
        """
        try:
            match path.strip("/").split("/"):
                case ["admin", "counts"]:
                    return json_reply(self.counts())
                case ["admin", "clear"]:
                    self.clear()
                case ["admin", "today", day]:
                    self.set_today(date.fromisoformat(day))
                case ["admin", "fault", feed, fault]:
                    self.set_fault(feed, fault)
                case _:
                    return json_reply({"error": f"nothing stands at {path}"}, 404)
        except ValueError as error:
            return json_reply({"error": str(error)}, 400)
        return json_reply({"done": path})


def start_weather_server(today: date, *, seed: int = 1, port: int = 0) -> WeatherServer:
    """Make a server for a `with` block; it listens on a free port of loopback unless one is named."""
    return WeatherServer(today, seed=seed, port=port)
