"""Which formula gives a day's reference ET, by what the day has and by what the site asks for.

The order follows FAO-56. Its chapter 3 says how missing humidity, sun and wind are to be estimated, so that one
equation, Eq. 6, serves everywhere and days of different years and feeds lie on one scale: missing data are filled,
the equation is not changed. Its one alternative is Hargreaves (Eq. 52, beside Eq. 6 in chapter 4, Example 20), for
days that have temperatures alone, where Eq. 6 would rest on three estimates. All other formulas hold where they were
fitted, and are used only for a site that asks for one by name, on the days that have what it needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.planning.et_formulas import FAO56, HARGREAVES, Formula, formula_named
from etsched.planning.known_days import KnownDays, known_days

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from etsched.model.site import Place


@dataclass(frozen=True, slots=True)
class DayHas:
    """What a day's row knows besides its temperatures; sunshine hours count as radiation."""

    humidity: bool
    wind: bool
    radiation: bool

    def enough_for(self, formula: Formula) -> bool:
        """Say whether the day has all that a formula needs."""
        return all(getattr(self, need) for need in formula.needs if need != "temperature")


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
    if asked is not FAO56 and has.enough_for(asked):
        return asked
    return FAO56 if has.humidity or has.wind or has.radiation else HARGREAVES


@dataclass(frozen=True, slots=True, eq=False)
class ChosenEt:
    """Reference ET of each day, (D,), and the formula that gave it."""

    eto_mm: NDArray[np.float64]
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
        eto = np.where(mine, formula.et_mm(known), eto)
    return ChosenEt(eto, chosen)


def what_days_have(daily: pd.DataFrame, place: Place) -> tuple[DayHas, ...]:
    """Say of every row of daily weather what it knows besides its temperatures."""
    return _what_days_have(known_days(daily, place))


def _what_days_have(known: KnownDays) -> tuple[DayHas, ...]:
    columns = (known.vapour_pressure_kpa, known.wind_m_s, known.solar_mj_m2_d)
    return tuple(DayHas(*row) for row in zip(*(np.isfinite(column).tolist() for column in columns), strict=True))
