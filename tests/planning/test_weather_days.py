"""Weather becomes days: what is filled, where rain falls within a day, what stands in beyond the file."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from etsched.errors import PlanRefused
from etsched.frames.weather import HOURLY_COLUMNS, Weather
from etsched.model.site import RainRule
from etsched.planning.weather_days import days_from_weather, extend
from tests.planning.made import site, weather

SITE = site(rain_rule=RainRule.ALL)


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
    days = days_from_weather(_with_hours(hour), SITE)
    pulses = np.flatnonzero(days.pulse_mm[1])
    assert len(pulses) == 1
    assert days.pulse_mm[1, pulses[0]] == pytest.approx(10.0)
    assert days.et_before_fraction[1, pulses[0]] == pytest.approx(before)


def test_rain_whose_hour_nobody_knows_comes_after_the_days_use():
    sky = _with_hours(9)
    sky.hourly["rain_mm"] = 0.0
    days = days_from_weather(sky, SITE)
    pulse = np.flatnonzero(days.pulse_mm[1])
    assert days.et_before_fraction[1, pulse] == pytest.approx([1.0])
    plain = days_from_weather(weather(days=3, rain_mm=[0.0, 10.0, 0.0]), SITE)
    assert plain.et_before_fraction.tolist() == [[1.0]] * 3


def test_rain_of_another_gauge_falls_in_the_hours_that_are_known():
    sky = _with_hours(9)
    sky.daily.loc[sky.daily.index[1], "rain_mm"] = 14.0
    days = days_from_weather(sky, SITE)
    assert days.pulse_mm[1].sum() == pytest.approx(14.0)


def test_the_days_beyond_the_weather_are_the_mean_of_seven():
    days = days_from_weather(weather(days=10, rain_mm=4.0), SITE)
    longer = extend(days, date(2026, 7, 3))
    assert len(longer.eto_mm) == 14
    assert longer.eto_mm[10:] == pytest.approx([days.eto_mm[3:].mean()] * 4)
    assert longer.pulse_mm[10:].sum() == 0.0
    assert [record.standing_in for record in longer.records] == [False] * 10 + [True] * 4
    assert longer.records[-1].day == days.first + timedelta(days=13)


def test_a_day_without_temperatures_takes_the_mean_of_the_seven_before_it_and_keeps_its_rain():
    sky = weather(days=10, rain_mm=[0.0] * 8 + [6.0, 0.0], tmax_c=[30.0 + n for n in range(10)])
    whole = days_from_weather(sky, SITE)
    sky.daily.loc[sky.daily.index[8], ["tmin_c", "tmax_c"]] = np.nan
    days = days_from_weather(sky, SITE)
    assert days.eto_mm[8] == pytest.approx(whole.eto_mm[1:8].mean())
    assert days.records[8].standing_in
    assert days.rain_mm[8] == 6.0
    assert days.eto_mm[9] == whole.eto_mm[9]


def test_too_few_days_to_stand_in_for_one_without_temperatures():
    sky = weather(days=10)
    sky.daily.loc[sky.daily.index[3], "tmax_c"] = np.nan
    with pytest.raises(PlanRefused, match="day 4 of the weather has no usable temperatures"):
        days_from_weather(sky, SITE)


def test_a_filled_day_carries_a_range_and_a_whole_one_none():
    sky = weather(days=3, wind_m_s=[2.0, np.nan, 2.0])
    whole, filled, _ = days_from_weather(sky, SITE).records
    assert whole.eto_low_mm == whole.eto_mm == whole.eto_high_mm
    assert filled.eto_low_mm < filled.eto_mm < filled.eto_high_mm
    assert filled.filled == ("wind taken as 2 m/s (FAO-56 ch. 3)",)


def test_a_site_may_ask_for_another_formula_where_its_data_are_known():
    sky = weather(days=3, solar_mj_m2_d=[27.0, np.nan, 27.0])
    days = days_from_weather(sky, site(et_formula="makkink"))
    assert days.records[0].filled == ("ETo by Makkink (1957; De Bruin 1987)",)
    assert "radiation estimated" in days.records[1].filled[0]


def test_hargreaves_is_used_where_it_is_asked_for():
    days = days_from_weather(weather(days=2), site(et_formula="hargreaves"))
    assert days.records[0].filled == ("ETo by Hargreaves (FAO-56 Eq. 52)",)
    assert days.eto_mm[0] != days_from_weather(weather(days=2), site()).eto_mm[0]
