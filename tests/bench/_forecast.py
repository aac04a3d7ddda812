"""A seeded forecast model: what somebody at dusk is told of the seven days to come. Own model, no source.

It stands between the real weather and the planner, so that nothing after tonight reaches the planner but what this
model says. Errors grow with lead time, from the first day ahead to the seventh:

- temperature: the high is off by a normal error of 1.0 to 2.8 °C, the low by 0.7 of the same error; errors of
  neighbouring days of one forecast hang together (0.7);
- sun, vapour pressure and wind: off by a factor, log-normal with 10 to 25 %, 4 to 10 % and 15 to 35 %;
- rain: an index of 2.0 (first day) down to 0.6 (seventh) standard deviations tells wet days from dry ones. The chance
  of rain is what the index and the climate of the place make of it by Bayes' rule, so that it comes true as often as
  it says. From 50 % on an amount is forecast: on a wet day the real one times a log-normal factor (40 to 80 %), on a
  dry day (a false alarm) one drawn from the climate. Below 50 % no rain is forecast; a wet day is then a miss.

Every forecast is drawn afresh from the seed and its day of issue; what was said yesterday does not bind today's,
where real forecasts change more slowly.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.frames.weather import Weather

if TYPE_CHECKING:
    from collections.abc import Callable

AHEAD_D = 7
BEFORE_D = 13
WET_MM = 1.0
CARRIED = 0.7


@dataclass(frozen=True, slots=True)
class RainClimate:
    """How often a day is wet (at least 1 mm) at a place, and how much falls on such a day on average."""

    wet_share: float
    wet_day_mm: float


def _grows(first: float, seventh: float) -> np.ndarray:
    return np.linspace(first, seventh, AHEAD_D)


def forecast(real: pd.DataFrame, issued: date, rain: RainClimate, seed: int) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Tell the seven days after `issued`: daily rows, and the chance of rain in percent; `real` holds those days."""
    rng = np.random.default_rng([seed, issued.toordinal()])
    told = real.loc[str(issued + timedelta(days=1)) : str(issued + timedelta(days=AHEAD_D))].copy()
    if len(told) != AHEAD_D:
        raise ValueError(f"the real weather ends before {issued + timedelta(days=AHEAD_D)}")
    warmer = _grows(1.0, 2.8) * _carried_noise(rng)
    high = told["tmax_c"].to_numpy() + warmer
    low = told["tmin_c"].to_numpy() + CARRIED * warmer
    told["tmin_c"], told["tmax_c"] = np.minimum(low, high - 0.5), high
    factors = {
        name: np.exp(spread * rng.standard_normal(AHEAD_D) - spread**2 / 2.0)
        for name, spread in (
            ("solar_mj_m2_d", _grows(0.10, 0.25)),
            ("vapour_pressure_kpa", _grows(0.04, 0.10)),
            ("wind_m_s", _grows(0.15, 0.35)),
        )
    }
    told = told.assign(**{name: told[name].to_numpy() * factor for name, factor in factors.items()})
    # Humidity is told by the vapour pressure alone; what else the file says of it would let the truth through.
    for name in ("rh_min_pct", "rh_max_pct", "rh_mean_pct", "dewpoint_c", "sunshine_h"):
        told[name] = np.nan
    told["rain_mm"], chance = _rain(told["rain_mm"].to_numpy(), rain, rng)
    told["is_forecast"] = True
    return told, pd.DataFrame({"rain_probability_pct": chance}, index=told.index)


def _carried_noise(rng: np.random.Generator) -> np.ndarray:
    drawn = rng.standard_normal(AHEAD_D)
    for lead in range(1, AHEAD_D):
        drawn[lead] = CARRIED * drawn[lead - 1] + np.sqrt(1.0 - CARRIED**2) * drawn[lead]
    return drawn


def _rain(real_mm: np.ndarray, rain: RainClimate, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    told_apart, spread = _grows(2.0, 0.6), _grows(0.4, 0.8)
    wet = real_mm >= WET_MM
    index = wet * told_apart + rng.standard_normal(AHEAD_D)
    odds = rain.wet_share / (1.0 - rain.wet_share) * np.exp(told_apart * index - told_apart**2 / 2.0)
    chance = odds / (1.0 + odds)
    near = real_mm * np.exp(spread * rng.standard_normal(AHEAD_D) - spread**2 / 2.0)
    alarm = rng.exponential(rain.wet_day_mm, AHEAD_D)
    amount = np.maximum(np.where(wet, near, alarm), WET_MM)
    return np.where(chance >= 0.5, amount, 0.0), np.rint(100.0 * chance)


def issuer(real: pd.DataFrame, rain: RainClimate, seed: int) -> Callable[[date], tuple[pd.DataFrame, pd.DataFrame]]:
    """A forecaster who knows `real` and speaks only through the model."""
    return lambda issued: forecast(real, issued, rain, seed)


def known_at_dusk(
    observed: pd.DataFrame, today: date, issue: Callable[[date], tuple[pd.DataFrame, pd.DataFrame]]
) -> Weather:
    """Two weeks of measured days up to today, and the forecast issued today; nothing else."""
    past = observed.loc[str(today - timedelta(days=BEFORE_D)) : str(today)].assign(is_forecast=False)
    told, chance = issue(today)
    daily = pd.concat([past, told])
    daily.index.name = "day"
    extra = chance.reindex(daily.index).assign(et0_feed_mm=np.nan)[["et0_feed_mm", "rain_probability_pct"]]
    return Weather(daily, None, "measured up to today, then a forecast model", extra=extra)


def teller(
    observed: pd.DataFrame, issue: Callable[[date], tuple[pd.DataFrame, pd.DataFrame]]
) -> Callable[[date], Weather]:
    """Tell what is known on the evening before a day is served; kept, so that every policy hears the same."""
    return cache(lambda serves: known_at_dusk(observed, serves - timedelta(days=1), issue))
