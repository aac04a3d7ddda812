"""How fast the service answers a controller, beside a bare ASGI app that sends the same bytes.

Both run under uvicorn on loopback, one process each, asked by wrk in turns, so that what else the machine does falls on
both. Prints ratios of requests a second (service ÷ bare): of an answer from memory with its body and as 304, of one
read from the database each time (who holds the key is remembered for a second, as ever); and of the slowest
hundredth's times.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from statistics import median

import uvicorn

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

ROUNDS, SECONDS, CONNECTIONS = 5, 2, 4
NAMES = ("api_tonight_200_vs_bare", "api_tonight_304_vs_bare", "api_database_vs_bare")


def bare_app(body: bytes, etag: str):
    """Give an ASGI app that does nothing but send bytes, or 304 where it is asked with the ETag."""
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"etag", etag.encode()),
    ]

    async def app(scope, receive, send):
        same = (b"if-none-match", etag.encode()) in scope["headers"]
        start = {"type": "http.response.start", "status": 304 if same else 200, "headers": headers[2 if same else 0 :]}
        await send(start)
        await send({"type": "http.response.body", "body": b"" if same else body})

    return app


@contextmanager
def forked(app):
    """Serve an app on loopback in a process of its own."""
    listening = socket.create_server(("127.0.0.1", 0))
    # Without it the body of every answer waits up to 40 ms for the acknowledgement of its head.
    listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    port = listening.getsockname()[1]
    child = os.fork()
    if not child:
        uvicorn.Server(uvicorn.Config(app, log_config=None, access_log=False, lifespan="off")).run([listening])
        os._exit(0)
    listening.close()
    try:
        time.sleep(1.0)
        yield f"http://127.0.0.1:{port}/v1/sites/grange/tonight"
    finally:
        os.kill(child, 9)
        os.waitpid(child, 0)


def ask(url: str, headers: dict[str, str]) -> tuple[float, float]:
    """Ask for some seconds; give requests a second and the slowest hundredth's time in ms."""
    given = [word for name, value in headers.items() for word in ("-H", f"{name}: {value}")]
    command = ["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{SECONDS}s", "--latency", *given, url]
    said = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    if "Non-2xx" in said and "If-None-Match" not in headers:
        raise RuntimeError(said)
    slowest = re.search(r"99%\s+([\d.]+)(us|ms|s)", said)
    factor = {"us": 1e-3, "ms": 1.0, "s": 1e3}
    return float(re.search(r"Requests/sec:\s+([\d.]+)", said)[1]), float(slowest[1]) * factor[slowest[2]]


def main() -> None:
    """Measure and print."""
    if shutil.which("wrk") is None:
        print("skipped api_speed: wrk is not installed (apt-get install wrk)")
        return
    from dataclasses import replace

    from etsched.stores import migrate
    from etsched.stores.database import Database
    from etsched.web.app import make_app
    from tests.web.conftest import WIDE, play

    with tempfile.TemporaryDirectory() as folder:
        database = Database(f"sqlite:///{folder}/etsched.db")
        migrate.upgrade(database)
        played = play(database, ROOT)
        answer = played.ask("GET", "/v1/sites/grange/tonight")
        auth = {"Authorization": f"Bearer {played.secrets['all']}"}
        same = auth | {"If-None-Match": answer.headers["etag"]}
        database.close()  # each process opens its own connections
        kept = make_app(played.service, WIDE)
        uncached = make_app(played.service, replace(WIDE, cache_bytes=0))
        same_bytes = bare_app(answer.content, answer.headers["etag"])
        with forked(same_bytes) as bare, forked(kept) as fast, forked(uncached) as slow:
            pairs = {NAMES[0]: (fast, auth), NAMES[1]: (fast, same), NAMES[2]: (slow, auth)}
            rates, tails = {name: [] for name in pairs}, []
            for _ in range(ROUNDS):
                for name, (url, headers) in pairs.items():
                    (ours, our_tail), (theirs, their_tail) = ask(url, headers), ask(bare, headers)
                    rates[name].append(ours / theirs)
                    if name == NAMES[0]:
                        tails.append(our_tail / their_tail)
                    print(f"  {name}: {ours:.0f}/s beside {theirs:.0f}/s", file=sys.stderr)
    for name, ratios in rates.items():
        print(f"figure {name} {median(ratios):.3f} ratio")
    print(f"figure api_p99_vs_bare {median(tails):.2f} ratio")


if __name__ == "__main__":
    main()
