"""The quick way to a day's ETo equals the plain one, in every shape and at every latitude."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from etsched.planning import daily_et
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.planning.daily_et_steps import (
    asce_daily_short_from_weather,
    asce_daily_tall_from_weather,
    fao56_daily_step_by_step,
)


def weather(shape: tuple[int, ...], seed: int = 1) -> DailyDrivers:
    """Give random weather, polar seasons and dew included."""
    draw = np.random.default_rng(seed)
    tmin = draw.uniform(-25.0, 28.0, shape)
    tmax = tmin + draw.uniform(0.0, 25.0, shape)
    return DailyDrivers(
        tmin_c=tmin,
        tmax_c=tmax,
        vapour_pressure_kpa=draw.uniform(0.05, 1.1, shape) * 0.6108 * np.exp(17.27 * tmin / (tmin + 237.3)),
        wind_m_s=draw.uniform(0.0, 12.0, shape),
        solar_mj_m2_d=draw.uniform(0.0, 33.0, shape),
        latitude_deg=draw.uniform(-90.0, 90.0, shape[-1:]),
        elevation_m=draw.uniform(-100.0, 4000.0, shape[-1:]),
        day_of_year=draw.integers(1, 367, (*shape[:-1], 1)).astype(float),
    )


@pytest.mark.parametrize("shape", [(1, 1), (7, 3), (365, 40), (3, 5000), (40000, 1), (4, 6, 5), (0, 3)])
def test_quick_equals_plain(shape: tuple[int, ...]) -> None:
    drivers = weather(shape)
    quick, plain = fao56_daily_from_weather(drivers), fao56_daily_step_by_step(drivers)
    assert quick.shape == plain.shape == shape
    np.testing.assert_allclose(quick, plain, rtol=0.0, atol=1e-9)


@pytest.mark.parametrize("shape", [(11, 5), (2, 2)])
@pytest.mark.parametrize("block_count", [1, 4, 7, 1000])
def test_where_blocks_end_changes_nothing(
    block_count: int, shape: tuple[int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    drivers = weather(shape)
    whole = fao56_daily_from_weather(drivers)
    monkeypatch.setattr(daily_et, "_BLOCK_COUNT", block_count)
    np.testing.assert_array_equal(fao56_daily_from_weather(drivers), whole)


def test_one_place_may_be_floats_and_one_day_may_be_a_float() -> None:
    series = weather((30, 1))
    place = replace(
        DailyDrivers(*(np.ravel(getattr(series, name)) for name in DailyDrivers.__dataclass_fields__)),
        latitude_deg=38.6,
        elevation_m=12.0,
    )
    quick = fao56_daily_from_weather(place)
    assert quick.shape == (30,)
    np.testing.assert_allclose(quick, fao56_daily_step_by_step(place), rtol=0.0, atol=1e-9)
    day = DailyDrivers(12.3, 21.5, 1.409, 2.078, 22.07, 50.8, 100.0, 187.0)
    assert fao56_daily_from_weather(day).shape == ()
    # FAO-56 Example 18.
    assert float(fao56_daily_from_weather(day)) == pytest.approx(3.88, abs=0.005)


def test_fields_of_different_shapes_meet() -> None:
    drivers = replace(weather((20, 4)), wind_m_s=2.0, tmin_c=np.full((20, 1), 10.0), tmax_c=np.full(4, 25.0))
    quick = fao56_daily_from_weather(drivers)
    np.testing.assert_allclose(quick, fao56_daily_step_by_step(drivers), rtol=0.0, atol=1e-9)


def test_a_gap_stays_a_gap_and_nothing_else_does() -> None:
    drivers = weather((20, 4))
    drivers.wind_m_s[3, 2] = np.nan
    missing = np.isnan(fao56_daily_from_weather(drivers))
    assert missing[3, 2]
    assert missing.sum() == 1


def test_inputs_are_not_written_on() -> None:
    drivers = weather((20, 4))
    before = {name: np.copy(getattr(drivers, name)) for name in DailyDrivers.__dataclass_fields__}
    fao56_daily_from_weather(drivers)
    for name, value in before.items():
        np.testing.assert_array_equal(getattr(drivers, name), value)


def test_a_freezing_foggy_day_asks_for_nothing() -> None:
    day = DailyDrivers(-20.0, -18.0, 0.15, 1.0, 0.0, 70.0, 0.0, 355.0)
    for equation in (
        fao56_daily_from_weather,
        fao56_daily_step_by_step,
        asce_daily_short_from_weather,
        asce_daily_tall_from_weather,
    ):
        assert float(equation(day)) == 0.0


def test_tall_reference_uses_more_than_short_on_a_dry_windy_day() -> None:
    day = DailyDrivers(15.0, 35.0, 1.0, 4.0, 28.0, 38.0, 100.0, 190.0)
    assert asce_daily_tall_from_weather(day) > 1.2 * asce_daily_short_from_weather(day)
