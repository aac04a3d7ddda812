"""GET with a deadline over everything, tries that are counted, and the parsing of the answer among them."""

from __future__ import annotations

import time
from concurrent.futures import FIRST_COMPLETED, Future, InvalidStateError, wait
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from http.client import HTTPException
from queue import Empty
from threading import Lock, Thread
from typing import TYPE_CHECKING, Any, TypeVar, cast
from urllib.parse import urljoin

import requests
from urllib3.exceptions import HTTPError

from etsched import __version__
from etsched.errors import FeedFailed, FeedRefused, Stopping
from etsched.http_client.body import read_body
from etsched.http_client.hosts import Host, origin_of
from etsched.http_client.reasons import plain, reason_of, said_in, status_text
from etsched.http_client.records import ClientLimits, RawBody
from etsched.http_client.redaction import address, keep_out_of_logs, without_values
from etsched.http_client.tries import PASSING, BoundRetry, TimeUp, Tries

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Self

    from requests.adapters import HTTPAdapter

    from etsched.http_client.records import Request

T = TypeVar("T")
_MOST_REDIRECTS = 3
_OK, _NOT_MODIFIED, _FIRST_REFUSAL, _FIRST_FAULT = 200, 304, 400, 500
# What the libraries raise between them; ValueError is an address or header that cannot be written down.
_LIBRARY_ERRORS = (requests.RequestException, HTTPError, HTTPException, OSError, ValueError)


def user_agent(contact: str = "") -> str:
    """Give what this program calls itself to a host, with whom to write to where that is known."""
    reachable = plain(contact.encode("ascii", "ignore").decode())
    return f"etsched/{__version__}" + (f" ({reachable})" if reachable else "")


def _now() -> datetime:
    return datetime.now(UTC)


class HttpClient:
    """Fetches from any host, each by its own polite limits; safe to share among threads."""

    def __init__(
        self,
        limits: ClientLimits | None = None,
        contact: str = "",
        *,
        clock: Callable[[], float] = time.monotonic,
        sleep: Callable[[float], None] = time.sleep,
        now: Callable[[], datetime] = _now,
    ) -> None:
        self._limits = limits or ClientLimits()
        self._agent = user_agent(contact)
        self._clock, self._sleep, self._now = clock, sleep, now
        self._hosts: dict[tuple[str, str, int], Host] = {}
        self._lock = Lock()
        self._given_up: Future[None] = Future()

    def get(
        self, request: Request, validate: Callable[[RawBody], T], *, known: RawBody | None = None
    ) -> tuple[RawBody, T]:
        """Fetch an answer that `validate` can use.

        Parameters
        ----------
        request : Request
            What to ask.
        validate : Callable
            Makes of the answer what the caller wants. It raises FeedRefused for what asking again would not mend,
            FeedFailed for an answer that looks cut short or damaged.
        known : RawBody, optional
            An earlier answer: it is handed back, with the time of now, if the host says that it still holds. One
            to another question is passed over.

        Returns
        -------
        raw : RawBody
        made : T
            What `validate` made of it.

        Raises
        ------
        FeedRefused
            Where asking again would be useless.
        FeedFailed
            Where no try came to anything; one sentence names the host, the reason and the number of tries.
        Stopping
            Where `give_up` was called.
        """
        keep_out_of_logs(request.secret_params)
        if known is not None and known.url != address(request):
            known = None  # an answer to another question, which a host that only knows dates could confirm
        host = self._host(request)
        tries = Tries(self._limits, host, self._clock, self._sleep)
        while True:
            try:
                raw = self._in_time(request, known, tries)
                return raw, validate(raw)
            except FeedFailed as error:
                final = isinstance(error, (FeedRefused, TimeUp)) or tries.left <= 0
                said, kind = str(error), FeedRefused if isinstance(error, FeedRefused) else FeedFailed
            if final:
                raise kind(_sentence(host.name, said, tries.made, request))
            tries.failure = said

    def give_up(self) -> None:
        """Wait for nothing more that is being asked, and ask nothing any more, since the program is to stop."""
        with suppress(InvalidStateError):  # it was called before
            self._given_up.set_result(None)

    def close(self) -> None:
        """Close the connections that are kept open."""
        with self._lock:
            hosts, self._hosts = list(self._hosts.values()), {}
        for host in hosts:
            host.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _host(self, request: Request) -> Host:
        try:
            origin = origin_of(request.url)
        except FeedRefused as error:
            shown = request.url.rpartition("@")[2].partition("?")[0]
            raise FeedRefused(_sentence(plain(shown), str(error), 0, request)) from None
        with self._lock:
            if origin not in self._hosts:
                self._hosts[origin] = Host(origin[1], self._limits, self._clock)
            return self._hosts[origin]

    def _in_time(self, request: Request, known: RawBody | None, tries: Tries) -> RawBody:
        """Ask on a thread of its own and wait for it until the deadline.

        Only so is everything bounded: neither looking up a name nor a header that drips in obeys a time limit. A
        thread that is no longer waited for keeps its session, so that no more than `at_once` hang at one host.
        """
        answer: Future[RawBody] = Future()

        def ask() -> None:
            try:
                answer.set_result(self._ask(request, known, tries))
            except BaseException as error:  # whatever it is, it is raised where it is waited for
                answer.set_exception(error)

        patience = tries.left_s()
        if not self._given_up.done():
            Thread(target=ask, name=f"asking {tries.host.name}", daemon=True).start()
            either: tuple[Future[Any], ...] = (answer, self._given_up)
            wait(either, patience, FIRST_COMPLETED)
        if self._given_up.done():
            raise Stopping(f"{tries.host.name} is not asked to the end, since the program is to stop")
        if not answer.done():
            raise tries.time_up()
        return answer.result()

    def _ask(self, request: Request, known: RawBody | None, tries: Tries) -> RawBody:
        try:
            with tries.host.session(tries.left_s()) as session:
                tries.begin()
                return self._exchange(session, request, known, tries)
        except Empty:
            raise TimeUp("it is still busy with earlier requests") from None
        except _LIBRARY_ERRORS as error:
            raise FeedFailed(f"it {reason_of(error)}") from None

    def _exchange(self, session: requests.Session, request: Request, known: RawBody | None, tries: Tries) -> RawBody:
        """Ask once, with urllib3's retries, and follow redirects that stay at the host."""
        url, query = request.url, {**request.params, **request.secret_params}
        adapter = cast("HTTPAdapter", session.get_adapter(url))
        for _ in range(1 + _MOST_REDIRECTS):
            adapter.max_retries = BoundRetry.of(tries)
            left = tries.left_s()
            with session.get(
                url,
                params=query,
                headers=self._headers(request, known),
                timeout=(min(self._limits.connect_s, left), min(self._limits.read_s, left)),
                stream=True,
                allow_redirects=False,
            ) as response:
                if not response.is_redirect:
                    return self._received(response, request, known, tries)
                url, query = _same_host(response), {}
        raise FeedRefused(f"it redirects more than {_MOST_REDIRECTS} times")

    def _headers(self, request: Request, known: RawBody | None) -> dict[str, str]:
        """Give the headers to send; `gzip` is the one packing that `body` unpacks."""
        headers = {"User-Agent": self._agent, "Accept-Encoding": "gzip", **request.headers}
        if known is not None and known.etag:
            headers["If-None-Match"] = known.etag
        if known is not None and known.last_modified:
            headers["If-Modified-Since"] = known.last_modified
        return headers

    def _received(self, response: requests.Response, request: Request, known: RawBody | None, tries: Tries) -> RawBody:
        """Make a record of an answer; raises what fits any other status than 200 and a 304 that was asked for."""
        status = response.status_code
        if status == _NOT_MODIFIED and known is not None:
            return replace(known, fetched=self._now())
        if status == _OK:
            return RawBody(
                url=address(request),
                fetched=self._now(),
                status=status,
                content_type=response.headers.get("Content-Type", ""),
                last_modified=response.headers.get("Last-Modified", ""),
                etag=response.headers.get("ETag", ""),
                body=read_body(response.raw, tries),
            )
        said = said_in(read_body(response.raw, tries)) if status >= _FIRST_REFUSAL else ""
        sentence = f"it answers {status_text(status, response.reason)}" + (f": {said}" if said else "")
        final = _FIRST_REFUSAL <= status < _FIRST_FAULT and status not in PASSING
        raise FeedRefused(sentence) if final else FeedFailed(sentence)


def _sentence(name: str, said: str, made: int, request: Request) -> str:
    """Put a host's name, what is said of it and the number of tries into one sentence without secrets."""
    times = {0: "never asked", 1: "asked once"}.get(made, f"asked {made} times")
    told = f" {said.removeprefix('it ')}" if said.startswith("it ") else f": {said}"
    return without_values(f"{name}{told} ({times})", request.secret_params.values())


def _same_host(response: requests.Response) -> str:
    """Give where a redirect leads; raises FeedRefused where that is another host."""
    try:
        target = urljoin(response.url, response.headers["Location"])
        if origin_of(target) == origin_of(response.url):
            return target
    except (FeedRefused, ValueError):  # no address, or one that nobody may be asked at
        pass
    raise FeedRefused("it redirects to another host, which is not followed")
