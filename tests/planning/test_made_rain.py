"""The made rain of the virtual areas: its long run is that of its parameters, its wet days hang together."""

import numpy as np
import pandas as pd
import pytest

from tests.bench import _made_rain, _seasons
from tests.bench._made_rain import EVEN, LIGHT, SUMMER
from tests.cross import station_years

DAYS = pd.date_range("1900-01-01", periods=365 * 120, freq="D")


@pytest.mark.parametrize("year", [EVEN, LIGHT, SUMMER])
def test_in_the_long_run_a_months_rain_is_that_of_its_parameters(year):
    rain = _made_rain.rain_of(DAYS, year, 1)
    for month in range(1, 13):
        of_month = rain[DAYS.month == month]
        # About 3,600 days a month: two standard errors of a share of 0.5 are under 0.02, with runs some 0.03.
        assert (of_month > 0.0).mean() == pytest.approx(year.wet_share[month - 1], abs=0.03)
        wet = of_month[of_month > 0.0]
        assert wet.mean() == pytest.approx(year.wet_day_mm[month - 1], rel=0.15)
        assert wet.min() >= 0.1


def test_a_wet_day_follows_a_wet_one_more_often():
    wet = _made_rain.rain_of(DAYS, EVEN, 2) > 0.0
    assert wet[1:][wet[:-1]].mean() == pytest.approx(0.25 + 0.75 * 0.3, abs=0.02)
    assert wet[1:][~wet[:-1]].mean() == pytest.approx(0.75 * 0.3, abs=0.02)


def test_the_same_seed_draws_the_same_rain_and_another_another():
    one, other = (_made_rain.rain_of(DAYS[:400], EVEN, seed) for seed in (5, 6))
    np.testing.assert_array_equal(one, _made_rain.rain_of(DAYS[:400], EVEN, 5))
    assert (one != other).any()


@pytest.mark.skipif(station_years.pvlib_files() is None, reason=station_years.PVLIB_NEEDED)
def test_every_typical_year_is_a_season_with_rain_of_its_own():
    seasons = _seasons.made_rain_seasons(2)
    assert len({season.name for season in seasons}) == len(seasons) == 6
    for season in seasons:
        fell = season.daily["rain_mm"]
        assert fell.notna().all()
        during = fell[str(season.first) : str(season.last)]
        assert (during >= 1.0).mean() == pytest.approx(season.rain.wet_share)
        # Nothing but the rain is changed.
        whole = next(y for y in station_years.typical() if y.place == season.place).daily.loc[fell.index]
        pd.testing.assert_frame_equal(season.daily.drop(columns="rain_mm"), whole.drop(columns="rain_mm"))
