"""What comes back whole: the record, conditional requests, packing, redirects, headers."""

from __future__ import annotations

import gzip
import socket
from datetime import UTC, datetime

import pytest

from etsched import __version__
from etsched.errors import FeedFailed, FeedRefused
from etsched.http_client import ClientLimits, HttpClient, RawBody, Request, user_agent

from .scripted_server import Server, answer, serving, zipped

NOON = datetime(2026, 7, 13, 12, tzinfo=UTC)
QUICK = ClientLimits(deadline_s=5.0, interval_s=0.0, backoff_s=0.0)


def fetch(server: Server, path: str = "/a", known: RawBody | None = None, **fields: dict[str, str]) -> RawBody:
    with HttpClient(QUICK, "ann@site.example", now=lambda: NOON) as client:
        raw, made = client.get(Request(server.url + path, **fields), lambda raw: len(raw.body), known=known)
    assert made == len(raw.body)
    return raw


def test_the_record_says_all_that_came() -> None:
    headers = {"Content_Type": "application/json", "Last_Modified": "Mon, 13 Jul 2026 06:00:00 GMT", "ETag": '"7"'}
    with serving(answer(b'{"a": 1}', **headers)) as server:
        raw = fetch(server, params={"hourly": "a,b", "latitude": "1.5"})
    assert raw == RawBody(
        f"{server.url}/a?hourly=a,b&latitude=1.5",
        NOON,
        200,
        "application/json",
        "Mon, 13 Jul 2026 06:00:00 GMT",
        '"7"',
        b'{"a": 1}',
    )
    assert server.heads[0].startswith("GET /a?hourly=a%2Cb&latitude=1.5 HTTP/1.1\r\n")


def test_headers_say_who_asks_and_what_can_be_unpacked() -> None:
    with serving(answer()) as server:
        fetch(server, headers={"Accept": "application/geo+json"})
    assert f"\r\nUser-Agent: etsched/{__version__} (ann@site.example)\r\n" in server.heads[0]
    assert "\r\nAccept: application/geo+json\r\n" in server.heads[0]
    assert "\r\nAccept-Encoding: gzip\r\n" in server.heads[0]


@pytest.mark.parametrize(
    ("contact", "shown"),
    [("", ""), ("ann@site.example", " (ann@site.example)"), ("x\r\nHost: other\nö", " (x Host: other)")],
)
def test_a_contact_stays_one_header(contact: str, shown: str) -> None:
    assert user_agent(contact) == f"etsched/{__version__}{shown}"


def test_a_known_answer_is_asked_for_again_only_if_it_changed() -> None:
    steps = [answer(b"old", ETag='"1"', Last_Modified="Mon, 13 Jul 2026 06:00:00 GMT")]
    with serving(*steps, answer(b"", status="304 Not Modified")) as server, HttpClient(QUICK) as client:
        old = fetch(server)
        raw, made = client.get(Request(f"{server.url}/a"), lambda raw: raw.body, known=old)
    assert "If-None-Match" not in server.heads[0]
    assert '\r\nIf-None-Match: "1"\r\n' in server.heads[1]
    assert "\r\nIf-Modified-Since: Mon, 13 Jul 2026 06:00:00 GMT\r\n" in server.heads[1]
    assert (raw.body, made, raw.url, raw.etag) == (b"old", b"old", old.url, '"1"')
    assert raw.fetched > NOON  # it was confirmed just now


def test_a_changed_answer_takes_the_place_of_the_known() -> None:
    with serving(answer(b"old", ETag='"1"'), answer(b"new", ETag='"2"')) as server:
        new = fetch(server, known=fetch(server))
    assert (new.body, new.etag, new.status) == (b"new", '"2"', 200)


def test_an_answer_to_another_question_is_not_taken_for_known() -> None:
    """A host that goes by dates alone would confirm it."""
    with serving(answer(b"old", Last_Modified="Mon, 13 Jul 2026 06:00:00 GMT"), answer(b"new")) as server:
        old = fetch(server, params={"day": "12"})
        assert fetch(server, params={"day": "13"}, known=old).body == b"new"
        assert "If-Modified-Since" not in server.heads[1]


def test_304_to_a_request_without_condition_is_no_answer() -> None:
    with serving(answer(b"", status="304 Not Modified")) as server, pytest.raises(FeedFailed) as caught:
        fetch(server)
    assert str(caught.value) == "127.0.0.1 answers 304 Not Modified (asked 4 times)"


def test_gzip_is_unpacked() -> None:
    body = b"0123456789" * 100_000
    with serving(zipped(body)) as server:
        assert fetch(server).body == body


def test_a_packing_nobody_asked_for_is_refused() -> None:
    with serving(answer(b"x", Content_Encoding="br")) as server, pytest.raises(FeedRefused) as caught:
        fetch(server)
    assert str(caught.value) == "127.0.0.1 packs its answer in a way that was not asked for (asked once)"


def test_damaged_and_short_gzip_is_fetched_again() -> None:
    packed = gzip.compress(b"0123456789" * 1000)
    damaged = packed[:10] + b"\xff\xff\xff" + packed[13:]
    steps = [answer(each, Content_Encoding="gzip") for each in (damaged, packed[:-12], packed + b"more", packed)]
    with serving(*steps) as server:
        assert fetch(server).body == b"0123456789" * 1000
        assert len(server.heads) == 4


def test_redirects_stay_at_the_host() -> None:
    with serving(answer(b"", status="301 Moved Permanently", Location="/b"), answer(b"there")) as server:
        assert fetch(server, params={"q": "1"}).body == b"there"
        assert [head.partition(" HTTP")[0] for head in server.heads] == ["GET /a?q=1", "GET /b"]


@pytest.mark.parametrize(
    "target",
    ["http://localhost:1/", "https://127.0.0.1/", "https://other.example/?apikey=x", "ftp://127.0.0.1/", "//[/"],
)
def test_a_redirect_elsewhere_is_not_followed(target: str) -> None:
    with serving(answer(b"", status="302 Found", Location=target)) as server:
        with pytest.raises(FeedRefused) as caught:
            fetch(server)
        assert str(caught.value) == "127.0.0.1 redirects to another host, which is not followed (asked once)"
        assert len(server.heads) == 1


def test_the_body_of_a_redirect_is_not_read() -> None:
    def endless(sock: socket.socket) -> None:
        sock.sendall(b"HTTP/1.1 302 Found\r\nLocation: /b\r\n\r\n")
        while True:
            sock.sendall(b"x" * 10_000)

    with serving(endless, answer(b"there")) as server:
        assert fetch(server).body == b"there"


def test_a_circle_of_redirects_ends() -> None:
    with serving(answer(b"", status="302 Found", Location="/a")) as server:
        with pytest.raises(FeedRefused, match="redirects more than 3 times"):
            fetch(server)
        assert len(server.heads) == 4


def test_cookies_are_not_kept() -> None:
    with serving(answer(Set_Cookie="a=b; Path=/")) as server, HttpClient(QUICK) as client:
        for _ in range(2):
            client.get(Request(f"{server.url}/a"), lambda raw: raw)
        assert "Cookie" not in server.heads[1]


@pytest.mark.parametrize(
    ("url", "reason"),
    [
        ("http://api.feed.example/v1", "http:// is for this machine alone"),
        ("http://127.0.0.1.feed.example/", "http:// is for this machine alone"),
        ("ftp://127.0.0.1/", "must begin with https://"),
        ("https:///v1", "must begin with https:// and name a host"),
        ("", "must begin with https:// and name a host"),
        ("https://[::1/", "the address is not one"),
        ("https://a:99999/", "the address is not one"),
    ],
)
def test_only_encrypted_addresses_are_asked(url: str, reason: str) -> None:
    with HttpClient(QUICK) as client, pytest.raises(FeedRefused) as caught:
        client.get(Request(url), lambda raw: raw)
    assert reason in str(caught.value)
    assert str(caught.value).endswith("(never asked)")
