"""Air: what the published tables do not reach."""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import atmosphere

TEMPERATURES_C = np.linspace(-30.0, 50.0, 161)


def test_slope_is_the_derivative_of_the_saturation_curve() -> None:
    step = 1e-4
    above, below = (atmosphere.saturation_vapour_pressure(TEMPERATURES_C + sign * step) for sign in (1.0, -1.0))
    # Eq. 13 prints 4098 where the derivative of Eq. 11 has 17.27 × 237.3 = 4098.171.
    exact = (above - below) / (2.0 * step) * 4098.0 / (17.27 * 237.3)
    found = atmosphere.slope_of_saturation_vapour_pressure(TEMPERATURES_C)
    np.testing.assert_allclose(found, exact, rtol=1e-8)


def test_asce_slope_differs_by_its_rounded_constant_alone() -> None:
    fao = atmosphere.slope_of_saturation_vapour_pressure(TEMPERATURES_C)
    asce = atmosphere.slope_of_saturation_vapour_pressure_asce(TEMPERATURES_C)
    np.testing.assert_allclose(asce / fao, 2503.0 / (4098.0 * 0.6108), rtol=1e-14)


def test_mean_saturation_exceeds_saturation_at_the_mean() -> None:
    both = atmosphere.mean_saturation_vapour_pressure(10.0, 30.0)
    assert both > atmosphere.saturation_vapour_pressure(20.0)


def test_all_roads_to_the_vapour_pressure_meet_in_saturated_air() -> None:
    at_20 = atmosphere.saturation_vapour_pressure(20.0)
    assert atmosphere.vapour_pressure_from_dewpoint(20.0) == at_20
    assert atmosphere.vapour_pressure_from_wet_bulb(20.0, 20.0, 0.066) == at_20
    assert atmosphere.vapour_pressure_from_rh_extremes(20.0, 20.0, 100.0, 100.0) == pytest.approx(at_20)
    assert atmosphere.vapour_pressure_from_rh_max(20.0, 100.0) == pytest.approx(at_20)
    assert atmosphere.vapour_pressure_from_rh_mean(20.0, 20.0, 100.0) == pytest.approx(at_20)
    assert atmosphere.vapour_pressure_from_rh(20.0, 100.0) == pytest.approx(at_20)


def test_highest_humidity_belongs_to_the_lowest_temperature() -> None:
    # FAO-56 Table 2.3 prints e°(15) = 1.705; 80 % of it.
    assert atmosphere.vapour_pressure_from_rh_max(15.0, 80.0) == pytest.approx(0.8 * 1.705, abs=4e-4)


def test_relative_humidity_gives_back_what_the_vapour_pressure_came_from() -> None:
    vapour = atmosphere.vapour_pressure_from_rh(TEMPERATURES_C, 37.0)
    np.testing.assert_allclose(atmosphere.relative_humidity(vapour, TEMPERATURES_C), 37.0, rtol=1e-13)


def test_dry_air_cools_the_wet_bulb_more() -> None:
    constant = atmosphere.psychrometer_constant(100.0)
    assert constant == pytest.approx(0.0662)
    damp, dry = atmosphere.vapour_pressure_from_wet_bulb(25.0, np.array([20.0, 15.0]), constant)
    assert damp > dry > 0.0


def test_every_step_broadcasts_days_over_sites_and_keeps_a_gap_a_gap() -> None:
    tmin, tmax = np.array([[10.0], [np.nan]]), np.array([20.0, 25.0, 30.0])
    vapour = atmosphere.vapour_pressure_from_rh_extremes(tmin, tmax, 40.0, 90.0)
    assert vapour.shape == (2, 3)
    assert np.isnan(vapour[1]).all()
    assert not np.isnan(vapour[0]).any()
