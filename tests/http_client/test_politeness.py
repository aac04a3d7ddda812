"""How a host is spared: pauses between tries, the pause it asks for, the distance and the number of requests."""

from __future__ import annotations

import threading
import time
from dataclasses import replace
from email.utils import formatdate

import pytest

from etsched.errors import FeedFailed, Stopping
from etsched.http_client import ClientLimits, HttpClient, Request

from .conftest import Clock
from .scripted_server import Step, answer, drip, hang, serving

LIMITS = ClientLimits(deadline_s=60.0, interval_s=0.0, backoff_s=1.0)
BUSY = "429 Too Many Requests"
GOOD = answer(b"good")


def client_of(limits: ClientLimits, clock: Clock) -> HttpClient:
    return HttpClient(limits, clock=clock, sleep=clock.sleep)


def asked_for(pause: str) -> list[float]:
    """Give how long a client sleeps when a host asks for a pause once."""
    clock = Clock()
    with serving(answer(status=BUSY, Retry_After=pause), GOOD) as server, client_of(LIMITS, clock) as client:
        client.get(Request(server.url), lambda raw: raw)
    return clock.slept


def test_pauses_double(clock: Clock) -> None:
    with serving(answer(status="503 Service Unavailable")) as server, client_of(LIMITS, clock) as client:
        _fails(client, server.url)
    assert clock.slept == [1.0, 2.0, 4.0]


def test_pauses_go_on_doubling_whatever_the_faults_are(clock: Clock) -> None:
    steps = [answer(b"a", length=9), answer(status="502 Bad Gateway"), answer(b"a", length=9), GOOD]
    with serving(*steps) as server, client_of(LIMITS, clock) as client:
        client.get(Request(server.url), lambda raw: raw)
    assert clock.slept == [1.0, 2.0, 4.0]


@pytest.mark.parametrize(("asked", "pause"), [("7", 7.0), ("0", 1.0), ("-3", 1.0), ("soon", 1.0), ("", 1.0)])
def test_the_pause_a_host_asks_for_is_kept(asked: str, pause: float) -> None:
    assert asked_for(asked) == [pause]


def test_a_pause_may_be_a_date() -> None:
    (pause,) = asked_for(formatdate(time.time() + 30, usegmt=True))
    assert 28.0 <= pause <= 30.0


def test_a_pause_beyond_the_deadline_is_not_waited_for(clock: Clock) -> None:
    steps = [answer(b'{"reason":"Hourly limit"}', status=BUSY, Retry_After="3600"), GOOD]
    with serving(*steps) as server, client_of(LIMITS, clock) as client:
        then = "may be asked again in 3600 s, with 60 s left to wait"
        assert _fails(client, server.url) == f"127.0.0.1 answers 429 Too Many Requests; it {then} (asked once)"
        # Nor does the next question go out before that.
        assert _fails(client, server.url) == f"127.0.0.1 {then} (never asked)"
        assert (clock.slept, len(server.heads)) == ([], 1)
        clock.now_s += 3600.0
        assert client.get(Request(server.url), lambda raw: raw.body)[1] == b"good"


def test_requests_to_a_host_keep_their_distance(clock: Clock) -> None:
    limits = replace(LIMITS, interval_s=0.25)
    with serving(GOOD) as server, serving(GOOD) as other, client_of(limits, clock) as client:
        for _ in range(3):
            client.get(Request(server.url), lambda raw: raw)
        client.get(Request(other.url), lambda raw: raw)  # another host owes the first nothing
    assert clock.slept == [0.25, 0.25]


def test_tries_keep_their_distance_too(clock: Clock) -> None:
    limits = replace(LIMITS, interval_s=1.5)
    with serving(answer(status="502 Bad Gateway"), GOOD) as server, client_of(limits, clock) as client:
        client.get(Request(server.url), lambda raw: raw)
    assert clock.slept == [1.5]


def test_no_more_requests_run_at_a_host_than_allowed() -> None:
    def slow(sock: object) -> None:
        time.sleep(0.05)
        GOOD(sock)  # type: ignore[arg-type]

    limits = replace(LIMITS, at_once=2)
    with serving(slow) as server, HttpClient(limits) as client:
        threads = [threading.Thread(target=client.get, args=(Request(server.url), lambda raw: raw)) for _ in range(10)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert len(server.heads) == 10
        assert server.most_at_once == 2


def test_what_hangs_keeps_its_place_and_nobody_waits_for_it_for_ever() -> None:
    """Nothing can stop a header that drips in: it goes on behind the deadline, but only `at_once` of them do."""
    limits = ClientLimits(deadline_s=0.3, at_once=1, interval_s=0.0)
    with serving(drip(b"HTTP/1.1 200 OK\r\n" + b"X-Slow: 1\r\n" * 30)) as server, HttpClient(limits) as client:
        told = []
        for _ in range(2):
            begun = time.monotonic()
            told.append(_fails(client, server.url))
            assert time.monotonic() - begun < 1.0
        assert len(server.heads) == 1
    assert told[0] == "127.0.0.1: no whole answer came within 0.3 s (asked once)"
    assert told[1].endswith("(never asked)")


@pytest.mark.parametrize("step", [hang, answer(status=BUSY, Retry_After="30")], ids=["answer", "pause"])
def test_a_client_that_gives_up_ends_what_it_waits_for_and_asks_nothing_more(step: Step) -> None:
    """In the middle of an answer that hangs, in the pause before the next try, and before a question is asked."""
    told: list[Exception] = []

    def ask() -> None:
        try:
            client.get(Request(server.url), lambda raw: raw)
        except Exception as error:
            told.append(error)

    with serving(step) as server, HttpClient(ClientLimits()) as client:
        asking = threading.Thread(target=ask)
        asking.start()
        while not server.heads:
            time.sleep(0.01)
        begun = time.monotonic()
        client.give_up()
        client.give_up()
        asking.join(10)
        assert time.monotonic() - begun < 5.0  # the host would be waited for 20 or 30 s
        with pytest.raises(Stopping, match="since the program is to stop"):
            client.get(Request(server.url), lambda raw: raw)
        assert len(server.heads) == 1
    assert [type(error) for error in told] == [Stopping]


def _fails(client: HttpClient, url: str) -> str:
    with pytest.raises(FeedFailed) as caught:
        client.get(Request(url), lambda raw: raw)
    return str(caught.value)


def test_one_connection_serves_many_requests() -> None:
    kept = b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\n{}"
    ports = set()

    def step(sock: object) -> None:
        ports.add(sock.getpeername()[1])  # type: ignore[attr-defined]
        for _ in range(5):
            sock.sendall(kept)  # type: ignore[attr-defined]
            if not sock.recv(4000):  # type: ignore[attr-defined]
                return

    with serving(step) as server, HttpClient(LIMITS) as client:
        for _ in range(4):
            client.get(Request(server.url), lambda raw: raw)
    assert len(ports) == 1
