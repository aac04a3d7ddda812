"""Why nothing came, in words: what the libraries raise and what a host writes into a refusal.

Their own texts hold addresses with everything secret in them, so none is passed on.
"""

from __future__ import annotations

import json
from http import HTTPStatus
from http.client import IncompleteRead
from typing import TYPE_CHECKING

import requests
from urllib3 import exceptions as urllib3_errors

if TYPE_CHECKING:
    from collections.abc import Iterator

_MOST_LETTERS = 200
# The fields in which feeds say what was wrong, best first.
_SAID_IN = ("reason", "detail", "message", "messages", "title")

# What to say of an error: the first of these kinds that it, or an error it stems from, belongs to.
_SAID_OF: tuple[tuple[tuple[type[BaseException], ...], str], ...] = (
    ((urllib3_errors.ProxyError,), "cannot be reached through the proxy"),
    ((urllib3_errors.NameResolutionError,), "cannot be found: its name does not resolve"),
    ((urllib3_errors.SSLError, requests.exceptions.SSLError), "has no certificate that can be trusted, or breaks TLS"),
    ((urllib3_errors.NewConnectionError, ConnectionRefusedError), "takes no connection"),
    ((urllib3_errors.ConnectTimeoutError,), "takes no connection in time"),
    ((urllib3_errors.ReadTimeoutError, requests.exceptions.ReadTimeout, TimeoutError), "stops answering"),
    ((IncompleteRead,), "sends less than it announces"),
    ((urllib3_errors.InvalidHeader, requests.exceptions.InvalidHeader), "gets or sends a header that is none"),
    ((requests.exceptions.InvalidURL, urllib3_errors.LocationParseError), "has an address that is none"),
    ((urllib3_errors.ProtocolError, ConnectionError), "breaks the connection off"),
)


def reason_of(error: BaseException) -> str:
    """Say in words, after the name of a host, what an error of the libraries means."""
    chain = list(_stems_from(error))
    for kinds, said in _SAID_OF:
        if any(isinstance(each, kinds) for each in chain):
            return said
    return "does not answer in HTTP"


def _stems_from(error: BaseException) -> Iterator[BaseException]:
    """Give an error and those it was made of; urllib3 and requests keep them in `reason` and `args`."""
    waiting, seen = [error], set[int]()
    while waiting:
        each = waiting.pop(0)
        if id(each) in seen:
            continue
        seen.add(id(each))
        yield each
        within = (*each.args, getattr(each, "reason", None), each.__cause__)
        waiting += [other for other in within if isinstance(other, BaseException)]


def status_text(status: int, phrase: str | None) -> str:
    """Write a status as `503 Service Unavailable`, by its registered name or what the host calls it."""
    try:
        phrase = HTTPStatus(status).phrase
    except ValueError:
        phrase = plain(phrase or "")
    return f"{status} {phrase}".strip()


def said_in(body: bytes) -> str:
    """Give what a refusal's JSON body says in words; "" where it says nothing that can be told."""
    try:
        answer = json.loads(body)
    except (ValueError, RecursionError):
        return ""
    for field in _SAID_IN if isinstance(answer, dict) else ():
        said = answer.get(field)
        if isinstance(said, list) and said:
            said = said[0]
        if isinstance(said, str) and said.strip():
            return plain(said).rstrip(".")
    return ""


def plain(text: str) -> str:
    """Give a foreign text as one short line without control characters."""
    line = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    return line if len(line) <= _MOST_LETTERS else f"{line[:_MOST_LETTERS]}…"
