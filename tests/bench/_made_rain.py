"""Made rain, seeded, for typical years: a chain of wet and dry days and a depth for each wet one, by month.

- Whether a day is wet hangs on the day before alone (a Markov chain of two states): in a month of which a share f is
  wet, 0.75 f of the dry days and 0.25 + 0.75 f of the wet days are followed by a wet one, so that in the long run f of
  all days are (Geng and others 1986, from memory, to be verified).
- A wet day's depth is drawn from a gamma distribution of scale 1.83 m - 2.16 mm, where m is the month's mean depth
  of a wet day, and of the shape that gives this mean (the same, from memory, to be verified). It is at least 0.1 mm,
  the least that a gauge tells (own choice).
- The shares and depths of the three climates below are round numbers of our own choice, and records of no place: rain
  that comes evenly, rain of a summer half-year, and frequent light rain.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from tests.bench._forecast import WET_MM, RainClimate

LEAST_MM = 0.1
_AFTER_DRY, _MORE_AFTER_WET = 0.75, 0.25
_SCALE_PER_MM, _SCALE_LESS_MM = 1.83, 2.16


@dataclass(frozen=True, slots=True)
class RainYear:
    """Share of wet days and mean depth of a wet day, mm, of every month from January on."""

    wet_share: tuple[float, ...]
    wet_day_mm: tuple[float, ...]


EVEN = RainYear((0.30,) * 12, (11.0,) * 12)
SUMMER = RainYear(
    (0.15, 0.15, 0.20, 0.20, 0.35, 0.50, 0.50, 0.50, 0.50, 0.35, 0.20, 0.15),
    (8.0, 8.0, 9.0, 10.0, 12.0, 13.0, 11.0, 12.0, 13.0, 12.0, 9.0, 8.0),
)
LIGHT = RainYear((0.50,) * 12, (4.5,) * 12)


def rain_of(days: pd.DatetimeIndex, year: RainYear, seed: int) -> np.ndarray:
    """Draw the rain of days in a row, mm."""
    rng = np.random.default_rng(seed)
    share, mean = (np.array(each)[days.month - 1] for each in (year.wet_share, year.wet_day_mm))
    drawn = rng.random(len(days))
    wet = np.zeros(len(days), dtype=bool)
    wet[0] = drawn[0] < share[0]
    for day in range(1, len(days)):
        wet[day] = drawn[day] < _AFTER_DRY * share[day] + _MORE_AFTER_WET * wet[day - 1]
    scale = _SCALE_PER_MM * mean - _SCALE_LESS_MM
    depth = rng.gamma(mean / scale, scale)
    return np.where(wet, np.maximum(depth, LEAST_MM), 0.0)


def climate_of(rain_mm: np.ndarray) -> RainClimate:
    """Count on the rain itself what the forecast model leans on."""
    wet = rain_mm >= WET_MM
    return RainClimate(float(wet.mean()), float(rain_mm[wet].mean()))
