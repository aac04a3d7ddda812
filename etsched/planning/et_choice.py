"""Which formula gives a day's reference ET, by what the day has and by what the site asks for.

The order follows FAO-56. Its chapter 3 says how missing humidity, sun and wind are to be estimated, so that one
equation, Eq. 6, serves everywhere and plans of different years and feeds lie on one scale: missing data are filled,
the equation is not changed. Its one alternative is Hargreaves (Eq. 52, compared in chapter 4, Example 20), for days
that have temperatures alone, where Eq. 6 would rest on three estimates. All other formulas hold where they were
fitted, and are used only for a site that asks for one by name, on the days that have what it needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import atmosphere, fao24_et, net_radiation, radiation, radiation_et, reference_et
from etsched.errors import PlanRefused
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.planning.daily_et_steps import net_radiation_of_day
from etsched.planning.known_days import COLUMNS_FOR, KnownDays, known_days

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd
    from numpy.typing import NDArray

    from etsched.model.site import Place

    Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class DayHas:
    """What a day's row knows besides its temperatures; sunshine hours count as radiation."""

    humidity: bool
    wind: bool
    radiation: bool


@dataclass(frozen=True, slots=True)
class Formula:
    """One formula: the name a site writes, its title for readers, what it needs, and where it is valid."""

    name: str
    title: str
    needs: tuple[str, ...]
    suits: str

    @property
    def columns(self) -> tuple[tuple[tuple[str, ...], ...], ...]:
        """For each need the columns that meet it, as `known_days.COLUMNS_FOR` has them."""
        return tuple(COLUMNS_FOR[need] for need in self.needs)

    def can_use(self, has: DayHas) -> bool:
        """Say whether a day has all it needs."""
        return all(getattr(has, need) for need in self.needs if need != "temperature")


FAO56 = Formula(
    "fao56",
    "FAO-56 Penman–Monteith (Eq. 6)",
    ("temperature", "humidity", "radiation", "wind"),
    "everywhere; what is missing can be filled by FAO-56 ch. 3",
)
HARGREAVES = Formula(
    "hargreaves",
    "Hargreaves (FAO-56 Eq. 52)",
    ("temperature",),
    "dry inland climates, means of some days; too high in humid air, too low in wind",
)
_BY_NAME = {
    formula.name: formula
    for formula in (
        FAO56,
        HARGREAVES,
        Formula(
            "priestley-taylor",
            "Priestley–Taylor (1972)",
            ("temperature", "humidity", "radiation"),
            "humid, wet surroundings without dry air blowing in",
        ),
        Formula("makkink", "Makkink (1957; De Bruin 1987)", ("temperature", "radiation"), "mild, humid summers"),
        Formula(
            "turc",
            "Turc (1961)",
            ("temperature", "humidity", "radiation"),
            "western Europe, means of ten days",
        ),
        Formula(
            "fao24-radiation",
            "FAO-24 radiation method (1977)",
            ("temperature", "humidity", "radiation", "wind"),
            "means of ten days; tends to lie above FAO-56",
        ),
        Formula(
            "fao24-blaney-criddle",
            "FAO-24 Blaney–Criddle (1977)",
            ("temperature", "humidity", "radiation", "wind"),
            "means of a month; not on coasts, at the equator or high up",
        ),
        Formula("oudin", "Oudin (2005)", ("temperature",), "whole catchments over a season"),
        Formula(
            "jensen-haise",
            "Jensen–Haise (1963)",
            ("temperature", "radiation"),
            "growing season of arid places, means of five days; for tall crops, above grass",
        ),
    )
}
FORMULAS: tuple[str, ...] = tuple(_BY_NAME)


def formula_named(name: str) -> Formula:
    """Give a formula by the name a site writes. Raises PlanRefused where there is none of that name."""
    try:
        return _BY_NAME[name]
    except KeyError:
        raise PlanRefused(f'"{name}" is no formula of reference ET; write one of {", ".join(FORMULAS)}') from None


def choose_formula(has: DayHas, wanted: str = FAO56.name) -> Formula:
    """Choose a day's formula: the one asked for if the day has its data, else Eq. 6, with temperatures alone Eq. 52.

    Parameters
    ----------
    has : DayHas
    wanted : str
        One of FORMULAS; the default leaves the choice to FAO-56.

    Returns
    -------
    Formula
        Where it is FAO56 and the day lacks something, that is to be filled by FAO-56 ch. 3.

    Raises
    ------
    PlanRefused
        Where there is no formula of that name.
    """
    asked = formula_named(wanted)
    if asked is not FAO56 and asked.can_use(has):
        return asked
    return FAO56 if has.humidity or has.wind or has.radiation else HARGREAVES


@dataclass(frozen=True, slots=True, eq=False)
class ChosenEt:
    """Reference ET of each day, (D,), and the formula that gave it."""

    eto_mm: Array
    formulas: tuple[Formula, ...]


def et_by_choice(daily: pd.DataFrame, place: Place, filled: DailyDrivers, wanted: str = FAO56.name) -> ChosenEt:
    """Compute every day's reference ET by the formula that `choose_formula` gives it.

    Parameters
    ----------
    daily : DataFrame
        As `check_daily` wants it.
    place : Place
    filled : DailyDrivers
        The same days with their gaps filled, for Eq. 6.
    wanted : str
        One of FORMULAS.

    Returns
    -------
    ChosenEt
    """
    known = known_days(daily, place)
    chosen = tuple(choose_formula(has, wanted) for has in _what_days_have(known))
    eto = fao56_daily_from_weather(filled)
    for formula in set(chosen) - {FAO56}:
        mine = np.array([each is formula for each in chosen])
        eto = np.where(mine, _computed(formula.name, known), eto)
    return ChosenEt(eto, chosen)


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
    return _computed(formula_named(name).name, known_days(daily, place))


def what_days_have(daily: pd.DataFrame, place: Place) -> tuple[DayHas, ...]:
    """Say of every row of daily weather what it knows besides its temperatures."""
    return _what_days_have(known_days(daily, place))


def _what_days_have(known: KnownDays) -> tuple[DayHas, ...]:
    columns = (known.vapour_pressure_kpa, known.wind_m_s, known.solar_mj_m2_d)
    return tuple(DayHas(*row) for row in zip(*(np.isfinite(column).tolist() for column in columns), strict=True))


def _computed(name: str, known: KnownDays) -> Array:
    return np.maximum(_COMPUTED[name](known), 0.0)


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


_COMPUTED: dict[str, Callable[[KnownDays], Array]] = {
    "fao56": _fao56,
    "hargreaves": _hargreaves,
    "priestley-taylor": _priestley_taylor,
    "makkink": _makkink,
    "turc": _turc,
    "fao24-radiation": _fao24_radiation,
    "fao24-blaney-criddle": _blaney_criddle,
    "oudin": _oudin,
    "jensen-haise": _jensen_haise,
}
