"""What even water would save of a week, by hand arithmetic."""

from dataclasses import replace
from datetime import date

import pytest

from etsched.model.plan import Saving
from etsched.model.site import Basis
from etsched.planning.savings import with_savings
from etsched.planning.week import plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 14)
# Multipliers 1/(0.4 + 0.6 × DU): a good spray waters at DU(lq) 0.55, this one at 0.40.
SHARE = (0.4 + 0.6 * 0.40) / (0.4 + 0.6 * 0.55)


def planned(*stations):
    return plan_week(site(*stations), weather(), FIRST)


def water_l(plan, terminal):
    return sum(run.flow_l for night in plan.nights for run in night.runs if run.terminal == terminal)


def test_an_uneven_station_saves_its_share_of_the_weeks_water():
    plan = with_savings(planned(station(1, uniformity=known(0.40)), station(2, uniformity=known(0.55))))
    assert water_l(plan, 1) > 0
    (saving,) = plan.savings  # the other waters as evenly as a good one
    assert saving == Saving(1, 0.40, 0.55, pytest.approx(water_l(plan, 1) * (1 - SHARE)))


@pytest.mark.parametrize("uniformity", [None, known(0.40, Basis.STATED), known(0.40, Basis.TYPICAL)])
def test_without_cups_nothing_is_known(uniformity):
    plan = with_savings(planned(station(1, uniformity=uniformity)))
    assert plan.savings == (Saving(1, None, 0.55, None),)


def test_without_a_flow_the_volume_is_not_known():
    plan = with_savings(planned(station(1, uniformity=known(0.40), area_m2=None)))
    assert plan.savings == (Saving(1, 0.40, 0.55, None),)


def test_a_station_that_does_not_water_saves_nothing():
    assert with_savings(planned(station(1, uniformity=known(0.40), blocked="a broken wire"))).savings == ()


def test_minutes_that_the_night_cut_off_are_made_up_for_first():
    """Of 40 min wanted 36 run; evenly watered 40 × 0.8767 = 35.07 min do, so 0.93 min of 36 are spared."""
    plan = planned(station(1, uniformity=known(0.40)))
    night = next(night for night in plan.nights if night.runs)
    run = replace(
        night.runs[0], cycles=(replace(night.runs[0].cycles[0], length_min=36),), wanted_min=40, flow_l=1440.0
    )
    (saving,) = with_savings(replace(plan, nights=(replace(night, runs=(run,)),))).savings
    assert saving.saved_l == pytest.approx(40.0 * (36 - 40 * 64 / 73))
    gone = replace(run, wanted_min=60)
    (saving,) = with_savings(replace(plan, nights=(replace(night, runs=(gone,)),))).savings
    assert saving.saved_l == 0.0
