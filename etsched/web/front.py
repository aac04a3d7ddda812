"""What every request passes first: an id, a count, a size, a rate, and answers that are in memory already."""

from __future__ import annotations

import logging
import re
import secrets
import time
from collections.abc import Awaitable, Callable, MutableMapping
from hashlib import sha256
from itertools import count
from typing import TYPE_CHECKING, Any

from starlette.exceptions import HTTPException

from etsched.web.cache import Moment, Remembered, may_keep
from etsched.web.conditional import fits_weakly
from etsched.web.limits import Limits, Rate
from etsched.web.problems import BROKEN, NOT_FOUND, NOT_HERE, TOO_LARGE, TOO_MANY, WHOLE_BODY, problem

if TYPE_CHECKING:
    from fastapi import Response

    from etsched.stores.database import Database
    from etsched.web.metrics import Metrics

Message = MutableMapping[str, Any]
Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

_SANE_ID = re.compile(rb"[A-Za-z0-9._-]{1,64}")
_LOG = logging.getLogger(__name__)
_KEPT_AS = [(b"content-type", b"application/json"), (b"cache-control", b"private, no-cache")]


class Front:
    """The outermost part of the app."""

    def __init__(self, inner: App, database: Database, limits: Limits, metrics: Metrics) -> None:
        self._inner, self._database, self._limits, self._metrics = inner, database, limits, metrics
        # By key, path and query: body and ETag.
        self._answers = Remembered[tuple[bytes, bytes, bytes], tuple[bytes, bytes]](limits.cache_bytes, limits.cache_s)
        self._rate = Rate(limits.requests_a_minute)
        self._numbers, self._process = count(1), secrets.token_hex(4)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            await self._inner(scope, receive, send)
            return
        asked = _Asked(scope, self._id_of(scope), send)
        began_s = time.perf_counter()
        try:
            await self._answer(asked, receive)
        except Exception:
            _LOG.exception("request %s failed", asked.id.decode())
            if not asked.status:
                words = f"the program failed; tell whoever runs it the request id {asked.id.decode()}"
                await asked.give(problem(BROKEN, words))
        finally:
            route = getattr(scope.get("route"), "path", "") or ("from memory" if asked.from_memory else "none")
            self._metrics.count(scope["method"], route, asked.status, time.perf_counter() - began_s)

    def _id_of(self, scope: Scope) -> bytes:
        given = next((value for name, value in scope["headers"] if name == b"x-request-id"), b"")
        return given if _SANE_ID.fullmatch(given) else f"{self._process}-{next(self._numbers)}".encode()

    async def _answer(self, asked: _Asked, receive: Receive) -> None:
        now = Moment.after(self._database.commits_count)
        if asked.authorization:
            # The key itself is not kept in memory, only its digest.
            wait_s = self._rate.wait_s(sha256(asked.authorization).hexdigest(), now.now_s)
            if wait_s:
                words = f"this key asks too often; wait {wait_s} s"
                await asked.give(problem(TOO_MANY, words, headers={"retry-after": str(wait_s)}))
                return
        if asked.has_nul:  # nothing is kept under such an address, and PostgreSQL cannot even be asked
            await asked.give(problem(NOT_FOUND, NOT_HERE))
            return
        if asked.length > self._limits.body_bytes:
            words = f"it may have {self._limits.body_bytes} bytes at most"
            await asked.give(problem(TOO_LARGE, words, [(WHOLE_BODY, words)], {"connection": "close"}))
            return
        if may_keep(asked.scope["method"], asked.path, asked.authorization):
            await self._from_memory(asked, receive, now)
            return
        await self._inner(asked.scope, self._limited(receive), asked.send)

    async def _from_memory(self, asked: _Asked, receive: Receive, now: Moment) -> None:
        name = (sha256(asked.authorization).digest(), asked.path, asked.scope["query_string"])
        kept = self._answers.get(name, now)
        if kept is None:
            whole = _Gathered()
            headers = [pair for pair in asked.scope["headers"] if pair[0] != b"if-none-match"]
            inner_scope = {**asked.scope, "headers": headers}
            await self._inner(inner_scope, receive, whole.send)
            asked.scope["route"] = inner_scope.get("route")
            if whole.status != 200:
                await asked.send_whole(whole.status, whole.headers, whole.body)
                return
            etag = dict(whole.headers)[b"etag"]
            self._answers.put(name, (whole.body, etag), now, len(whole.body))
            await asked.give_kept(whole.body, etag)
            return
        asked.from_memory = True
        self._metrics.from_cache.inc()
        await asked.give_kept(*kept)

    def _limited(self, receive: Receive) -> Receive:
        """Count the bytes of a body whose length was not told."""
        seen, most = 0, self._limits.body_bytes

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > most:
                raise HTTPException(TOO_LARGE.status, f"it may have {most} bytes at most")
            return message

        return counted


class _Asked:
    """One request, and what has been answered so far; every answer carries the request's id."""

    def __init__(self, scope: Scope, request_id: bytes, send: Send) -> None:
        headers = dict(scope["headers"])
        self.scope, self.id, self._send = scope, request_id, send
        self.path: bytes = scope["path"].encode("utf-8", "surrogatepass")
        self.has_nul = b"\0" in self.path or b"%00" in scope["query_string"]
        self.authorization: bytes = headers.get(b"authorization", b"")
        self.if_none_match: bytes = headers.get(b"if-none-match", b"")
        length = headers.get(b"content-length", b"0")
        self.length = int(length) if length.isdigit() and len(length) < 19 else 0
        self.status, self.from_memory = 0, False

    async def send(self, message: Message) -> None:
        """Send a message on, the id among its headers."""
        if message["type"] == "http.response.start":
            self.status = message["status"]
            own = [(b"x-request-id", self.id), (b"x-content-type-options", b"nosniff")]
            message = {**message, "headers": [*message.get("headers", ()), *own]}
        await self._send(message)

    async def give(self, response: Response) -> None:
        """Send a whole answer."""
        await self.send_whole(response.status_code, response.raw_headers, bytes(response.body))

    async def send_whole(self, status: int, headers: list[tuple[bytes, bytes]], body: bytes) -> None:
        """Send an answer from its parts."""
        await self.send({"type": "http.response.start", "status": status, "headers": headers})
        await self.send({"type": "http.response.body", "body": body})

    async def give_kept(self, body: bytes, etag: bytes) -> None:
        """Send an answer that may be kept, or 304 where the reader has it."""
        headers = [*_KEPT_AS, (b"etag", etag)]
        if fits_weakly(self.if_none_match.decode("latin-1"), etag.decode()):
            await self.send_whole(304, headers[1:], b"")
            return
        await self.send_whole(200, [*headers, (b"content-length", str(len(body)).encode())], body)


class _Gathered:
    """An answer that is looked at before it goes out."""

    def __init__(self) -> None:
        self.status, self.body = 0, b""
        self.headers: list[tuple[bytes, bytes]] = []

    async def send(self, message: Message) -> None:
        """Take a part of it."""
        if message["type"] == "http.response.start":
            self.status, self.headers = message["status"], list(message["headers"])
        else:
            self.body += message.get("body", b"")
