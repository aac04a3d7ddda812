"""The layers of the US NWS grid: intervals of equal value, told together, taken apart into their hours."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.documents.refusals import shown
from etsched.errors import FeedRefused
from etsched.feeds.json_answer import number, other_form, part, table

if TYPE_CHECKING:
    from numpy.typing import NDArray

# ISO 8601 durations as the grid has them: PT1H, PT13H, P1D, P1DT6H.
_DURATION = re.compile(r"P(?:(?P<days>\d{1,3})D)?(?:T(?P<hours>\d{1,4})H)?", re.ASCII)
_LONGEST_H = 31 * 24  # own limit: the grid looks a week ahead
_EMPTY = pd.Series(dtype=np.float64, index=pd.DatetimeIndex([], tz="UTC"))


def layer_hours(properties: object, name: str, unit: str, *, is_total: bool = False) -> pd.Series[float]:
    """Take a layer apart.

    Parameters
    ----------
    properties : object
        Of the grid's answer.
    name, unit : str
        The layer's name and the unit it must be in, such as `degC`.
    is_total : bool
        Whether a value is the total of its interval, to be shared among its hours; else each hour has it.

    Returns
    -------
    values : Series
        By UTC start of the hour, in order; empty where the layer is empty or not there.

    Raises
    ------
    FeedRefused
        Where it is in another unit, tells hours twice or in disorder, or has another form.
    """
    layer = table(table(properties, "properties").get(name, {}), name)
    told = layer.get("values")
    if not told:
        return _EMPTY
    if not isinstance(told, list):
        raise other_form(f"{name}.values is no list")
    if (stated := str(layer.get("uom", "nothing")).rpartition(":")[2]) != unit:
        raise FeedRefused(f"it gives {name} in {shown(stated)}, not in {unit}")
    intervals = [_interval(each, name) for each in told]
    begins, lengths = (np.array(numbers, dtype=np.int64) for numbers in zip(*intervals, strict=True))
    if (begins[1:] < (begins + lengths)[:-1]).any():
        raise FeedRefused(f"it gives hours of {name} twice or in disorder")
    values = np.array([_value(each, name) for each in told])
    return _by_hour(begins, lengths, values / lengths if is_total else values)


def instant(text: object, what: str) -> datetime:
    """Read a moment with its distance from UTC. Raises FeedRefused where it is none."""
    try:
        moment = datetime.fromisoformat(str(text))
        if moment.tzinfo is not None:
            return moment.astimezone(UTC)
    except (ValueError, OverflowError):
        pass
    raise other_form(f"{what} is no moment: {shown(text)}")


def _interval(told: object, name: str) -> tuple[int, int]:
    """Give an interval's begin, in hours since 1970, and its length."""
    text = str(part(told, "validTime"))
    begin, _, length = text.partition("/")
    found = _DURATION.fullmatch(length)
    if found is None:
        raise other_form(f"{name} has an interval of no whole hours: {shown(text)}")
    hours = 24 * int(found["days"] or 0) + int(found["hours"] or 0)
    since, rest = divmod(instant(begin, f"{name}.validTime") - datetime(1970, 1, 1, tzinfo=UTC), timedelta(hours=1))
    if not 1 <= hours <= _LONGEST_H or rest:
        raise other_form(f"{name} has an interval of no whole hours: {shown(text)}")
    return since, hours


def _value(told: object, name: str) -> float:
    value = table(told, name).get("value")
    return np.nan if value is None else number(value, name)


def _by_hour(begins: NDArray[np.int64], lengths: NDArray[np.int64], values: NDArray[np.float64]) -> pd.Series[float]:
    """Repeat each value over the hours of its interval."""
    within = np.arange(lengths.sum()) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    hours = (np.repeat(begins, lengths) + within).astype("datetime64[h]").astype("datetime64[us]")
    return pd.Series(np.repeat(values, lengths), index=pd.DatetimeIndex(hours, tz="UTC"))
