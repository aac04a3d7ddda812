"""A loopback server that answers each request with the next step of a script, byte by byte as the test wants it."""

from __future__ import annotations

import gzip
import socket
import struct
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from socketserver import BaseRequestHandler, ThreadingTCPServer

Step = Callable[[socket.socket], None]


class Server(ThreadingTCPServer):
    """Plays `script`, its last step again and again; keeps the head of every request and how many overlapped."""

    daemon_threads = True
    allow_reuse_address = True

    def __init__(self, script: list[Step]) -> None:
        self.script = script
        self.heads: list[str] = []
        self.most_at_once = 0
        self.ending = threading.Event()
        self._at_once = 0
        self._lock = threading.Lock()
        super().__init__(("127.0.0.1", 0), _Handler)

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}"

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing: clients that hang up are what is tested."""

    def next_step(self, head: str) -> Step:
        with self._lock:
            self.heads.append(head)
            return self.script[min(len(self.heads), len(self.script)) - 1]

    @contextmanager
    def one_more(self) -> Iterator[None]:
        with self._lock:
            self._at_once += 1
            self.most_at_once = max(self.most_at_once, self._at_once)
        yield
        with self._lock:
            self._at_once -= 1


class _Handler(BaseRequestHandler):
    server: Server

    def handle(self) -> None:
        head = b""
        while not head.endswith(b"\r\n\r\n"):
            more = self.request.recv(1)
            if not more:
                return
            head += more
        step = self.server.next_step(head.decode())
        with self.server.one_more():
            step(self.request)


@contextmanager
def serving(*script: Step) -> Iterator[Server]:
    with Server(list(script)) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
        thread.start()
        try:
            yield server
        finally:
            server.ending.set()
            server.shutdown()
            thread.join()


def whole(body: bytes = b"{}", status: str = "200 OK", length: int | None = None, **headers: str) -> bytes:
    """Write an answer with its length; `Retry_After="3"` becomes the header Retry-After."""
    lines = [f"HTTP/1.1 {status}", f"Content-Length: {len(body) if length is None else length}", "Connection: close"]
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    return "\r\n".join([*lines, "", ""]).encode() + body


def answer(body: bytes = b"{}", status: str = "200 OK", length: int | None = None, **headers: str) -> Step:
    return lambda sock: sock.sendall(whole(body, status, length, **headers))


def zipped(body: bytes) -> Step:
    return answer(gzip.compress(body), Content_Encoding="gzip")


def reset(sock: socket.socket) -> None:
    """Break off with RST instead of FIN."""
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    sock.close()


def hang_up(sock: socket.socket) -> None:
    sock.close()


def hang(sock: socket.socket) -> None:
    """Say nothing until the client goes away."""
    sock.settimeout(10)
    sock.recv(1)


def drip(text: bytes) -> Step:
    """Send a byte every hundredth of a second, for as long as the client listens."""

    def step(sock: socket.socket) -> None:
        for byte in text:
            sock.sendall(bytes([byte]))
            time.sleep(0.01)

    return step
