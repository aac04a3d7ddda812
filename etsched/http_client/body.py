"""Reading an answer's body: no further than its size and the deadline allow, packed or not."""

from __future__ import annotations

import zlib
from typing import TYPE_CHECKING

from etsched.errors import FeedFailed, FeedRefused

if TYPE_CHECKING:
    from collections.abc import Iterator

    from urllib3 import BaseHTTPResponse

    from etsched.http_client.tries import Tries

_PIECE = 65_536
_GZIP = 16 + zlib.MAX_WBITS  # zlib's way of asking for gzip's own header and checksum


def read_body(response: BaseHTTPResponse, tries: Tries) -> bytes:
    """Read and unpack a body.

    Raises
    ------
    FeedRefused
        Where it is larger than the limit, or packed in a way nobody asked for.
    FeedFailed
        Where it is cut short or damaged, or takes longer than the deadline.
    """
    most = tries.limits.body_bytes
    if (response.length_remaining or 0) > most:
        raise _too_large(most)
    pieces = _pieces(response, tries)
    packing = (response.headers.get("Content-Encoding") or "identity").strip().lower()
    if packing in {"gzip", "x-gzip"}:
        pieces = _unpacked(pieces, most)
    elif packing != "identity":
        raise FeedRefused("it packs its answer in a way that was not asked for")
    body = bytearray()
    for piece in pieces:
        body += piece
        if len(body) > most:
            raise _too_large(most)
    return bytes(body)


def _pieces(response: BaseHTTPResponse, tries: Tries) -> Iterator[bytes]:
    """Give the body as it comes off the wire; one read waits for one packet, so that a slow drip is noticed."""
    count = 0
    while piece := response.read1(_PIECE, decode_content=False):
        count += len(piece)
        if count > tries.limits.body_bytes:
            raise _too_large(tries.limits.body_bytes)
        yield piece
        tries.left_s()


def _unpacked(pieces: Iterator[bytes], most: int) -> Iterator[bytes]:
    """Unpack gzip piece by piece, so that a few packed bytes cannot become a memory full of them."""
    unpacker = zlib.decompressobj(_GZIP)
    try:
        for piece in pieces:
            yield unpacker.decompress(piece, most + 1)
            if unpacker.unconsumed_tail:
                raise _too_large(most)
            if unpacker.unused_data:
                raise FeedFailed("it sends something behind the end of its answer")
    except zlib.error:
        raise FeedFailed("it sends an answer that is damaged") from None
    if not unpacker.eof:
        raise FeedFailed("it breaks its answer off in the middle")


def _too_large(most: int) -> FeedRefused:
    return FeedRefused(f"it sends more than {most:,} bytes")
