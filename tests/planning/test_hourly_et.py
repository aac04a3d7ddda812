"""Hours: the cloudiness of the night, the polar seasons, and the sum over a day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from etsched.core import radiation, sun_position
from etsched.planning.daily_et import DailyDrivers, fao56_daily_from_weather
from etsched.planning.hourly_et import (
    FIRST_NIGHT_FRACTION,
    HourlyDrivers,
    asce_hourly_short_from_weather,
    asce_hourly_tall_from_weather,
    asce_relative_shortwave,
    fao56_hourly_from_weather,
    fao56_relative_shortwave,
)

LATITUDE_DEG, LONGITUDE_DEG, DAY = 38.0, -121.0, 200.0
HOURS = np.arange(72) + 0.5
ANGLE_RAD = sun_position.solar_hour_angle(DAY, HOURS, LONGITUDE_DEG)
SUNSET_RAD = float(radiation.sunset_hour_angle(LATITUDE_DEG, DAY))
CLEAR_MJ_M2_H = radiation.clear_sky_simple(
    radiation.hourly_extraterrestrial_radiation(LATITUDE_DEG, DAY, ANGLE_RAD), 100.0
)
ELEVATION_RAD = sun_position.sun_elevation(LATITUDE_DEG, radiation.solar_declination(DAY), ANGLE_RAD)
UP = np.abs(ANGLE_RAD) < SUNSET_RAD


def weather(share: np.ndarray | float) -> HourlyDrivers:
    """Give three days of a summer in a warm valley, whose sun shines at a share of a clear sky's."""
    return HourlyDrivers(
        temperature_c=25.0 + 8.0 * np.cos(ANGLE_RAD - 0.8),
        vapour_pressure_kpa=np.full(72, 1.3),
        wind_m_s=2.0 + np.cos(ANGLE_RAD - 1.0),
        solar_mj_m2_h=share * CLEAR_MJ_M2_H,
        latitude_deg=LATITUDE_DEG,
        longitude_deg=LONGITUDE_DEG,
        elevation_m=100.0,
        day_of_year=DAY,
        utc_h=HOURS,
    )


def night_after(hour: int) -> np.ndarray:
    """Give the indices of the hours of darkness that follow an hour of daylight."""
    dusk = hour + int(np.argmin(UP[hour:]))
    dawn = dusk + int(np.argmax(UP[dusk:]))
    return np.arange(dusk, dawn)


def test_fao56_carries_the_ratio_of_two_to_three_hours_before_sunset_through_the_night() -> None:
    hours_to_sunset = (SUNSET_RAD - ANGLE_RAD) * 12.0 / np.pi
    late = np.flatnonzero(UP & (hours_to_sunset > 2.0) & (hours_to_sunset < 3.0))[0]
    share = np.full(72, 0.5)
    share[late] = 0.8  # all other hours of the day are duller
    ratio = fao56_relative_shortwave(weather(share))
    night = night_after(late)
    assert len(night) > 5
    np.testing.assert_allclose(ratio[night], 0.8)
    np.testing.assert_allclose(ratio[UP], share[UP])


def test_a_series_that_begins_in_the_dark_takes_the_stated_share() -> None:
    dusk = int(np.argmin(UP))
    whole = weather(0.9)
    names = ("temperature_c", "vapour_pressure_kpa", "wind_m_s", "solar_mj_m2_h", "utc_h")
    cut = replace(whole, **{name: getattr(whole, name)[dusk:] for name in names})
    dark = np.arange(dusk, dusk + int(np.argmax(UP[dusk:]))) - dusk
    assert len(dark) > 5
    for ratio in (fao56_relative_shortwave(cut), asce_relative_shortwave(cut)):
        np.testing.assert_allclose(ratio[dark], FIRST_NIGHT_FRACTION)
        # The next night looks back on a day.
        np.testing.assert_allclose(ratio[24 + dark], 0.9)


def test_asce_carries_the_last_ratio_of_high_sun_until_the_sun_is_high_again() -> None:
    high = ELEVATION_RAD >= 0.3
    fall = np.flatnonzero(high[:-1] & ~high[1:])[0]
    rise = fall + 1 + int(np.argmax(high[fall + 1 :]))
    share = np.full(72, 0.5)
    share[fall] = 0.9
    share[fall + 1 : rise] = 0.35  # what a low sun seems to say is not listened to
    ratio = asce_relative_shortwave(weather(share))
    np.testing.assert_allclose(ratio[fall:rise], 0.9)
    assert ratio[rise] == pytest.approx(0.5)


def test_sites_side_by_side_keep_their_own_nights() -> None:
    one, other = weather(0.9), weather(0.4)
    both = replace(
        one,
        **{
            name: np.column_stack([getattr(one, name), getattr(other, name)])
            for name in ("temperature_c", "vapour_pressure_kpa", "wind_m_s", "solar_mj_m2_h")
        },
        latitude_deg=np.array([LATITUDE_DEG, LATITUDE_DEG]),
        utc_h=HOURS[:, None],
    )
    for equation in (fao56_hourly_from_weather, asce_hourly_short_from_weather, asce_hourly_tall_from_weather):
        np.testing.assert_allclose(equation(both), np.column_stack([equation(one), equation(other)]), rtol=1e-12)


def test_a_missing_afternoon_does_not_spread_into_the_night() -> None:
    drivers = weather(0.9)
    high = ELEVATION_RAD >= 0.3
    fall = np.flatnonzero(high[:-1] & ~high[1:])[1]
    drivers.solar_mj_m2_h[fall] = np.nan
    eto = asce_hourly_short_from_weather(drivers)
    assert np.isnan(eto).sum() == 1


def test_hours_of_a_day_make_about_the_day() -> None:
    drivers = weather(0.9)
    # The middle one of three days by the sun.
    start = int(np.flatnonzero(np.diff(ANGLE_RAD) < 0.0)[0]) + 1
    day = slice(start, start + 24)
    whole = DailyDrivers(
        tmin_c=drivers.temperature_c[day].min(),
        tmax_c=drivers.temperature_c[day].max(),
        vapour_pressure_kpa=1.3,
        wind_m_s=drivers.wind_m_s[day].mean(),
        solar_mj_m2_d=drivers.solar_mj_m2_h[day].sum(),
        latitude_deg=LATITUDE_DEG,
        elevation_m=100.0,
        day_of_year=DAY,
    )
    daily = float(fao56_daily_from_weather(whole))
    for equation in (fao56_hourly_from_weather, asce_hourly_short_from_weather):
        assert equation(drivers)[day].sum() == pytest.approx(daily, rel=0.1)


@pytest.mark.parametrize(("latitude_deg", "day_of_year"), [(85.0, 355.0), (85.0, 172.0), (-90.0, 355.0)])
def test_polar_seasons_are_ordinary(latitude_deg: float, day_of_year: float) -> None:
    drivers = replace(weather(0.5), latitude_deg=latitude_deg, day_of_year=day_of_year)
    for equation in (fao56_hourly_from_weather, asce_hourly_short_from_weather, asce_hourly_tall_from_weather):
        assert np.isfinite(equation(drivers)).all()
