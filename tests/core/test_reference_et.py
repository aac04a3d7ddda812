"""The reference equations by hand and against each other."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from etsched.core import reference_et
from etsched.core.reference_et import Air

# Round numbers for the hand: Δ 0.2, γ 0.07, T 27 (300 K), u2 2, es − ea 1.
AIR = Air(
    temperature_c=27.0,
    wind_m_s=2.0,
    saturation_kpa=3.0,
    vapour_pressure_kpa=2.0,
    slope_kpa_per_c=0.2,
    psychrometric_kpa_per_c=0.07,
)


def test_fao56_day_by_hand() -> None:
    # (0.408 × 0.2 × 15 + 0.07 × 900 / 300 × 2 × 1) / (0.2 + 0.07 × 1.68) = (1.224 + 0.42) / 0.3176
    assert reference_et.fao56_daily(16.0, 1.0, AIR) == pytest.approx(1.644 / 0.3176)


def test_fao56_hour_by_hand() -> None:
    # (0.408 × 0.2 × 1 + 0.07 × 37 / 300 × 2 × 1) / 0.3176
    assert reference_et.fao56_hourly(1.1, 0.1, AIR) == pytest.approx((0.0816 + 0.0172667) / 0.3176, rel=1e-6)


def test_asce_short_day_is_fao56_and_the_tall_one_by_hand() -> None:
    assert reference_et.asce_daily_short(16.0, 1.0, AIR) == reference_et.fao56_daily(16.0, 1.0, AIR)
    # (1.224 + 0.07 × 1600 / 300 × 2) / (0.2 + 0.07 × 1.76)
    assert reference_et.asce_daily_tall(16.0, 1.0, AIR) == pytest.approx((1.224 + 0.7466667) / 0.3232, rel=1e-6)


def test_asce_hours_change_their_resistance_at_night() -> None:
    radiation, drying_short, drying_tall = 0.0816, 0.0172667, 0.0308
    by_day = reference_et.asce_hourly_short(1.1, 0.1, AIR)
    assert by_day == pytest.approx((radiation + drying_short) / (0.2 + 0.07 * 1.48), rel=1e-6)
    by_night = reference_et.asce_hourly_short(-0.1, -0.05, AIR)
    assert by_night == pytest.approx((-0.00408 + drying_short) / (0.2 + 0.07 * 2.92), rel=1e-5)
    tall_by_day = reference_et.asce_hourly_tall(1.1, 0.1, AIR)
    assert tall_by_day == pytest.approx((radiation + drying_tall) / (0.2 + 0.07 * 1.5), rel=1e-6)
    tall_by_night = reference_et.asce_hourly_tall(-0.1, -0.05, AIR)
    assert tall_by_night == pytest.approx((-0.00408 + drying_tall) / (0.2 + 0.07 * 4.4), rel=1e-5)


def test_hargreaves_by_hand() -> None:
    # 0.0023 × (20 + 17.8) × √16 × 0.408 × 40
    assert reference_et.hargreaves(12.0, 28.0, 40.0) == pytest.approx(0.0023 * 37.8 * 4.0 * 16.32)


@pytest.mark.parametrize(
    "equation",
    [
        reference_et.fao56_daily,
        reference_et.fao56_hourly,
        reference_et.asce_daily_short,
        reference_et.asce_daily_tall,
        reference_et.asce_hourly_short,
        reference_et.asce_hourly_tall,
    ],
)
def test_more_sun_and_drier_air_take_more_water(equation) -> None:
    sun = equation(np.array([1.0, 2.0]), 0.0, AIR)
    assert sun[1] > sun[0]
    dry = equation(1.0, 0.0, replace(AIR, vapour_pressure_kpa=np.array([2.5, 1.0])))
    assert dry[1] > dry[0]


def test_dew_is_not_cut_off() -> None:
    assert reference_et.fao56_hourly(-0.2, 0.0, replace(AIR, vapour_pressure_kpa=3.0)) < 0.0
