"""From the cells of dates and times to stamps without a zone, as the file writes them."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.documents.refusals import shown

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.errors import Problem
    from etsched.feeds.csv_table import Table

_FIRST_YEAR, _LAST_YEAR = 1900, 2100
_ISO_DATE, _ISO_TIME = "%Y-%m-%d", "%H:%M"
_SPELLED = {"%Y": "YYYY", "%m": "MM", "%d": "DD", "%H": "HH", "%M": "MM"}
# Seconds of zero are no news; the T of ISO 8601 stands for a space.
_ISO = re.compile(r"(?:(\d{4}-\d\d-\d\d)[T ])?(\d\d:\d\d)(?::00(?:\.0+)?)?", re.ASCII)
_WIDTHS = {"Y": 4, "y": 2, "m": 2, "d": 2, "j": 3, "H": 2, "M": 2, "S": 2}
_TOUCHING = re.compile(r"%[YymdjHMS]%[YymdjHMS]")
_EPOCH = pd.Timestamp(1900, 1, 1)  # strptime's day of a time without a date


def written_stamps(table: Table) -> tuple[pd.Series[pd.Timestamp], list[Problem]]:
    """Read the date, or date and time, of every row.

    Parameters
    ----------
    table : Table
        The file.

    Returns
    -------
    stamps : Series
        Without a zone, NaT where a cell holds none. The hour 24 is the next day's 0. Days are at midnight.
    problems : list of Problem
        One a cell that holds none.
    """
    how = table.mapping.time
    if not table.hourly:
        stamps, problems = _parsed(table, "date", how.date_format, _ISO_DATE)
        return stamps.dt.normalize(), problems
    if how.time is None:
        return _parsed(table, "date", how.date_format, f"{_ISO_DATE} {_ISO_TIME}")
    days, problems = _parsed(table, "date", how.date_format, _ISO_DATE)
    times, more = _parsed(table, "time", how.time_format, _ISO_TIME)
    return days + (times - _EPOCH), problems + more


def stamp_text(table: Table, row: int) -> str:
    """Give the date and time of a row as the file writes them."""
    return shown(" ".join(table.text(key)[row] for key in ("date", "time") if key in table.positions))


def _parsed(table: Table, key: str, form: str | None, iso: str) -> tuple[pd.Series[pd.Timestamp], list[Problem]]:
    text = table.text(key)
    plain = [_plain_iso(cell) for cell in text] if form is None else text
    used = form or iso
    stamps = _strptime(plain, used)
    stamps = stamps.mask(_wrong_width(plain, used))
    if table.hourly:
        stamps = _with_midnights(stamps, plain, used)
    bad = stamps.isna() | ~stamps.dt.year.between(_FIRST_YEAR, _LAST_YEAR)
    noun = "time" if key == "time" else "date" if "%H" not in used else "date and time"
    spelled = form or re.sub("%.", lambda part: _SPELLED[part[0]], iso)
    remedy = f"correct the cell, or {key}_format in [time] of the column mapping"
    if form is None and key == "date":
        remedy = f'set date_format in [time] of the column mapping, such as "%m/%d/%Y{used[len(_ISO_DATE) :]}"'

    def say(row: int) -> tuple[str, str]:
        if not text[row]:
            return f"the {noun} is missing", "add it, or take the row out"
        if not pd.isna(stamps[row]):
            return (
                f"{shown(text[row])} lies outside the years {_FIRST_YEAR} to {_LAST_YEAR}",
                "correct the date",
            )
        return f"{shown(text[row])} is no {noun} of the form {spelled}", remedy

    return stamps.mask(bad), table.cells.at_rows(np.flatnonzero(bad).tolist(), table.heading(key), say)


def _plain_iso(cell: str) -> str:
    match = _ISO.fullmatch(cell)
    return cell if match is None else " ".join(part for part in match.groups() if part)


def _strptime(cells: list[str], form: str) -> pd.Series[pd.Timestamp]:
    # Without a digit there is no stamp; pandas would read "today" and "now" as what they say.
    digits = [cell if any(map(str.isdecimal, cell)) else "" for cell in cells]
    return pd.to_datetime(pd.Series(digits, dtype="str"), format=form, errors="coerce").astype("datetime64[us]")


def _wrong_width(cells: list[str], form: str) -> NDArray[np.bool_]:
    """Tell cells too short or too long where directives touch: strptime reads "100" as 10:0, not as 1:00."""
    parts = re.findall("%(.)", form)
    if not _TOUCHING.search(form) or not set(parts) <= set(_WIDTHS):
        return np.zeros(len(cells), dtype=np.bool_)
    width = len(re.sub("%.", "", form)) + sum(_WIDTHS[part] for part in parts)
    return np.array([len(cell) != width for cell in cells], dtype=np.bool_)


def _with_midnights(stamps: pd.Series[pd.Timestamp], cells: list[str], form: str) -> pd.Series[pd.Timestamp]:
    """Read the hour 24 as the next day's 0."""
    pattern = re.sub("%(.)", lambda part: {"H": "(24)", "M": "00", "S": "00"}.get(part[1], ".+?"), re.escape(form))
    if "(24)" not in pattern:
        return stamps
    hour_24 = re.compile(pattern)
    rows = [row for row in np.flatnonzero(stamps.isna()).tolist() if hour_24.fullmatch(cells[row])]
    matches = [hour_24.fullmatch(cells[row]) for row in rows]
    zeros = [f"{m.string[: m.start(1)]}00{m.string[m.end(1) :]}" for m in matches if m is not None]
    stamps = stamps.copy()
    stamps.iloc[rows] = _strptime(zeros, form) + pd.Timedelta(days=1)
    return stamps
