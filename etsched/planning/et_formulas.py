"""The formulas of reference ET that a site may ask for by name: what each needs, where it is valid, what it gives.

Nothing is filled here: on a day that lacks what a formula needs its result is NaN. `et_choice` says which is used.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, fao24_et, net_radiation, radiation, radiation_et, reference_et
from etsched.errors import PlanRefused
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.planning.daily_et_steps import net_radiation_of_day
from etsched.planning.known_days import COLUMNS_FOR, KnownDays, known_days

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from etsched.model.site import Place

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Formula:
    """One formula: the name a site writes, its title for readers, what it needs, where it is valid, how it is computed.

    `needs` are keys of `known_days.COLUMNS_FOR`.
    """

    name: str
    title: str
    needs: tuple[str, ...]
    suits: str
    compute: Callable[[KnownDays], Array]

    @property
    def columns(self) -> tuple[tuple[tuple[str, ...], ...], ...]:
        """For each need the columns of a daily frame that meet it, best first."""
        return tuple(COLUMNS_FOR[need] for need in self.needs)

    def et_mm(self, known: KnownDays) -> Array:
        """Give the ET of each day, never below 0; NaN where the day lacks what is needed."""
        return np.maximum(self.compute(known), 0.0)


def _drivers(known: KnownDays) -> DailyDrivers:
    return DailyDrivers(
        known.tmin_c,
        known.tmax_c,
        known.vapour_pressure_kpa,
        known.wind_m_s,
        known.solar_mj_m2_d,
        known.place.latitude_deg,
        known.place.elevation_m,
        known.day_of_year,
    )


def _mean_c(known: KnownDays) -> Array:
    return atmosphere.mean_temperature(known.tmin_c, known.tmax_c)


def _slope_and_psychrometric(known: KnownDays) -> tuple[Array, Array]:
    slope = atmosphere.slope_of_saturation_vapour_pressure(_mean_c(known))
    return slope, atmosphere.psychrometric_constant(atmosphere.pressure_at_elevation(known.place.elevation_m))


def _fao56(known: KnownDays) -> Array:
    return fao56_daily_from_weather(_drivers(known))


def _hargreaves(known: KnownDays) -> Array:
    return reference_et.hargreaves(known.tmin_c, known.tmax_c, known.extraterrestrial_mj_m2_d)


def _priestley_taylor(known: KnownDays) -> Array:
    net = net_radiation_of_day(_drivers(known), net_radiation.net_longwave)
    return radiation_et.priestley_taylor(net, 0.0, *_slope_and_psychrometric(known))


def _makkink(known: KnownDays) -> Array:
    return radiation_et.makkink(known.solar_mj_m2_d, *_slope_and_psychrometric(known))


def _turc(known: KnownDays) -> Array:
    return radiation_et.turc(_mean_c(known), known.solar_mj_m2_d, known.rh_mean_pct)


def _fao24_radiation(known: KnownDays) -> Array:
    wind = fao24_et.daytime_wind(known.wind_m_s)
    return fao24_et.fao24_radiation(known.solar_mj_m2_d, known.rh_mean_pct, wind, *_slope_and_psychrometric(known))


def _blaney_criddle(known: KnownDays) -> Array:
    of_year = radiation.daylight_hours(known.place.latitude_deg, np.arange(1.0, 366.0)).sum()
    share = fao24_et.daylight_share(known.daylight_h, of_year)
    wind = fao24_et.daytime_wind(known.wind_m_s)
    sunshine = known.relative_sunshine_fraction
    return fao24_et.fao24_blaney_criddle(_mean_c(known), share, sunshine, known.rh_min_pct, wind)


def _oudin(known: KnownDays) -> Array:
    return radiation_et.oudin(_mean_c(known), known.extraterrestrial_mj_m2_d)


def _jensen_haise(known: KnownDays) -> Array:
    return radiation_et.jensen_haise(_mean_c(known), known.solar_mj_m2_d)


_ALL = ("temperature", "humidity", "radiation", "wind")
_ALL_BUT_WIND = ("temperature", "humidity", "radiation")
FAO56 = Formula(
    "fao56",
    "FAO-56 Penman–Monteith (Eq. 6)",
    _ALL,
    "everywhere; what is missing can be filled by FAO-56 ch. 3",
    _fao56,
)
HARGREAVES = Formula(
    "hargreaves",
    "Hargreaves (FAO-56 Eq. 52)",
    ("temperature",),
    "means of some days; too high where it is humid, too low where it is windy",
    _hargreaves,
)
_OTHERS = (
    Formula(
        "priestley-taylor",
        "Priestley–Taylor (1972)",
        _ALL_BUT_WIND,
        "humid, wet surroundings; too low where dry air blows in",
        _priestley_taylor,
    ),
    Formula(
        "makkink",
        "Makkink (1957; De Bruin 1987)",
        ("temperature", "radiation"),
        "mild, humid summers",
        _makkink,
    ),
    Formula("turc", "Turc (1961)", _ALL_BUT_WIND, "western Europe; means of ten days", _turc),
    Formula(
        "fao24-radiation",
        "FAO-24 radiation method (1977)",
        _ALL,
        "means of ten days; tends to lie above FAO-56",
        _fao24_radiation,
    ),
    Formula(
        "fao24-blaney-criddle",
        "FAO-24 Blaney–Criddle (1977)",
        _ALL,
        "means of a month; not on coasts, at the equator or high up",
        _blaney_criddle,
    ),
    Formula("oudin", "Oudin (2005)", ("temperature",), "whole catchments over a season", _oudin),
    Formula(
        "jensen-haise",
        "Jensen–Haise (1963)",
        ("temperature", "radiation"),
        "growing season of arid places; means of five days, for tall crops",
        _jensen_haise,
    ),
)
_BY_NAME = {formula.name: formula for formula in (FAO56, HARGREAVES, *_OTHERS)}
FORMULAS: tuple[str, ...] = tuple(_BY_NAME)


def formula_named(name: str) -> Formula:
    """Give a formula by the name a site writes. Raises PlanRefused where there is none of that name."""
    try:
        return _BY_NAME[name]
    except KeyError:
        raise PlanRefused(f'"{name}" is no formula of reference ET; write one of {", ".join(FORMULAS)}') from None


def formula_et(name: str, daily: pd.DataFrame, place: Place) -> Array:
    """Reference ET of every day by one formula, NaN on days that lack what it needs; nothing is filled.

    Parameters
    ----------
    name : str
        One of FORMULAS.
    daily : DataFrame
        With DAILY_COLUMNS.
    place : Place

    Returns
    -------
    eto_mm : ndarray (D,)
        Never below 0.

    Raises
    ------
    PlanRefused
        Where there is no formula of that name.
    """
    return formula_named(name).et_mm(known_days(daily, place))
