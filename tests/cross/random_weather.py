"""Ten thousand random station-days and station-hours, the same in every run."""

from __future__ import annotations

import numpy as np

from etsched.planning.daily_et import DailyDrivers
from etsched.planning.hourly_et import HourlyDrivers

DAYS_COUNT, SITES_COUNT = 250, 40
HOURS_COUNT = 250
FIRST_DAY = "2023-02-10"  # 250 days from here hold both solstices' sides and no 29 February


def saturation_kpa(temperature_c: np.ndarray) -> np.ndarray:
    """Saturation vapour pressure, written here again so that no code under test makes the weather."""
    return 0.6108 * np.exp(17.27 * temperature_c / (temperature_c + 237.3))


def days(latitude_deg: float = 89.0) -> DailyDrivers:
    """Give days in a row for sites up to a latitude, from frost to desert."""
    draw = np.random.default_rng(56)
    shape = (DAYS_COUNT, SITES_COUNT)
    tmin = draw.uniform(-15.0, 28.0, shape)
    tmax = tmin + draw.uniform(0.5, 22.0, shape)
    return DailyDrivers(
        tmin_c=tmin,
        tmax_c=tmax,
        vapour_pressure_kpa=saturation_kpa(tmin) * draw.uniform(0.3, 1.0, shape),
        wind_m_s=draw.uniform(0.1, 9.0, shape),
        solar_mj_m2_d=draw.uniform(0.5, 32.0, shape),
        latitude_deg=draw.uniform(-latitude_deg, latitude_deg, SITES_COUNT),
        elevation_m=draw.uniform(-50.0, 3500.0, SITES_COUNT),
        day_of_year=np.arange(DAYS_COUNT)[:, None] + 41.0,
    )


def hours(latitude_deg: float = 60.0) -> HourlyDrivers:
    """Give hours in a row for sites up to a latitude; solar radiation follows no sun."""
    draw = np.random.default_rng(53)
    shape = (HOURS_COUNT, SITES_COUNT)
    temperature = draw.uniform(-10.0, 42.0, shape)
    clock = np.arange(HOURS_COUNT)[:, None]
    return HourlyDrivers(
        temperature_c=temperature,
        vapour_pressure_kpa=saturation_kpa(temperature) * draw.uniform(0.15, 1.0, shape),
        wind_m_s=draw.uniform(0.1, 9.0, shape),
        solar_mj_m2_h=draw.uniform(0.0, 3.6, shape),
        latitude_deg=draw.uniform(-latitude_deg, latitude_deg, SITES_COUNT),
        longitude_deg=draw.uniform(-180.0, 180.0, SITES_COUNT),
        elevation_m=draw.uniform(-50.0, 3500.0, SITES_COUNT),
        day_of_year=1.0 + (170 + clock // 24) % 365,
        utc_h=clock % 24 + 0.5,
    )
