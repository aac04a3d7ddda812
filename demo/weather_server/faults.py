"""What can go wrong with a feed, one name a fault; which feed can have it; and how it looks on the wire."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from functools import cache

from .exchange import Reply

_MEANINGS = {
    # on the wire
    "hang": "the request is taken and never answered",
    "slow-drip": "the body comes one byte every 0.2 s",
    "reset": "the connection is reset in the middle of the body",
    "truncated": "the body stops halfway, though Content-Length told its full length",
    "html": "status 200 with a page in HTML instead of data",
    "gzip-bomb": "a small gzip body that unpacks to more than 100 MB",
    "broken-json": "status 200 with a body that breaks off in the provider's streaming error",
    "429-retry-after": "status 429 with Retry-After: 2",
    "429": "status 429 without Retry-After",
    "5xx-once": "status 503 once, then well again",
    "5xx-thrice": "status 503 three times, then well again",
    "5xx": "status 503 for ever",
    "redirect": "a redirect to another host, which would answer well",
    # in the data
    "wrong-units": "the units told are not the ones asked for, or the values are in others",
    "unequal-arrays": "one series is shorter than the rest",
    "all-null": "every value is missing",
    "null-tail": "many more of the last days are missing than usual",
    "spike": "one value is absurd",
    "doubled-days": "one day is told twice",
    "shifted-hours": "every value stands 6 h too late, as if by another zone's clock",
    "stale": "the provider stopped three days ago: an old issue, or no newer days",
    "far-cell": "the answer is for a cell 300 km away",
}
FAULTS = tuple(_MEANINGS)
RETRY_AFTER_S = 2
BOMB_BYTES = 128 * 1024 * 1024
STREAM_ERROR = b"Unexpected error while streaming data: timeoutReached"  # what follows the colon is our own choice
HTML_PAGE = b"<!DOCTYPE html>\n<html><head><title>Please wait</title></head><body>Down for maintenance.</body></html>\n"
_UNHEARD = {  # faults that make no sense for a feed, or that nobody could see in what it tells
    "power": {"doubled-days", "shifted-hours"},  # days are keys of an object; a day's total hides its hours
    "ghcn": {"unequal-arrays", "far-cell", "shifted-hours"},  # a missing key is usual; no place is told
    "station": {"far-cell", "broken-json"},  # the file tells no place and is no JSON
    "gauge": {"far-cell", "broken-json", "shifted-hours"},
}
_DATA = FAULTS.index("wrong-units")
_TIMES = {"5xx-once": 1, "5xx-thrice": 3}


def meaning(fault: str) -> str:
    """Say a fault in one line."""
    return _MEANINGS[fault]


def faults_of(feed: str) -> tuple[str, ...]:
    """Give the faults a feed can have."""
    return tuple(fault for fault in FAULTS if fault not in _UNHEARD.get(feed, set()))


def is_in_data(fault: str) -> bool:
    """Say whether a fault lies in what is told, not in how it is sent."""
    return fault in FAULTS[_DATA:]


def times_of(fault: str) -> int | None:
    """How many requests a fault lasts; None for ever."""
    return _TIMES.get(fault)


@cache
def gzip_bomb() -> bytes:
    """Pack a great many blanks, which are JSON until the body ends."""
    packer = zlib.compressobj(9, zlib.DEFLATED, 31)
    block = b" " * (1 << 20)
    packed = b"".join(packer.compress(block) for _ in range(BOMB_BYTES >> 20))
    return packed + packer.flush()


def status_of(fault: str) -> int | None:
    """Give the status by which a provider tells trouble, where the fault is that."""
    if fault.startswith("429"):
        return 429
    return 503 if fault.startswith("5xx") else None


def spoiled(reply: Reply, fault: str) -> Reply:
    """Change a good reply by a fault that lies in its headers and body, not in the pace of sending."""
    if fault == "html":
        return Reply(200, HTML_PAGE, "text/html; charset=utf-8")
    if fault == "gzip-bomb":
        return Reply(200, gzip_bomb(), reply.content_type, {"Content-Encoding": "gzip"})
    if fault == "broken-json":
        return Reply(200, reply.body[: len(reply.body) // 2] + STREAM_ERROR, reply.content_type)
    return reply


def drops(body: bytes) -> Iterator[bytes]:
    """Cut a body into single bytes."""
    return (body[at : at + 1] for at in range(len(body)))
