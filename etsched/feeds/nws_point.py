"""Which cell of the US National Weather Service's grid a place lies in: asked once a week."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.documents.refusals import shown
from etsched.errors import FeedRefused
from etsched.feeds.cells import cell_of, degrees_text
from etsched.feeds.json_answer import json_of, other_form, part
from etsched.http_client import Request, user_agent
from etsched.http_client.redaction import address

if TYPE_CHECKING:
    from etsched.feeds.ask import FeedAsk, FeedHost
    from etsched.http_client import HttpClient, RawBody

FEED = "nws grid"
POINT_KEEPS = timedelta(days=7)  # cells drift: one that was known longer has led into the sea


def fetch_nws_point(
    client: HttpClient, host: FeedHost, ask: FeedAsk, known: RawBody | None = None
) -> tuple[RawBody, str]:
    """Ask which cell a place lies in; a known answer of the last week is handed back as it is.

    Raises
    ------
    FeedFailed
        Where nothing usable came.
    """
    if not host.contact:
        raise FeedRefused("the US NWS answers only those it could write to: give a contact")
    request = point_request(host, ask)
    same_place = known is not None and known.url == address(request)
    if known is not None and same_place and ask.today - known.fetched.date() < POINT_KEEPS:
        return known, parse_nws_point(known)
    return client.get(request, parse_nws_point, known=known)


def point_request(host: FeedHost, ask: FeedAsk) -> Request:
    """Ask which cell a place lies in."""
    at = ",".join(degrees_text(angle) for angle in cell_of(FEED, ask.place))
    return nws_request(host, f"/points/{at}")


def nws_request(host: FeedHost, path: str) -> Request:
    """Ask the service for a path, saying who asks."""
    headers = {"User-Agent": user_agent(host.contact), "Accept": "application/geo+json"}
    return Request(host.base_url.rstrip("/") + path, headers=headers)


def parse_nws_point(raw: RawBody) -> str:
    """Read which cell a point lies in, as `OFFICE/x,y`. Raises FeedRefused, or FeedFailed for half an answer."""
    properties = part(json_of(raw), "properties")
    office, x, y = (str(part(properties, name)) for name in ("gridId", "gridX", "gridY"))
    cell = f"{office}/{x},{y}"
    if re.fullmatch(r"[A-Z]{3}/\d{1,4},\d{1,4}", cell, re.ASCII) is None:
        raise other_form(f"{shown(cell)} is no cell of the grid")
    return cell
