"""The return visit against books kept by hand: what a core may prove, and what a difference speaks for."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from etsched.errors import PlanRefused
from etsched.model.visit import Core, CoreLayer, Cup, CupTest, Visit
from etsched.planning import water
from etsched.planning.return_visit import Between, proof_statement, return_visit
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import outlook_of
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 1)
BACK = date(2026, 7, 2)
FEEL = {"dry": (0.0, 0.25), "slightly moist": (0.25, 0.5), "moist": (0.5, 0.75), "wet": (0.75, 1.0)}
# Cups at 0 and 10 m east: half of the mean lands at one, one and a half times at the other.
CUPS = CupTest((1,), (30.0,), (Cup(depth_mm=5.0, x_m=0.0, y_m=0.0), Cup(depth_mm=15.0, x_m=10.0, y_m=0.0)))


def between(applied=None, start=1.0, cups=(CUPS,), stations=None):
    """Books that begin at `start` of what the soil can lack; no ET but what the weather takes."""
    # 0.2 × 150 mm: the roots hold 30 mm, and the layers below 5 mm each; 20 mm/h from cups, DU 1, so no multiplier.
    plain = {"available_water": known(0.2), "precip_rate": known(20.0), "uniformity": known(1.0)}
    made = site(*(stations or [station(1, **plain)]), target_depth_mm=200.0)
    outlook = outlook_of(made, days_from_weather(weather(), made), FIRST)
    begin = water.state_of(outlook.ground, FIRST, start * outlook.ground.layer_available_mm)
    return Between(outlook, begin, applied or {}, cups)


def core(feel="", **over):
    layers = (CoreLayer(0.0, 200.0, feel),) if feel else ()
    return Core(station=over.pop("station", 1), area="lawn 1", layers=layers, **over)


def judge(books, *cores, day=FIRST):
    return return_visit(books, Visit(day, cores=cores), FEEL)


def test_the_prediction_is_for_the_cores_own_place():
    # 60 min at 20 mm/h bring 20 mm on average, of 40 missing: 10 mm where half lands, 30 where one and a half do.
    books = between({(1, FIRST): 60})
    (proof,) = judge(books, core("dry", x_m=1.0, y_m=0.0), core("wet", x_m=9.0, y_m=0.0), core("moist"))
    here, there, nowhere = proof.cores
    assert (here.place_factor, there.place_factor, nowhere.place_factor) == (0.5, 1.5, None)
    assert here.predicted_deficit_mm == pytest.approx(20.0)
    assert there.predicted_deficit_mm == pytest.approx(0.0, abs=1e-9)
    assert nowhere.predicted_deficit_mm == pytest.approx(10.0)
    # A third is there: the front stands at 50 of 150 mm. Filled roots, and nothing below: 150 mm.
    assert here.predicted_moist_mm == pytest.approx(50.0)
    assert there.predicted_moist_mm == pytest.approx(150.0)


def test_where_no_cup_stood_near_the_books_of_the_drier_part_hold():
    uneven = station(1, available_water=known(0.2), precip_rate=known(20.0), uniformity=known(0.6))
    (proof,) = judge(between({(1, FIRST): 60}, cups=(), stations=[uneven]), core("moist"))
    assert proof.cores[0].predicted_deficit_mm == pytest.approx(30.0 - 20.0 * 0.76)


def test_the_days_between_are_those_of_the_week_books():
    books = between({(1, FIRST): 30, (1, BACK): 15}, start=0.5)
    (proof,) = judge(books, core("moist"), day=BACK)
    index = books.outlook.index(FIRST)
    start = 0.5 * books.outlook.ground.layer_available_mm
    day = water.pass_day(books.outlook.ground, books.outlook.days, index, start, np.array([10.0]))[1]
    expected = max(float(day.deficit_mm[0, 0]) - 5.0, 0.0)
    assert proof.cores[0].predicted_deficit_mm == pytest.approx(expected)


def test_cores_within_their_classes_prove_the_plan():
    # 15 of 30 mm: half is there, which is the wet end of "slightly moist" and the dry end of "moist".
    (proof,) = judge(between({(1, FIRST): 45}), *[core("moist", moist_mm=150.0)] * 3)
    assert proof.verdict == "proved"
    assert proof.causes == ()
    assert proof.surely.startswith("3 of 3 cores")


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_cores_prove_nothing(count):
    books = between({(1, FIRST): 45})
    proofs = judge(books, *[core("dry")] * count)
    assert [proof.verdict for proof in proofs] == ["open"] * bool(count)


def test_dry_and_shallow_cores_say_that_less_lands_and_how_much_less():
    # 30 mm were to land and fill the roots. "Slightly moist" lacks 15 to 22.5 mm: 7.5 to 15 mm arrived, 25 to 50 %.
    (proof,) = judge(between({(1, FIRST): 90}), *[core("slightly moist", moist_mm=60.0)] * 3)
    assert proof.verdict == "refuted"
    (cause,) = proof.causes
    assert (cause.kind, cause.suffix) == ("delivers less", "factor")
    assert cause.value == pytest.approx(0.375, abs=0.03)
    assert (proof.cores[0].arrived_low_factor, proof.cores[0].arrived_high_factor) == pytest.approx((0.25, 0.5))
    assert "25% to 50%" in cause.sentence


def test_dry_cores_moist_as_deep_as_predicted_say_that_the_soil_holds_less():
    (proof,) = judge(between({(1, FIRST): 90}), *[core("slightly moist", moist_mm=150.0)] * 3)
    assert [cause.kind for cause in proof.causes] == ["soil holds less"]


def test_short_roots_are_named():
    (proof,) = judge(between({(1, FIRST): 90}), *[core("slightly moist", moist_mm=60.0, roots_mm=80.0)] * 3)
    assert [cause.kind for cause in proof.causes] == ["roots shallower", "delivers less"]
    assert proof.causes[0].value == 80.0
    (as_planned,) = judge(between({(1, FIRST): 90}), *[core("slightly moist", moist_mm=60.0, roots_mm=125.0)] * 3)
    assert [cause.kind for cause in as_planned.causes] == ["delivers less"]


def test_soil_drier_than_without_any_water_is_no_matter_of_delivery():
    (proof,) = judge(between({(1, FIRST): 60}, start=0.4), *[core("dry", moist_mm=0.0)] * 3)
    assert [cause.kind for cause in proof.causes] == ["uses more"]


def test_wetter_soil_is_said_too():
    (proof,) = judge(between({}), *[core("wet")] * 3)
    assert proof.verdict == "refuted"
    assert [cause.kind for cause in proof.causes] == ["wetter"]
    assert "wetter than predicted" in proof.sentence


def test_cores_that_disagree_leave_it_open():
    cores = [core("slightly moist")] * 2 + [core("wet")] * 2
    (proof,) = judge(between({(1, FIRST): 90}), *cores)
    assert proof.verdict == "open"
    assert "disagree" in proof.surely


def test_moist_depth_alone_can_refute_beyond_what_a_probe_tells():
    books = between({(1, FIRST): 90})
    assert judge(books, *[core(moist_mm=126.0)] * 3)[0].verdict == "proved"
    assert judge(books, *[core(moist_mm=120.0)] * 3)[0].verdict == "refuted"
    # On a stone the probe tells only how deep it is moist at least.
    assert judge(books, *[core(moist_mm=60.0, stone_mm=60.0)] * 3)[0].verdict == "open"


def test_the_customer_hears_what_is_proved_and_what_is_not():
    stations = [station(n, available_water=known(0.2), precip_rate=known(20.0), uniformity=known(1.0)) for n in (1, 2)]
    books = between({(1, FIRST): 90, (2, FIRST): 90}, stations=stations, cups=())
    visit = Visit(FIRST, cores=(*[core("wet")] * 3, *[Core(station=2, layers=core("dry").layers)] * 3))
    proofs = return_visit(books, visit, FEEL)
    assert [proof.verdict for proof in proofs] == ["proved", "refuted"]
    said = proof_statement(proofs)
    assert "as wet as the plan said: lawn 1." in said
    assert "begin anew from what was found: lawn 2." in said
    assert proof_statement(()) == "No core was taken, so nothing is proved."


@pytest.mark.parametrize("day", [FIRST - timedelta(days=1), FIRST + timedelta(days=400)])
def test_a_visit_outside_the_books_is_refused(day):
    with pytest.raises(PlanRefused, match="not within the books"):
        judge(between(), core("dry"), day=day)
