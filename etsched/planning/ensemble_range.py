"""The likely range of the days ahead from the members of an ensemble forecast."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.core import atmosphere
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather

if TYPE_CHECKING:
    from etsched.frames.ensemble import Ensemble
    from etsched.model.site import Place

# Four of five members lie between them, as wide as the ranges of filled values (common practice, no source).
LOW_PCT, HIGH_PCT = 10.0, 90.0


def ensemble_range(ensemble: Ensemble, place: Place) -> pd.DataFrame:
    """Range of ETo and rain of every day: `eto_low_mm`, `eto_high_mm`, `rain_low_mm`, `rain_high_mm` by day.

    A day is NaN where no member knows it whole.
    """
    drivers = DailyDrivers(
        tmin_c=ensemble.tmin_c,
        tmax_c=ensemble.tmax_c,
        vapour_pressure_kpa=atmosphere.vapour_pressure_from_dewpoint(ensemble.dewpoint_c),
        wind_m_s=ensemble.wind_m_s,
        solar_mj_m2_d=ensemble.solar_mj_m2_d,
        latitude_deg=np.asarray(place.latitude_deg),
        elevation_m=np.asarray(place.elevation_m),
        day_of_year=ensemble.days.day_of_year.to_numpy(dtype=np.float64),
    )
    columns = {}
    for name, members in (("eto", fao56_daily_from_weather(drivers)), ("rain", ensemble.rain_mm)):
        known = ~np.isnan(members).all(axis=0)
        for side, share in (("low", LOW_PCT), ("high", HIGH_PCT)):
            columns[f"{name}_{side}_mm"] = np.full(len(ensemble.days), np.nan)
            columns[f"{name}_{side}_mm"][known] = np.nanpercentile(members[:, known], share, axis=0)
    return pd.DataFrame(columns, index=ensemble.days)
