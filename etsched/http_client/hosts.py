"""A host and how it is spared: few requests at a time, a pause between them, and the pause it asks for."""

from __future__ import annotations

from contextlib import contextmanager
from http.cookiejar import DefaultCookiePolicy
from ipaddress import ip_address
from queue import Empty, LifoQueue
from threading import Lock
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import requests
from requests.adapters import HTTPAdapter

from etsched.errors import FeedRefused

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from etsched.http_client.records import ClientLimits


def origin_of(url: str) -> tuple[str, str, int]:
    """Give scheme, host and port of an address.

    Raises
    ------
    FeedRefused
        Where it is none, or would go out unencrypted.
    """
    try:
        parts = urlsplit(url)
        host, port = (parts.hostname or "").lower(), parts.port
    except ValueError:
        raise FeedRefused("the address is not one") from None
    if not host or parts.scheme not in {"http", "https"}:
        raise FeedRefused("the address must begin with https:// and name a host")
    if parts.scheme == "http" and not is_loopback(host):
        raise FeedRefused("the address must begin with https://, as http:// is for this machine alone")
    return parts.scheme, host, port or {"http": 80, "https": 443}[parts.scheme]


def is_loopback(host: str) -> bool:
    """Say whether a host is this machine itself."""
    try:
        return host == "localhost" or ip_address(host).is_loopback
    except ValueError:
        return False


class Host:
    """One host: its sessions, of which each does one request at a time, and when the next may start."""

    def __init__(self, name: str, limits: ClientLimits, clock: Callable[[], float]) -> None:
        self.name = name
        self._limits, self._clock = limits, clock
        self._next_start = float("-inf")
        self._lock = Lock()
        self._sessions = [_session(name) for _ in range(limits.at_once)]
        self._idle: LifoQueue[requests.Session] = LifoQueue()
        for session in self._sessions:
            self._idle.put(session)

    @contextmanager
    def session(self, patience_s: float) -> Iterator[requests.Session]:
        """Lend a session, once one is idle; raises queue.Empty when that takes too long."""
        if patience_s <= 0.0:
            raise Empty
        session = self._idle.get(timeout=patience_s)
        try:
            yield session
        finally:
            self._idle.put(session)

    def turn_s(self, soonest_s: float, latest_s: float) -> float:
        """Give the seconds until the next request may start; within `latest_s` it is counted on to start then."""
        with self._lock:
            now = self._clock()
            start = max(now + soonest_s, self._next_start)
            if start - now < latest_s:
                self._next_start = start + self._limits.interval_s
            return start - now

    def rest(self, pause_s: float) -> None:
        """Let no request start for a while, as the host asked."""
        with self._lock:
            self._next_start = max(self._next_start, self._clock() + pause_s)

    def close(self) -> None:
        """Close the connections that are kept open."""
        for session in self._sessions:
            session.close()


class _Session(requests.Session):
    def get_redirect_target(self, resp: requests.Response) -> None:
        """Say that none leads anywhere: to look ahead, requests would read the whole body, whatever its size."""


def _session(host: str) -> requests.Session:
    session = _Session()
    for scheme in ("https://", "http://"):
        session.mount(scheme, HTTPAdapter(pool_connections=1, pool_maxsize=1))
    # Proxies and certificates come from the environment, as people set them up; this machine is reached directly.
    session.trust_env = not is_loopback(host)
    session.cookies.set_policy(DefaultCookiePolicy(allowed_domains=[]))
    return session
