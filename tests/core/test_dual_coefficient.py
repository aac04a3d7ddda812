"""Branches of the dual coefficient that no published example takes."""

from __future__ import annotations

import pytest

from etsched.core import dual_coefficient as dual


def test_tall_lush_plants_may_pass_the_climates_limit() -> None:
    # Calm and humid, Eq. 72's first term stays under 1.2: the second, Kcb + 0.05, is the greater.
    assert dual.greatest_factor(1.25, dual.Climate(1.0, 80.0, 0.5)) == pytest.approx(1.30)


def test_water_fills_the_surface_before_it_dries() -> None:
    assert dual.surface_depletion(10.0, 4.0, 2.0, 0.5) == pytest.approx(6.0 + 4.0)
    assert dual.surface_depletion(10.0, 25.0, 2.0, 0.5) == pytest.approx(0.0 + 4.0)


def test_evaporation_is_bound_by_energy_or_by_the_wet_share() -> None:
    assert dual.evaporation_factor(1.0, 1.0, 0.3, 1.2) == pytest.approx(0.9)
    assert dual.evaporation_factor(1.0, 0.5, 0.3, 1.2) == pytest.approx(0.6)
    assert dual.evaporation_factor(0.0, 0.5, 0.3, 1.2) == 0.0


def test_a_stage_begins_and_ends_at_its_neighbours() -> None:
    assert dual.stage_factor(0.0, 10.0, 20.0, 0.3, 1.1) == pytest.approx(0.3)
    assert dual.stage_factor(20.0, 10.0, 20.0, 0.3, 1.1) == pytest.approx(0.7)
    assert dual.stage_factor(99.0, 10.0, 20.0, 0.3, 1.1) == pytest.approx(1.1)


def test_bare_and_covered_ground() -> None:
    assert dual.cover_fraction(0.1, 0.15, 1.2, 0.1) == 0.0
    assert dual.cover_fraction(1.2, 0.15, 1.2, 0.1) == pytest.approx(1.0)
    assert dual.exposed_wetted_fraction(1.0, 1.0) == pytest.approx(0.01)
