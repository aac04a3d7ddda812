"""What the rows of daily weather know, in the form the formulas of reference ET ask for; nothing is filled here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, fao24_et, radiation
from etsched.frames.weather import stamps
from etsched.planning.weather_filling import known_vapour, numbers

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from etsched.model.site import Place

    Array = NDArray[np.float64]

# Each need of a formula, and the columns that meet it, best first; where two stand together, both are needed.
COLUMNS_FOR: dict[str, tuple[tuple[str, ...], ...]] = {
    "temperature": (("tmin_c", "tmax_c"),),
    "humidity": (
        ("vapour_pressure_kpa",),
        ("dewpoint_c",),
        ("rh_min_pct", "rh_max_pct"),
        ("rh_max_pct",),
        ("rh_mean_pct",),
    ),
    "radiation": (("solar_mj_m2_d",), ("sunshine_h",)),
    "wind": (("wind_m_s",),),
}


@dataclass(frozen=True, slots=True, eq=False)
class KnownDays:
    """One entry a day, (D,), NaN where the row does not say; the sun above the air is known of every day."""

    place: Place
    day_of_year: Array
    tmin_c: Array
    tmax_c: Array
    vapour_pressure_kpa: Array
    rh_mean_pct: Array
    rh_min_pct: Array
    wind_m_s: Array
    solar_mj_m2_d: Array
    relative_sunshine_fraction: Array
    extraterrestrial_mj_m2_d: Array
    daylight_h: Array


def known_days(daily: pd.DataFrame, place: Place) -> KnownDays:
    """Gather what each row knows.

    Parameters
    ----------
    daily : DataFrame
        With DAILY_COLUMNS; values may be missing.
    place : Place

    Returns
    -------
    KnownDays
    """
    column = numbers(daily)
    # Two extremes that are crossed are no extremes: such a day has none.
    fit = column["tmin_c"] <= column["tmax_c"]
    column |= {name: np.where(fit, column[name], np.nan) for name in ("tmin_c", "tmax_c")}
    day_of_year = stamps(daily).day_of_year.to_numpy(dtype=np.float64)
    above = radiation.extraterrestrial_radiation(place.latitude_deg, day_of_year)
    daylight = radiation.daylight_hours(place.latitude_deg, day_of_year)
    vapour, solar = known_vapour(column), _solar(column, above, daylight)
    tmin, tmax = column["tmin_c"], column["tmax_c"]
    saturation = atmosphere.mean_saturation_vapour_pressure(tmin, tmax)
    return KnownDays(
        place,
        day_of_year,
        tmin,
        tmax,
        vapour,
        # Eq. 19 turned round where neither the mean nor both extremes are known.
        rh_mean_pct=_first_known(
            column["rh_mean_pct"],
            0.5 * (column["rh_min_pct"] + column["rh_max_pct"]),
            np.minimum(100.0 * vapour / saturation, 100.0),
        ),
        # The least humidity of a day is that of its highest temperature.
        rh_min_pct=_first_known(column["rh_min_pct"], np.minimum(atmosphere.relative_humidity(vapour, tmax), 100.0)),
        wind_m_s=column["wind_m_s"],
        solar_mj_m2_d=solar,
        relative_sunshine_fraction=_first_known(
            _share_of_daylight(column, daylight), fao24_et.relative_sunshine(solar, above)
        ),
        extraterrestrial_mj_m2_d=above,
        daylight_h=daylight,
    )


def _solar(column: dict[str, Array], above_mj_m2_d: Array, daylight_h: Array) -> Array:
    sunny_h = np.minimum(column["sunshine_h"], daylight_h)
    return _first_known(column["solar_mj_m2_d"], radiation.solar_from_sunshine(sunny_h, daylight_h, above_mj_m2_d))


def _share_of_daylight(column: dict[str, Array], daylight_h: Array) -> Array:
    # In the polar night N is 0, and so is n.
    return np.minimum(column["sunshine_h"] / np.where(daylight_h > 0.0, daylight_h, 1.0), 1.0)


def _first_known(*candidates: Array) -> Array:
    chosen = candidates[0]
    for candidate in candidates[1:]:
        chosen = np.where(np.isnan(chosen), candidate, chosen)
    return chosen
