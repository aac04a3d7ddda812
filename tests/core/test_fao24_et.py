"""FAO-24's two methods by hand; radiation of 1 / 0.408 MJ/m² evaporates 1 mm."""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import fao24_et

ONE_MM = 1.0 / 0.408


def test_daytime_wind_by_hand() -> None:
    # Twice the night's wind: 2 and 1 m/s have the mean 1.5.
    assert fao24_et.daytime_wind(1.5) == pytest.approx(2.0)
    assert fao24_et.daytime_wind(1.5, 1.0) == pytest.approx(1.5)
    assert fao24_et.daytime_wind(2.0, 3.0) == pytest.approx(3.0)


def test_relative_sunshine_by_hand() -> None:
    # Eq. 35: 0.25 of Ra without sun, 0.75 under a whole day's; beyond them the sensor errs, or the constants.
    passed = np.array([0.1, 0.25, 0.5, 0.75, 0.9]) * 40.0
    assert fao24_et.relative_sunshine(passed, 40.0) == pytest.approx([0.0, 0.0, 0.5, 1.0, 1.0])
    assert fao24_et.relative_sunshine(0.0, 0.0) == 0.0
    assert np.isnan(fao24_et.relative_sunshine(np.nan, 40.0))


def test_daylight_share_at_the_equator() -> None:
    # Twelve hours every day: 100 / 365, which FAO-24 prints as 0.27.
    assert fao24_et.daylight_share(12.0, 12.0 * 365.0) == pytest.approx(0.27, abs=0.005)


def test_radiation_method_by_hand() -> None:
    # b = 1.066 − 0.065 + 0.09 − 0.02 − 0.07875 − 0.0044 = 0.98785; × 0.75 × 8 − 0.3
    found = fao24_et.fao24_radiation(8.0 * ONE_MM, 50.0, 2.0, 0.15, 0.05)
    assert found == pytest.approx(0.98785 * 6.0 - 0.3)


def test_blaney_criddle_by_hand() -> None:
    # a = 0.172 − 0.8 − 1.41 = −2.038
    # b = 0.81917 − 0.163688 + 0.8564 + 0.196947 − 0.1909888 − 0.071604 = 1.4462362
    # f = 0.3 × (9.2 + 8.13) = 5.199
    found = fao24_et.fao24_blaney_criddle(20.0, 0.3, 0.8, 40.0, 3.0)
    assert found == pytest.approx(-2.038 + 1.4462362 * 5.199)


def test_drier_and_windier_days_take_more_water() -> None:
    humidity, wind = np.array([[20.0], [80.0]]), np.array([1.0, 5.0])
    for found in (
        fao24_et.fao24_radiation(20.0, humidity, wind, 0.15, 0.05),
        fao24_et.fao24_blaney_criddle(25.0, 0.3, 0.8, humidity, wind),
    ):
        assert (np.diff(found, axis=0) < 0.0).all()
        assert (np.diff(found, axis=1) > 0.0).all()
