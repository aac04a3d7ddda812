"""The answer of the three Open-Meteo hosts: its hourly block, checked for spot, clock, units and form."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.documents.refusals import shown
from etsched.errors import FeedRefused
from etsched.feeds.json_answer import json_of, number, other_form, part, table
from etsched.feeds.nearness import check_near
from etsched.frames.provenance import Origin

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.feeds.ask import FeedAsk
    from etsched.feeds.open_meteo_question import Source, Variable
    from etsched.http_client import RawBody

_HOUR_S = 3600
_BEYOND_ALL_MEASURE = 1e9  # in any unit that is asked for
_LATEST_S = 4_102_444_800  # 2100-01-01: beyond it a stamp is no stamp


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """The hourly block of an answer: each column's members by start of the hour, the control or only one first."""

    members: dict[str, pd.DataFrame]
    origin: Origin


def hourly_block(raw: RawBody, source: Source, ask: FeedAsk) -> Block:
    """Read an answer's hourly block.

    Raises
    ------
    FeedRefused
        Where it is for another spot, clock or unit than was asked for, or has another form.
    FeedFailed
        Where it was cut short.
    """
    answer = json_of(raw)
    origin = _origin(answer, raw, source, ask)
    if part(answer, "utc_offset_seconds") != 0:
        raise FeedRefused("its hours are not by GMT")
    units, block = part(answer, "hourly_units"), table(part(answer, "hourly"), "hourly")
    _check_unit("time", units, "unixtime")
    stamps = _stamps(part(block, "time"))
    members = {}
    for variable in source.variables:
        names = _members(variable, block)
        for name in names:
            _check_unit(name, units, variable.unit)
        values = {name: variable.into_column(_values(block[name], name, len(stamps))) for name in names}
        starts = stamps - pd.Timedelta(hours=1) if variable.stamps_end else stamps
        members[variable.column] = pd.DataFrame(values, index=starts)
    return Block(members, origin)


def _origin(answer: object, raw: RawBody, source: Source, ask: FeedAsk) -> Origin:
    latitude, longitude = (number(part(answer, name), name) for name in ("latitude", "longitude"))
    check_near(ask.place, latitude, longitude)
    told = table(answer, "it").get("elevation")
    elevation = None if told is None else number(told, "elevation")
    return Origin(source.feed, raw.fetched, None, False, source.attribution, latitude, longitude, elevation)


def _check_unit(name: str, units: object, unit: str) -> None:
    if (stated := part(units, name)) != unit:
        raise FeedRefused(f"it gives {name} in {shown(stated)}, not in {unit}")


def _stamps(times: object) -> pd.DatetimeIndex:
    """Give the stamps of a block; they may lack hours, but not be disordered, doubled or between the hours."""
    if not isinstance(times, list) or not times or set(map(type, times)) != {int}:
        raise other_form("hourly.time holds no times")
    if not all(0 <= stamp < _LATEST_S and stamp % _HOUR_S == 0 for stamp in times):
        raise other_form("hourly.time holds something that is no full hour")
    if any(later <= earlier for earlier, later in pairwise(times)):
        raise FeedRefused("it gives hours twice or in disorder")
    return pd.to_datetime(np.asarray(times), unit="s", utc=True).as_unit("us").rename("hour_start")


def _members(variable: Variable, block: dict[str, object]) -> list[str]:
    """Give the names of a variable's members in order: the bare name first."""
    names = sorted(name for name in block if re.fullmatch(rf"{variable.name}(_member\d+)?", name))
    if not names and not variable.optional:
        raise other_form(f"there is no hourly.{variable.name}")
    return names


def _values(series: object, name: str, count: int) -> NDArray[np.float64]:
    """Give a series as numbers, NaN for null; a series may be null as a whole."""
    if series is None:
        return np.full(count, np.nan)
    if not isinstance(series, list) or not set(map(type, series)) <= {int, float, type(None)}:
        raise other_form(f"hourly.{name} holds something that is no number")
    if len(series) != count:
        raise other_form(f"hourly.{name} holds {len(series)} values for {count} hours")
    try:
        values = np.array(series, dtype=np.float64)
    except OverflowError:
        values = np.array([np.inf])
    if (np.abs(values) > _BEYOND_ALL_MEASURE).any():
        raise other_form(f"hourly.{name} holds a number beyond all measure")
    return values
