"""A table in CSV that a host or a file of the site's own gives, and the numbers in its cells."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from urllib.parse import quote

import numpy as np

from etsched.documents.columns import FileLayout
from etsched.documents.refusals import shown
from etsched.errors import FeedFailed, FeedRefused, WeatherRefused
from etsched.feeds.csv_cells import Cells, read_cells
from etsched.http_client import RawBody

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from etsched.feeds.ask import FeedAsk
    from etsched.frames.weather import Weather

_NUMBER = re.compile(r"[+-]?(\d{1,9}\.?\d{0,9}|\.\d{1,9})", re.ASCII)


def cells_of(raw: RawBody) -> Cells:
    """Cut an answer into cells.

    Raises
    ------
    FeedRefused
        Where it is a page for people.
    FeedFailed
        Where it is no table, as when it was cut short.
    """
    if raw.body.lstrip()[:1] == b"<":
        raise FeedRefused("it answers with a web page, not with data")
    try:
        return read_cells(raw.body, "its table", FileLayout())
    except WeatherRefused as error:
        first = error.problems[0]
        line = "" if first.line is None else f", line {first.line}"
        raise FeedFailed(f"it sends no whole table{line}: {first.wrong}") from None


def numbers_of(cells: Cells, position: int, missing: tuple[str, ...] = ("",)) -> NDArray[np.float64]:
    """Read the numbers of one column, NaN where a cell is one of `missing`. Raises FeedRefused for anything else."""
    texts = cells.column(position)
    for row, text in enumerate(texts):
        if text not in missing and not _NUMBER.fullmatch(text):
            raise refused_at(cells, row, f"{shown(text)} under {shown(cells.headings[position])} is no number")
    return np.array([math.nan if text in missing else float(text) for text in texts], dtype=np.float64)


def refused_at(cells: Cells, row: int, wrong: str) -> FeedRefused:
    """Give the refusal of one row."""
    return FeedRefused(f"on line {cells.lines[row]} of its table {wrong}")


def filled_in(address: str, ask: FeedAsk) -> str:
    """Give an address for what is asked: `{first}`, `{last}` (such as 2026-06-01) and `{station}` in it are filled.

    The days are one more at either end, as the host's days may begin at another hour than the site's.
    """
    first, last = ask.first - timedelta(days=1), ask.last + timedelta(days=1)
    known = {"{first}": f"{first}", "{last}": f"{last}", "{station}": quote(ask.station, safe="")}
    for word, value in known.items():
        address = address.replace(word, value)
    return address


def parsed_file(path: Path, parse: Callable[[RawBody], Weather]) -> Weather:
    """Parse a file as if a host had answered with it when it was last written.

    Raises
    ------
    FeedFailed
        As `parse` does, or where the file cannot be read; the sentence begins with its name.
    """
    try:
        body, written = path.read_bytes(), path.stat().st_mtime
    except (OSError, ValueError):  # ValueError: a path with a binary zero in it
        raise FeedRefused(f"{path}: the file cannot be read") from None
    raw = RawBody(str(path), datetime.fromtimestamp(written, UTC), 200, "text/csv", "", "", body)
    try:
        return parse(raw)
    except FeedFailed as error:
        raise FeedRefused(f"{path}: {error}") from None
