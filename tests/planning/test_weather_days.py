"""Weather becomes days: what is filled, where rain falls within a day, what stands in beyond the file."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from etsched.frames.weather import HOURLY_COLUMNS, Weather
from etsched.model.site import RainRule
from etsched.planning.weather_days import days_from_weather, drivers, extend
from tests.planning.made import site, weather

PLACE = site().place


def test_the_best_humidity_a_row_holds_is_taken():
    sky = weather(days=5, dewpoint_c=[8.0, np.nan, np.nan, np.nan, np.nan])
    sky.daily["rh_max_pct"] = [np.nan, 90.0, 90.0, np.nan, np.nan]
    sky.daily["rh_min_pct"] = [np.nan, 30.0, np.nan, np.nan, np.nan]
    sky.daily["rh_mean_pct"] = [np.nan, np.nan, np.nan, 55.0, np.nan]
    chosen, filled = drivers(sky.daily, PLACE)

    def e0(t):
        return 0.6108 * np.exp(17.27 * t / (t + 237.3))

    low, high = e0(16.0), e0(35.0)
    expected = [e0(8.0), (low * 0.9 + high * 0.3) / 2, low * 0.9, 0.55 * (low + high) / 2, low]
    assert chosen.vapour_pressure_kpa == pytest.approx(expected)
    assert [bool(marks) for marks in filled] == [False, False, False, False, True]


def test_what_is_missing_is_filled_and_said():
    sky = weather(days=3, wind_m_s=np.nan, solar_mj_m2_d=np.nan, rain_mm=np.nan)
    chosen, filled = drivers(sky.daily, PLACE)
    assert np.all(np.asarray(chosen.wind_m_s) == 2.0)
    assert len(filled[0]) == 3
    assert any("wind taken as 2 m/s" in text for text in filled[0])


def _with_hours(rain_hour, first=date(2026, 7, 1), zone="America/Denver"):
    sky = weather(first=first, days=3, rain_mm=[0.0, 10.0, 0.0])
    start = pd.Timestamp(first, tz=zone)
    hours = pd.date_range(start, start + pd.Timedelta(days=3), freq="h", inclusive="left", unit="us").tz_convert("UTC")
    hourly = pd.DataFrame(np.nan, index=hours, columns=list(HOURLY_COLUMNS))
    clock = hours.tz_convert(zone)
    hourly["solar_mj_m2_h"] = np.where((clock.hour >= 6) & (clock.hour < 18), 2.0, 0.0)
    hourly["rain_mm"] = 0.0
    hourly.loc[(clock.day == first.day + 1) & (clock.hour == rain_hour), "rain_mm"] = 10.0
    return Weather(sky.daily, hourly, "made for a test")


@pytest.mark.parametrize(("hour", "before"), [(3, 0.0), (9, 0.25), (12, 0.5), (20, 1.0)])
def test_rain_falls_at_its_hour(hour, before):
    days = days_from_weather(_with_hours(hour), PLACE, RainRule.ALL)
    pulses = np.flatnonzero(days.pulse_mm[1])
    assert len(pulses) == 1
    assert days.pulse_mm[1, pulses[0]] == pytest.approx(10.0)
    assert days.et_before_fraction[1, pulses[0]] == pytest.approx(before)


def test_rain_whose_hour_nobody_knows_comes_after_the_days_use():
    sky = _with_hours(9)
    sky.hourly["rain_mm"] = 0.0
    days = days_from_weather(sky, PLACE, RainRule.ALL)
    pulse = np.flatnonzero(days.pulse_mm[1])
    assert days.et_before_fraction[1, pulse] == pytest.approx([1.0])
    plain = days_from_weather(weather(days=3, rain_mm=[0.0, 10.0, 0.0]), PLACE, RainRule.ALL)
    assert plain.et_before_fraction.tolist() == [[1.0]] * 3


def test_rain_of_another_gauge_falls_in_the_hours_that_are_known():
    sky = _with_hours(9)
    sky.daily.loc[sky.daily.index[1], "rain_mm"] = 14.0
    days = days_from_weather(sky, PLACE, RainRule.ALL)
    assert days.pulse_mm[1].sum() == pytest.approx(14.0)


def test_the_days_beyond_the_weather_are_the_mean_of_seven():
    days = days_from_weather(weather(days=10, rain_mm=4.0), PLACE, RainRule.ALL)
    longer = extend(days, date(2026, 7, 3))
    assert len(longer.eto_mm) == 14
    assert longer.eto_mm[10:] == pytest.approx([days.eto_mm[3:].mean()] * 4)
    assert longer.pulse_mm[10:].sum() == 0.0
    assert [record.standing_in for record in longer.records] == [False] * 10 + [True] * 4
    assert longer.records[-1].day == days.first + timedelta(days=13)
