"""Answers with a strong ETag, and 304 where the reader has the same bytes already."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from fastapi import Request, Response

JSON = "application/json"


def to_bytes(document: Any) -> bytes:  # noqa: ANN401 - JSON is untyped by nature
    """Write JSON, the same bytes for the same values."""
    return json.dumps(document, sort_keys=True, ensure_ascii=False, allow_nan=False).encode()


def etag_of(body: bytes) -> str:
    """Name the bytes of an answer."""
    return f'"{sha256(body).hexdigest()[:32]}"'


def fits(sent: str, etag: str) -> bool:
    """Say whether a list of ETags, as If-None-Match and If-Match carry it, names this one; `*` names any."""
    return sent.strip() == "*" or etag in (each.strip() for each in sent.split(","))


def answer(
    request: Request, document: Mapping[str, Any] | bytes, status: int = 200, headers: Mapping[str, str] | None = None
) -> Response:
    """Answer with JSON and its ETag, or with 304 and no body."""
    body = document if isinstance(document, bytes) else to_bytes(document)
    etag = etag_of(body)
    sent = {"etag": etag, "cache-control": "private, no-cache", **(headers or {})}
    if request.method == "GET" and fits_weakly(request.headers.get("if-none-match", ""), etag):
        return Response(status_code=304, headers=sent)
    return Response(body, status, sent, JSON)


def fits_weakly(sent: str, etag: str) -> bool:
    """As `fits`, by the weak comparison that RFC 9110 wants for If-None-Match."""
    return bool(sent) and fits(sent.replace("W/", ""), etag)
