"""Sun and radiation: closed sums, the polar seasons, and what the published tables do not reach."""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import net_radiation, radiation, sun_position

DAYS = np.arange(1, 367)[:, None]
LATITUDES_DEG = np.array([-90.0, -78.0, -66.6, -40.0, 0.0, 23.5, 51.0, 66.6, 70.0, 89.9, 90.0])


@pytest.mark.parametrize("longitude_deg", [-180.0, -122.3, 0.0, 77.7])
def test_hours_add_up_to_the_day_at_every_latitude(longitude_deg: float) -> None:
    day = radiation.extraterrestrial_radiation(LATITUDES_DEG, DAYS)
    total = np.zeros_like(day)
    for hour in range(24):
        angle = sun_position.solar_hour_angle(DAYS, hour + 0.5, longitude_deg)
        total += radiation.hourly_extraterrestrial_radiation(LATITUDES_DEG, DAYS, angle)
    np.testing.assert_allclose(total, day, atol=1e-9)


def test_sun_that_does_not_rise_gives_nothing() -> None:
    assert radiation.sunset_hour_angle(80.0, 355) == 0.0
    assert radiation.daylight_hours(80.0, 355) == 0.0
    assert radiation.extraterrestrial_radiation(80.0, 355) == 0.0
    assert radiation.hourly_extraterrestrial_radiation(80.0, 355, np.linspace(-3.1, 3.1, 24)).max() == 0.0
    assert radiation.solar_from_sunshine(0.0, 0.0, 0.0) == 0.0


def test_sun_that_does_not_set_shines_all_day() -> None:
    assert radiation.sunset_hour_angle(80.0, 172) == pytest.approx(np.pi)
    assert radiation.daylight_hours(80.0, 172) == pytest.approx(24.0)
    assert radiation.hourly_extraterrestrial_radiation(80.0, 172, np.linspace(-3.1, 3.1, 24)).min() > 0.5


def test_polar_seasons_are_mirrored_in_the_south() -> None:
    assert radiation.daylight_hours(-80.0, 172) == 0.0
    assert radiation.daylight_hours(-80.0, 355) == pytest.approx(24.0)


def test_cloudiness_of_a_day_without_sun_is_the_darkest() -> None:
    np.testing.assert_array_equal(net_radiation.relative_shortwave(np.array([0.0, 5.0]), 0.0), [0.3, 1.0])


def test_cloudiness_is_held_to_its_bounds() -> None:
    found = net_radiation.relative_shortwave(np.array([1.0, 10.0, 25.0, np.nan]), 20.0)
    np.testing.assert_array_equal(found, [0.3, 0.5, 1.0, np.nan])


def test_a_dull_day_still_loses_long_waves() -> None:
    dull = net_radiation.net_longwave(10.0, 20.0, 1.0, net_radiation.relative_shortwave(0.5, 30.0))
    assert 0.0 < dull < 1.0


def test_longwave_variants_differ_by_their_constant_alone() -> None:
    daily = net_radiation.net_longwave_asce(5.0, 25.0, 1.2, 0.7) / net_radiation.net_longwave(5.0, 25.0, 1.2, 0.7)
    assert daily == pytest.approx(4.901 / 4.903, rel=1e-12)
    hourly = net_radiation.hourly_net_longwave_asce(15.0, 1.2, 0.7)
    assert hourly / net_radiation.hourly_net_longwave(15.0, 1.2, 0.7) == pytest.approx(2.042 / 2.043, rel=1e-12)


def test_a_day_of_equal_hours_loses_what_the_day_loses() -> None:
    hourly = 24.0 * net_radiation.hourly_net_longwave(15.0, 1.2, 0.7)
    assert hourly == pytest.approx(net_radiation.net_longwave(15.0, 15.0, 1.2, 0.7), rel=1e-4)


def test_a_calibrated_angstrom_moves_sun_and_clear_sky_alike() -> None:
    # All day sunny is a clear sky, whatever the constants.
    assert radiation.solar_from_sunshine(12.0, 12.0, 30.0, 0.2, 0.6) == pytest.approx(0.8 * 30.0)
    assert radiation.clear_sky_from_angstrom(30.0, 0.2, 0.6) == pytest.approx(0.8 * 30.0)
    assert radiation.solar_from_sunshine(0.0, 12.0, 30.0) == pytest.approx(7.5)


def test_temperature_ranges_other_stations_and_islands_by_hand() -> None:
    assert radiation.solar_from_temperature_range(10.0, 26.0, 30.0) == pytest.approx(0.16 * 4.0 * 30.0)
    assert radiation.solar_from_other_station(20.0, 40.0, 38.0) == pytest.approx(19.0)
    assert radiation.solar_on_island(30.0) == pytest.approx(17.0)


def test_full_clear_sky_sees_height_vapour_and_dust() -> None:
    # Eq. D.1–D.4 by hand at the zenith, 100 kPa, dry air: KB = 0.98 exp(−0.146 − 0.075 × 2.1^0.4) = 0.7658,
    # KD = 0.35 − 0.36 KB = 0.0743.
    assert radiation.clear_sky_full(1.0, np.pi / 2.0, 0.0, 100.0) == pytest.approx(0.8401, abs=2e-4)
    low, high = radiation.clear_sky_full(30.0, 0.7, 1.0, np.array([101.3, 75.0]))
    assert high > low
    dry, damp = radiation.clear_sky_full(30.0, 0.7, np.array([0.5, 3.0]), 101.3)
    assert dry > damp
    assert radiation.clear_sky_full(30.0, 0.7, 1.0, 101.3, turbidity_factor=0.5) < low


def test_little_beam_leaves_diffuse_light_by_the_other_branch() -> None:
    # KB = 0.98 exp(−0.146 / 0.08 − 0.075 × (2.1 / 0.08)^0.4) = 0.1198 < 0.15, so KD = 0.18 + 0.82 KB = 0.2782.
    found = radiation.clear_sky_full(1.0, np.arcsin(0.08), 0.0, 100.0)
    assert found == pytest.approx(0.3980, abs=2e-4)


def test_full_clear_sky_at_the_horizon_is_finite() -> None:
    found = radiation.clear_sky_full(np.array([0.0, 0.1]), np.array([-0.5, 0.0]), 2.0, 101.3)
    assert found[0] == 0.0
    # The beam is gone; 0.18 of what is left is diffuse.
    assert found[1] == pytest.approx(0.018, abs=1e-6)


def test_sun_stands_where_it_should() -> None:
    equinox = 81.0
    declination = radiation.solar_declination(equinox)
    assert declination == pytest.approx(0.0, abs=0.01)
    assert sun_position.sun_elevation(0.0, declination, 0.0) == pytest.approx(np.pi / 2.0, abs=0.01)
    assert sun_position.sun_elevation(50.0, declination, 0.0) == pytest.approx(np.deg2rad(40.0), abs=0.01)
    assert sun_position.sun_elevation(50.0, declination, np.pi) == pytest.approx(-np.deg2rad(40.0), abs=0.01)


def test_sun_is_at_the_horizon_at_the_sunset_angle() -> None:
    latitudes = np.array([-50.0, 0.0, 60.0])
    sunset = radiation.sunset_hour_angle(latitudes, DAYS)
    elevation = sun_position.sun_elevation(latitudes, radiation.solar_declination(DAYS), sunset)
    np.testing.assert_allclose(elevation, 0.0, atol=1e-12)


def test_noon_comes_with_the_longitude_and_the_clock_wraps() -> None:
    correction = float(sun_position.seasonal_correction(100.0))
    noon = 12.0 - correction
    assert sun_position.solar_hour_angle(100.0, noon, 0.0) == pytest.approx(0.0, abs=1e-12)
    assert sun_position.solar_hour_angle(100.0, noon + 8.0, -120.0) == pytest.approx(0.0, abs=1e-12)
    angles = sun_position.solar_hour_angle(100.0, np.arange(0.0, 48.0, 0.25), 170.0)
    assert angles.min() >= -np.pi
    assert angles.max() <= np.pi


def test_soil_heat_of_the_hour_is_larger_by_night() -> None:
    np.testing.assert_allclose(net_radiation.soil_heat_hourly(np.array([2.0, -0.2])), [0.2, -0.1])
    np.testing.assert_allclose(net_radiation.soil_heat_hourly_tall(np.array([2.0, -0.2])), [0.08, -0.04])
