import math
from dataclasses import replace
from datetime import date, timedelta

import pytest

from etsched.errors import PlanRefused
from etsched.model.plan import Step
from etsched.tables.assumptions import assumption_groups, assumption_table, first_to_measure, terminals_text
from etsched.tables.books import books_table
from etsched.tables.rests import hold_table
from etsched.tables.weather import weather_table
from etsched.tables.working import first_night, working_table
from tests.reports.sample_week import MONDAY, sample_week


def test_weather_rows():
    table = weather_table(sample_week())
    first = table.rows[0]
    assert (first.day, first.kind, first.tmin.text, first.tmax.text) == (
        "Mon Jul 13",
        "observed",
        "68 °F",
        "86 °F",
    )
    assert (first.eto.text, first.rain.text) == ("0.20 in", "0.10 in")
    assert first.filled == "wind: 2 m/s taken, none was given"
    assert [row.kind for row in table.rows[1:]] == ["forecast"] * 4 + ["standing in"] * 2


def test_weather_as_of():
    table = weather_table(sample_week())
    assert table.source == "larkmoor.csv"
    assert table.as_of == (
        "observed through Mon Jul 13; forecast Tue Jul 14–Fri Jul 17; "
        "no weather given for Sat Jul 18–Sun Jul 19: recent mean ETo and no rain stand in"
    )
    plan = sample_week()
    assert weather_table(replace(plan, days=plan.days[1:3], observed_through=None)).as_of == (
        "nothing observed; forecast Tue Jul 14–Wed Jul 15"
    )


def test_today_is_told_as_the_forecast_it_is():
    """Planned on the evening of Monday 13 for the week from Tuesday on: Monday is not over, so nobody observed it."""
    plan = sample_week()
    tuesday = replace(
        plan,
        first_day=date(2026, 7, 14),
        days=plan.days[1:5],
        observed_through=date(2026, 7, 12),
        forecast_from=date(2026, 7, 13),
    )
    assert weather_table(tuesday).as_of == "observed through Sun Jul 12; forecast Mon Jul 13–Fri Jul 17"


def test_weather_nobody_gave_is_a_dash():
    plan = sample_week()
    day = replace(plan.days[-1], tmin_c=math.nan)
    assert weather_table(replace(plan, days=(day,))).rows[0].tmin.text == "—"


def test_books_in_order_and_thirst():
    rows = books_table(sample_week(), "metric")
    assert [(row.terminal, row.day) for row in rows] == [(1, "Mon Jul 13"), (1, "Tue Jul 14")]
    monday, tuesday = rows
    # 10.0 − 2.0 rain + 5.0 ET = 13.0 mm missing, past the allowable 12.0; then 12.7 mm of irrigation.
    assert [f.text for f in (monday.start, monday.rain, monday.et, monday.end)] == [
        "10.0 mm",
        "2.0 mm",
        "5.0 mm",
        "13.0 mm",
    ]
    assert (tuesday.irrigation.text, tuesday.passed.text, tuesday.allowable.text) == (
        "12.7 mm",
        "0.0 mm",
        "12.0 mm",
    )
    assert (monday.thirsty, tuesday.thirsty) == (True, False)


def test_assumptions_property_first_then_station_then_weight():
    rows = assumption_table(sample_week())
    assert [(row.stations, row.field, row.swing) for row in rows] == [
        ("all", "target depth", 0),
        ("1", "root depth", 18),
        ("4", "precipitation rate", 0),
        ("7", "root depth", 26),
        ("7", "intake", 0),
    ]
    roots = rows[1]
    assert (roots.value.text, roots.basis, roots.bounds) == ("6.00 in", "typical", "4.00–12.00 in")
    assert (roots.change, roots.source, roots.measure) == (
        "40 → 48 / 30 min",
        "common practice, no source",
        "a soil core",
    )
    assert (rows[0].bounds, rows[0].change) == ("", "")
    assert (rows[1].guessed, rows[2].guessed) == (True, False)


def test_shared_assumptions_are_told_once():
    groups = assumption_groups(sample_week())
    assert [(row.stations, row.field) for row in groups] == [
        ("1, 7", "root depth"),
        ("all", "target depth"),
        ("4", "precipitation rate"),
        ("7", "intake"),
    ]
    assert groups[0].change == "96 → 118 / 74 min"  # 40 + 56 → 48 + 70 / 30 + 44
    assert groups[0].swing == 44


def test_terminals_in_words():
    assert terminals_text((1, 4, 5, 6, 7, 9, 10)) == "1, 4–7, 9, 10"


def test_working_step_by_step():
    table = working_table(sample_week(), 7, MONDAY)
    assert (table.area, table.night) == ("Clay bank by the steps", "Mon Jul 13 into Tue Jul 14")
    assert table.outcome == "10:42 pm, 12+11+11 min, soak ≥ 30 min"
    assert table.reason == "the root zone would pass its allowable depletion before the next night"
    # 9.0 mm = 0.354 in, 14.4 mm = 0.567 in: one digit finer than the week's table.
    assert [(step.name, step.value.text, step.source) for step in table.steps] == [
        ("Depletion", "0.354 in", "the water books"),
        ("Gross depth", "0.567 in", "lower-quarter rule"),
        ("Minutes", "34.0 min", "arithmetic"),
        ("Cycles", "3", "arithmetic"),
    ]
    assert table.steps[1].formula == "net × multiplier = 9.0 mm × 1.6"


def test_working_of_a_station_that_does_not_run():
    blocked = working_table(sample_week(), 12, MONDAY)
    said = "does not run (blocked): valve does not open by hand; it gets no minutes until it is repaired"
    assert (blocked.outcome, blocked.steps) == (said, ())
    # 7.62 mm and 12.7 mm are 0.30 in and 0.50 in.
    assert working_table(sample_week(), 15, MONDAY).outcome == (
        "does not run (enough): it can wait (it would lack 0.30 in by then and may lack 0.50 in); "
        "it does not water again this week"
    )
    tuesday = working_table(sample_week(), 4, MONDAY + timedelta(days=1))
    assert (tuesday.night, tuesday.outcome) == (
        "Tue Jul 14",
        "does not run (no water day): Tuesday is no water day; it waters next for Fri Jul 17",
    )


def test_what_keeps_valves_shut():
    rows = hold_table(sample_week())
    assert [(row.kind, row.stations, row.nights, row.ends) for row in rows] == [
        ("blocked", "12", "Mon Jul 13–Thu Jul 16", "when it is repaired"),
        ("saturated", "15", "Thu Jul 16", "not this week"),
    ]


def test_in_short_it_says_what_runs_why_it_is_split_and_what_is_left_out():
    """Station 7: 34 of its 56 min on Monday at 1 in/h are 0.57 in, the week's 0.93 in; Thursday misses 11 min."""
    plan = sample_week()
    monday = plan.nights[0]
    longest = Step("longest cycle", 12.4, "min", "60 × surface storage ÷ (rate − intake)", "arithmetic")
    runs = tuple(replace(run, working=(*run.working, longest)) if run.terminal == 7 else run for run in monday.runs)
    split = replace(plan, nights=(replace(monday, runs=runs), *plan.nights[1:]))
    assert working_table(split, 7, MONDAY).in_short == (
        "It runs 34 min this night, which puts down 0.57 in of water; this week 56 min (0.93 in). It is split into 3 "
        "cycles, because after 12.4 min without a pause water would run off instead of sinking in."
    )
    assert working_table(plan, 7, MONDAY + timedelta(days=3)).in_short.endswith(
        "11 min do not fit this night and are left out: its third cycle could start only after the window closes."
    )
    tuesday = MONDAY + timedelta(days=1)
    rests = working_table(plan, 7, tuesday, "metric").in_short
    assert rests == "It does not run this night; this week 56 min (23.7 mm)."
    assert working_table(plan, 15, MONDAY).in_short == "It does not run this week."
    blocked = "It gets no water until it is mended: valve does not open by hand."
    assert working_table(plan, 12, MONDAY).in_short == blocked


def test_the_one_measurement_that_would_tell_most():
    """Roots of stations 1 and 7: 40 + 56 min, with shallow ones 48 + 70, with deep ones 30 + 44."""
    groups = assumption_groups(sample_week())
    assert first_to_measure(groups) == (
        "If you measure one thing, measure the root depth on stations 1, 7, by a soil core: the 96 min wanted there "
        "this week could become anything from 74 to 118."
    )
    published = [replace(row, measure="nothing on site; it is published for the species") for row in groups]
    assert first_to_measure(published) == ""


def test_first_night():
    assert first_night(sample_week(), 7) == MONDAY
    assert first_night(sample_week(), 12) is None


def test_working_of_nothing_known_is_refused_with_what_there_is():
    with pytest.raises(PlanRefused, match="no station at terminal 3; this property has 1, 4, 7, 12, 15"):
        working_table(sample_week(), 3, MONDAY)
    with pytest.raises(PlanRefused, match="begins on Mon Jul 20; its nights are Mon Jul 13 to Thu Jul 16"):
        working_table(sample_week(), 7, date(2026, 7, 20))
