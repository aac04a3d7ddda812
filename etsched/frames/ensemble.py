"""The members of an ensemble forecast, each a forecast of its own; a range is made of how far they lie apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.errors import PlanRefused
from etsched.frames.hours_to_days import hours_in_days, local_days

if TYPE_CHECKING:
    from collections.abc import Mapping
    from zoneinfo import ZoneInfo

    from numpy.typing import NDArray

    from etsched.frames.provenance import Origin

    Array = NDArray[np.float64]

# Daily quantity, hourly column it comes from, how its hours are put together.
_GATHERED = (
    ("tmin_c", "temperature_c", "min"),
    ("tmax_c", "temperature_c", "max"),
    ("dewpoint_c", "dewpoint_c", "mean"),
    ("wind_m_s", "wind_m_s", "mean"),
    ("solar_mj_m2_d", "solar_mj_m2_h", "sum"),
    ("rain_mm", "rain_mm", "sum"),
)


@dataclass(frozen=True, slots=True, eq=False)
class Ensemble:
    """Daily weather by member and day, (M, D), NaN where a member lacks an hour of the day.

    `days` holds the naive local dates, in order and without gaps; the first member is the control. Wind is at 2 m.
    """

    days: pd.DatetimeIndex
    tmin_c: Array
    tmax_c: Array
    dewpoint_c: Array
    wind_m_s: Array
    solar_mj_m2_d: Array
    rain_mm: Array
    origin: Origin | None = None
    notes: tuple[str, ...] = ()

    @property
    def members_count(self) -> int:
        """How many members there are."""
        return len(self.tmin_c)


def ensemble_of_hours(
    members: Mapping[str, pd.DataFrame], zone: ZoneInfo, origin: Origin | None, notes: tuple[str, ...] = ()
) -> Ensemble:
    """Gather each member's hours into site-local days; an hour belongs to the day in which it begins.

    Parameters
    ----------
    members : Mapping of DataFrame
        `temperature_c`, `dewpoint_c`, `wind_m_s`, `solar_mj_m2_h` and `rain_mm`, each with one column a member, in
        the same order, by UTC start of the hour; all on the same hours.
    zone : ZoneInfo
        Of the site.
    origin : Origin, optional
    notes : tuple of str
        Goes along.

    Returns
    -------
    ensemble : Ensemble
        From the first day to the last of which any member knows all temperatures.

    Raises
    ------
    PlanRefused
        Where there is no such day.
    """
    index = pd.DatetimeIndex(members["temperature_c"].index)
    nothing = PlanRefused("no member of the ensemble knows a whole day of local time")
    if len(index) == 0:
        raise nothing
    day, lasts = local_days(index, zone), hours_in_days(index, zone)
    daily = {}
    for name, source, how in _GATHERED:
        hours = members[source].groupby(day)
        whole = hours.count().eq(lasts, axis="index")
        daily[name] = hours.agg(how).where(whole).reindex(lasts.index)
    known = lasts.index[daily["tmin_c"].notna().any(axis=1)]
    if len(known) == 0:
        raise nothing
    arrays = {name: each.loc[known[0] : known[-1]].to_numpy().T for name, each in daily.items()}
    return Ensemble(pd.DatetimeIndex(lasts.loc[known[0] : known[-1]].index), **arrays, origin=origin, notes=notes)
