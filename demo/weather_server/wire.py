"""How replies are put on the wire, well or badly: one thread a connection, few of them, each ended when told to."""

from __future__ import annotations

import contextlib
import gzip
import select
import socket
import struct
import sys
import threading
import time
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Protocol
from urllib.parse import parse_qsl, unquote, urlsplit

from . import faults
from .exchange import Ask, Reply, Seen, World
from .feeds import FEEDS, name_of

LOOPBACK = "127.0.0.1"
Taken = socket.socket | tuple[bytes, socket.socket]  # the base class serves datagrams too
_MOST_CONNECTIONS = 128
_IDLE_S = 30.0  # a silent connection is closed after this
_LONGEST_S = 120.0  # nothing hangs or drips longer
_DROP_S = 0.2
_PACKED_FROM_BYTES = 1000


class Keeper(Protocol):
    """What the wire needs to know of the server it works for."""

    stopping: threading.Event

    def fault_for(self, feed: str) -> str: ...
    def world(self, fault: str) -> World: ...
    def note(self, seen: Seen) -> None: ...
    def manage(self, path: str) -> Reply: ...


class Listener(ThreadingHTTPServer):
    """Takes connections on loopback and remembers the open ones, so that they can be cut."""

    daemon_threads = True
    block_on_close = False
    request_queue_size = 64

    def __init__(self, port: int, keeper: Keeper) -> None:
        super().__init__((LOOPBACK, port), _Handler)
        self.keeper = keeper
        self._open: dict[socket.socket, threading.Thread] = {}
        self._lock = threading.Lock()

    def process_request(self, request: Taken, client_address: object) -> None:
        """Answer a connection in a thread of its own, or close it where too many are open."""
        thread = threading.Thread(target=self.process_request_thread, args=(request, client_address), daemon=True)
        assert isinstance(request, socket.socket)
        with self._lock:
            is_taken = len(self._open) < _MOST_CONNECTIONS
            if is_taken:
                self._open[request] = thread
        if is_taken:
            thread.start()
        else:
            super().shutdown_request(request)

    def shutdown_request(self, request: Taken) -> None:
        """Close a connection that has been answered."""
        with self._lock:
            if isinstance(request, socket.socket):
                self._open.pop(request, None)
        super().shutdown_request(request)

    def end_connections(self) -> None:
        """Cut every open connection and give its thread a moment to see it."""
        with self._lock:
            ending = dict(self._open)
        for request in ending:
            with contextlib.suppress(OSError):
                request.shutdown(socket.SHUT_RDWR)
        until = time.monotonic() + 0.5
        for thread in ending.values():
            thread.join(max(0.0, until - time.monotonic()))

    def handle_error(self, request: Taken, client_address: object) -> None:
        """Pass over clients that went away; anything else is a defect and is shown."""
        if not isinstance(sys.exception(), OSError):
            super().handle_error(request, client_address)


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "weather", ""
    timeout = _IDLE_S
    disable_nagle_algorithm = True
    server: Listener

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 - the base class calls it so
        """Say nothing: the log is kept, not printed."""

    def do_GET(self) -> None:
        """Answer for the host whose prefix the path begins with."""
        where = urlsplit(self.path)
        prefix, _, rest = where.path.lstrip("/").partition("/")
        if prefix not in FEEDS:
            self._send(self.server.keeper.manage(unquote(where.path)))
            return
        query: dict[str, str] = {}
        for name, value in parse_qsl(where.query, keep_blank_values=True):
            query[name] = f"{query[name]},{value}" if name in query else value
        ask = Ask("/" + unquote(rest), query, {name.lower(): value for name, value in self.headers.items()})
        self._answer(prefix, ask)

    def _answer(self, prefix: str, ask: Ask) -> None:
        """Find the reply and the fault, keep both in the log, and send."""
        keeper, feed = self.server.keeper, name_of(prefix)
        host = ask.headers.get("host", "")
        is_elsewhere = host.partition(":")[0] != LOOPBACK  # where a redirect leads, all is well
        fault = "" if is_elsewhere else keeper.fault_for(feed)
        reply = self._reply(prefix, ask, fault)
        told = 0 if fault == "hang" else reply.status
        keeper.note(Seen(datetime.now(UTC), feed, host, ask.path, dict(ask.query), dict(ask.headers), told))
        reply = _packed(reply, ask)
        if fault == "hang":
            self._wait_long()
        elif fault in {"slow-drip", "reset", "truncated"}:
            self._send_badly(reply, fault)
        else:
            self._send(reply)

    def _reply(self, prefix: str, ask: Ask, fault: str) -> Reply:
        if fault == "redirect":
            port = self.server.server_address[1]
            return Reply(302, b"", headers={"Location": f"http://localhost:{port}{self.path}"})
        status = faults.status_of(fault)
        if status is None:
            return faults.spoiled(FEEDS[prefix].answer(ask, self.server.keeper.world(fault)), fault)
        reply = FEEDS[prefix].trouble(status)
        later = {"Retry-After": str(faults.RETRY_AFTER_S)} if fault == "429-retry-after" else {}
        return Reply(reply.status, reply.body, reply.content_type, later)

    def _send_head(self, reply: Reply) -> None:
        self.send_response(reply.status)
        if reply.status != 304:
            self.send_header("Content-Type", reply.content_type)
            self.send_header("Content-Length", str(len(reply.body)))
        for name, value in reply.headers.items():
            self.send_header(name, value)
        self.end_headers()

    def _send(self, reply: Reply) -> None:
        self._send_head(reply)
        self.wfile.write(reply.body)

    def _send_badly(self, reply: Reply, fault: str) -> None:
        """Announce the whole body, and then drip it, stop halfway, or reset the connection halfway."""
        self._send_head(reply)
        self.close_connection = True
        if fault == "slow-drip":
            until = time.monotonic() + _LONGEST_S
            for drop in faults.drops(reply.body):
                self.wfile.write(drop)
                if self.server.keeper.stopping.wait(_DROP_S) or time.monotonic() > until:
                    return
            return
        self.wfile.write(reply.body[: len(reply.body) // 2])
        if fault == "reset":
            time.sleep(0.05)  # what was sent must arrive before the reset overtakes it
            self.connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            self.rfile.close()  # closed by hand: the base class would first say a polite end
            self.connection.close()

    def _wait_long(self) -> None:
        """Hold the connection until the client gives up, the server stops, or it has lasted long enough."""
        self.close_connection = True
        until = time.monotonic() + _LONGEST_S
        while not self.server.keeper.stopping.wait(0.05) and time.monotonic() < until:
            if select.select([self.connection], [], [], 0)[0] and not self.connection.recv(1, socket.MSG_PEEK):
                return


def _packed(reply: Reply, ask: Ask) -> Reply:
    """Pack a body for a client that takes gzip."""
    is_taken = "gzip" in ask.headers.get("accept-encoding", "") and "Content-Encoding" not in reply.headers
    if not is_taken or len(reply.body) < _PACKED_FROM_BYTES:
        return reply
    body = gzip.compress(reply.body, 5, mtime=0)
    return Reply(reply.status, body, reply.content_type, {**reply.headers, "Content-Encoding": "gzip"})
