"""Repairs in order of what they are worth, by hand arithmetic."""

from datetime import date

import pytest

from etsched.model.finding import Effect, Finding
from etsched.model.site import Basis
from etsched.planning.repairs import rank_repairs
from etsched.planning.weather_days import days_from_weather
from etsched.reference.faults import head_faults, valve_faults
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 14)


def _ranked(made, *findings):
    return rank_repairs(made, days_from_weather(weather(), made), FIRST, findings)


def _tilted(terminal):
    return Finding(terminal, "tilted", Effect.DISCOUNTS, "3 heads are tilted")


def test_an_uneven_station_is_worth_the_minutes_and_the_depth_of_its_driest_quarter():
    made = site(station(1, uniformity=known(0.40)))
    (repair,) = _ranked(made, _tilted(1))
    # A good spray waters at DU(lq) 0.55: multipliers 1/(0.4+0.6×0.40) = 1.5625 and 1/(0.4+0.6×0.55) = 1.3699.
    assert repair.repaired_fraction == 0.55
    assert repair.minutes_repaired_min < repair.minutes_found_min
    assert repair.minutes_repaired_min / repair.minutes_found_min == pytest.approx(1.3699 / 1.5625, abs=0.05)
    applied = repair.minutes_repaired_min * 40.0 / 60.0
    assert repair.driest_quarter_mm == pytest.approx(applied * (0.55 - 0.40))
    # 40 mm/h on 60 m² is 40 L/min.
    assert repair.volume_saved_l == pytest.approx(40.0 * (repair.minutes_found_min - repair.minutes_repaired_min))
    assert repair.what == (head_faults()["tilted"].repair,)


def test_a_dead_station_outranks_an_uneven_one_and_costs_water():
    made = site(station(1, uniformity=known(0.40)), station(2, blocked="never comes on"))
    dead = Finding(2, "by hand only", Effect.BLOCKS, "waters by hand only")
    first, second = _ranked(made, _tilted(1), dead)
    assert (first.terminal, second.terminal) == (2, 1)
    assert first.found_fraction is None
    assert first.minutes_found_min == 0
    assert first.volume_saved_l < 0
    assert first.what == (valve_faults()["by hand only"].repair,)


def test_a_station_that_waters_better_than_a_good_one_gains_nothing():
    (repair,) = _ranked(site(station(1, uniformity=known(0.80))), _tilted(1))
    assert repair.driest_quarter_mm == 0.0
    assert repair.minutes_repaired_min == repair.minutes_found_min


def test_what_only_warns_is_no_repair_to_rank():
    assert _ranked(site(station(1)), Finding(1, "overspray", Effect.WARNS, "sprays the walk")) == ()


def test_several_heads_are_mended_as_several():
    made = site(station(1, uniformity=known(0.40)))
    many = Finding(1, "tilted", Effect.DISCOUNTS, "3 heads are tilted", many=True)
    for findings in ((many,), (_tilted(1), _tilted(1))):
        (repair,) = _ranked(made, *findings)
        assert repair.what == ("set them upright and firm the ground",)


def test_the_valve_comes_before_the_heads():
    made = site(station(1, blocked="gives no water"))
    (repair,) = _ranked(made, _tilted(1), Finding(1, "no water", Effect.BLOCKS, "gives no water"))
    assert repair.what == (valve_faults()["no water"].repair, head_faults()["tilted"].repair)


@pytest.mark.parametrize("basis", [Basis.STATED, Basis.TYPICAL])
def test_what_a_repair_saves_is_not_known_without_cups(basis):
    (repair,) = _ranked(site(station(1, uniformity=known(0.40, basis))), _tilted(1))
    assert (repair.measured, repair.volume_saved_l) == (False, None)


def test_what_a_dead_station_takes_is_known_without_cups():
    (repair,) = _ranked(
        site(station(1, blocked="gives no water", uniformity=None)),
        Finding(1, "no water", Effect.BLOCKS, "gives no water"),
    )
    assert repair.measured
    assert repair.volume_saved_l < 0
