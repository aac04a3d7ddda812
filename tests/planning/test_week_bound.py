"""The week beside what no plan could better, and what would make a crowded one fit."""

from datetime import date, time

import pytest

from etsched.planning.remedies import missing_min, with_remedies
from etsched.planning.week import plan_week
from tests.planning.made import known, site, station, weather

FIRST = date(2026, 7, 1)


def plan(made, sky=None):
    return plan_week(made, sky or weather(), FIRST)


def crowded(**over):
    """Six rotors of 15 mm/h at 45 % evenness: about 40 minutes each on a night, in a window of an hour."""
    values = {"precip_rate": known(15.0), "uniformity": known(0.45), "head": "rotor"}
    stations = [station(n, **values) for n in range(1, 7)]
    return site(*stations, **({"opens": time(2), "closes": time(3)} | over))


def test_the_bound_is_never_above_what_the_week_does():
    for made in (site(station(1)), site(station(1, root_depth=known(60.0))), crowded()):
        bound = plan(made).bound
        assert 0.0 <= bound.least_past_mm <= bound.past_mm + 1e-9
        assert 0.0 <= bound.least_credited_mm <= bound.credited_mm + 1e-9


def test_roots_too_shallow_for_the_heat_pass_allowable_whatever_the_plan_does():
    # 60 mm of loam hold less than a hot day's use: filled every night, they still pass.
    bound = plan(site(station(1, root_depth=known(60.0)))).bound
    assert bound.least_past_mm > 0.0
    assert bound.past_mm == pytest.approx(bound.least_past_mm, rel=0.1)


def test_where_nothing_drains_the_water_is_the_least():
    bound = plan(site(station(1))).bound
    assert bound.least_credited_mm == pytest.approx(bound.credited_mm)


def test_a_week_that_fits_needs_no_remedy():
    made = site(station(1))
    week = with_remedies(plan(made), weather())
    assert missing_min(week) == 0
    assert week.remedies == ()


def test_remedies_are_planned_through_and_the_one_worth_most_stands_first():
    made = crowded(water_days={0, 1, 2, 3, 4, 5})
    week = with_remedies(plan(made), weather())
    assert missing_min(week) > 0
    words = [each.words for each in week.remedies]
    assert any(each.startswith("open 2 valves at once") for each in words)
    assert any(each.startswith("open the window an hour sooner, at 1:00 am") for each in words)
    assert any(each.startswith("water on Sunday too") for each in words)
    assert any(each.startswith("repair the heads of station ") for each in words)
    shown = [(each.dry_evenings_count, each.missing_min) for each in week.remedies]
    assert shown == sorted(shown)
    # Each is what the changed site's own plan does.
    longer = next(each for each in week.remedies if "an hour sooner" in each.words)
    changed = plan(crowded(opens=time(1), water_days={0, 1, 2, 3, 4, 5}))
    assert longer.missing_min == missing_min(changed)
    dry = [line.terminal for line in changed.books if line.end_mm > line.allowable_mm + 1e-9]
    assert dry
    assert (longer.dry_stations_count, longer.dry_evenings_count) == (len(set(dry)), len(dry))


def test_a_window_that_opens_at_midnight_is_lengthened_at_its_end():
    week = with_remedies(plan(crowded(opens=time(0), closes=time(1))), weather())
    assert any(each.words.startswith("close the window an hour later, at 2:00 am") for each in week.remedies)
