"""What is asked of the client, what it may spend on it, and what it hands back."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Request:
    """One question to a host; `secret_params` are sent in the query like the others, and never shown or logged."""

    url: str
    params: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)
    secret_params: Mapping[str, str] = field(default_factory=dict, repr=False)


@dataclass(frozen=True, slots=True)
class RawBody:
    """An answer as it came, decoded; `url` is what was asked, its secrets taken out.

    `fetched` (UTC) is when the host last said that this is its answer, be it whole or by 304 Not Modified.
    """

    url: str
    fetched: datetime
    status: int
    content_type: str
    last_modified: str  # "" where the host gives none
    etag: str  # "" where the host gives none
    body: bytes


@dataclass(frozen=True, slots=True)
class ClientLimits:
    """What one `get` may cost, and how a host is spared.

    The figures are common practice, no source: a plan is made once a night, and nobody waits for it longer than
    for a page; the forecast services ask for about one running request and a few in a second.
    """

    deadline_s: float = 60.0  # of one get: waiting for its turn and all its tries
    connect_s: float = 5.0
    read_s: float = 20.0  # until the host says something more
    body_bytes: int = 8_000_000  # unpacked; packed bytes may not be more either
    tries: int = 4  # requests of one get in all, redirects to the same host apart
    backoff_s: float = 1.0  # before the second try; doubled before each further one
    at_once: int = 2  # requests running at one host
    interval_s: float = 0.2  # between the starts of two requests to one host
