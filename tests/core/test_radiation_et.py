"""The formulas of radiation and temperature by hand; radiation of 1 / 0.408 MJ/m² evaporates 1 mm."""

from __future__ import annotations

import numpy as np
import pytest

from etsched.core import radiation_et

ONE_MM = 1.0 / 0.408


def test_priestley_taylor_by_hand() -> None:
    # Δ 0.15, γ 0.05: three quarters of the energy; (9 − 1) mm of it; 1.26 × 0.75 × 8
    found = radiation_et.priestley_taylor(9.0 * ONE_MM, ONE_MM, 0.15, 0.05)
    assert found == pytest.approx(7.56)
    assert radiation_et.priestley_taylor(9.0 * ONE_MM, ONE_MM, 0.15, 0.05, 1.0) == pytest.approx(6.0)


def test_makkink_by_hand() -> None:
    assert radiation_et.makkink(8.0 * ONE_MM, 0.15, 0.05) == pytest.approx(0.65 * 0.75 * 8.0)


@pytest.mark.parametrize(
    ("temperature_c", "rh_pct", "expected_mm"),
    [
        # 20 / 35 × 0.013 × (23.8856 × 20 + 50) = 0.0074286 × 527.712
        (20.0, 80.0, 3.920146),
        (20.0, 50.0, 3.920146),
        (20.0, 15.0, 3.920146 * 1.5),  # 1 + 35 / 70
        (0.0, 80.0, 0.0),
        (-14.9, 15.0, 0.0),
        (-20.0, 80.0, 0.0),
    ],
)
def test_turc_by_hand(temperature_c: float, rh_pct: float, expected_mm: float) -> None:
    assert radiation_et.turc(temperature_c, 20.0, rh_pct) == pytest.approx(expected_mm, rel=1e-6)


def test_jensen_haise_by_hand() -> None:
    assert radiation_et.jensen_haise(17.0, 8.0 * ONE_MM) == pytest.approx(0.025 * 20.0 * 8.0)
    assert radiation_et.jensen_haise(-3.0, 8.0 * ONE_MM) == pytest.approx(0.0)


def test_oudin_by_hand() -> None:
    found = radiation_et.oudin(np.array([15.0, -5.0, -20.0]), 16.0 * ONE_MM)
    assert found == pytest.approx([3.2, 0.0, 0.0])


def test_formulas_take_arrays_that_broadcast_and_pass_unknown_days_on() -> None:
    warmth, sun = np.array([[10.0], [np.nan], [30.0]]), np.array([5.0, 25.0])
    for found in (
        radiation_et.turc(warmth, sun, 40.0),
        radiation_et.jensen_haise(warmth, sun),
        radiation_et.oudin(warmth, sun),
    ):
        assert found.shape == (3, 2)
        assert np.isnan(found[1]).all()
        assert (np.diff(found[[0, 2]], axis=0) > 0.0).all()
        assert (np.diff(found[[0, 2]], axis=1) > 0.0).all()
    assert radiation_et.makkink(sun, warmth / 100.0, 0.05).shape == (3, 2)
    assert radiation_et.priestley_taylor(sun, 0.0, warmth / 100.0, 0.05).shape == (3, 2)
