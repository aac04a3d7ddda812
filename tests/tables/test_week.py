from dataclasses import replace
from datetime import time

import pytest

from etsched.days import night
from etsched.model.plan import Shortfall
from etsched.tables.nights import night_columns, night_order
from etsched.tables.shortfalls import shortfall_table
from etsched.tables.totals import totals
from etsched.tables.week import week_table
from tests.reports.sample_week import MONDAY, ZONE, sample_week


def rows(plan=None, system=None):
    return {row.terminal: row for row in week_table(plan or sample_week(), system).rows}


def test_every_station_has_a_row_by_terminal():
    plan = sample_week()
    shuffled = replace(plan, site=replace(plan.site, stations=plan.site.stations[::-1]))
    table = week_table(shuffled)
    assert [row.terminal for row in table.rows] == [1, 4, 7, 12, 15]
    assert table == week_table(plan)
    assert (table.site, table.week) == ("Larkmoor Green", "Sun Jul 12–Sat Jul 18, 2026")


def test_cells():
    by = rows()
    assert [cell.text for cell in by[1].cells] == [
        "10:00 pm, 3 × 8 min, soak ≥ 55 min",
        "10:00 pm, 2 × 8 min, soak ≥ 55 min",
    ]
    assert [cell.text for cell in by[4].cells] == ["10:08 pm, 1 × 34 min", "10:08 pm, 1 × 30 min"]
    assert by[7].cells[0].text == "10:42 pm, 12+11+11 min, soak ≥ 30 min"
    assert by[7].cells[0].starts == ("10:42 pm", "11:24 pm", "12:14 am")
    assert by[12].cells == by[15].cells == (None, None)


def test_minutes_depth_and_water_of_the_week():
    by = rows()
    # Station 1: 24 + 16 min at 1.5 in/h = 1.00 in; 40 min × 40 L/min = 1600 L = 422.7 gal.
    assert (by[1].minutes, by[1].depth.text, by[1].volume.text) == (40, "1.00 in", "423 gal")
    # Station 4: 34 + 30 min at 0.5 in/h = 0.533 in; nobody knows its flow.
    assert (by[4].minutes, by[4].depth.text, by[4].volume.text) == (64, "0.53 in", "not known")
    # Station 7: 34 + 22 min at 1.0 in/h = 0.933 in = 23.7 mm; 56 min × 20 L/min = 1120 L.
    metric = rows(system="metric")[7]
    assert (metric.minutes, metric.depth.text, metric.volume.text) == (56, "23.7 mm", "1,120 L")
    assert (by[15].minutes, by[15].depth.text, by[15].volume.text) == (0, "0.00 in", "0 gal")


def test_state_and_marks():
    by = rows()
    assert {t: (row.state, row.mark) for t, row in by.items()} == {
        1: ("runs", "*"),
        4: ("runs", ""),  # its rate comes from a meter: no guess
        7: ("runs", "!*"),
        12: ("blocked", "x"),
        15: ("rests", ""),
    }
    assert by[7].remark == "11 min late or left out; guessed: root depth and 1 more"
    assert by[1].remark == "guessed: root depth"
    assert by[12].remark == "blocked: valve does not open by hand"


def test_each_night_has_its_own_state_and_missing_minutes():
    """Station 7 runs on both nights and misses 11 min on Thursday alone; 15 rests until it is short on Thursday."""
    by = rows()
    assert (by[7].missing, by[7].missing_min) == ((0, 11), 11)
    assert [by[terminal].state_on(1) for terminal in (7, 12, 15)] == ["runs", "blocked", "rests"]
    plan = sample_week()
    night = replace(plan.nights[1], shortfalls=(Shortfall(15, 20, "the window is full"),))
    row = rows(replace(plan, nights=(plan.nights[0], night)))[15]
    assert [row.state_on(index) for index in (0, 1)] == ["rests", "short"]


def test_the_week_is_named_by_the_days_its_nights_begin_on():
    """A window that stays within a day opens on the day it serves."""
    plan = sample_week()
    nights = tuple(replace(each, night=night(each.night.opens_on, time(1), time(6), ZONE)) for each in plan.nights)
    assert week_table(replace(plan, nights=nights)).week == "Mon Jul 13–Sun Jul 19, 2026"


def test_what_one_wrong_guess_would_do():
    by = rows()
    assert (by[1].could_be, by[7].could_be, by[4].could_be) == ("30–48", "44–70", "")


def test_station_that_no_night_can_hold_is_not_said_to_rest():
    plan = sample_week()
    night = replace(plan.nights[1], shortfalls=(Shortfall(15, 20, "the window is full"),))
    row = rows(replace(plan, nights=(plan.nights[0], night)))[15]
    assert (row.state, row.mark, row.missing_min) == ("short", "!", 20)


def test_blocked_without_a_reason_is_still_blocked():
    plan = sample_week()
    stations = tuple(replace(s, blocked="" if s.terminal == 15 else s.blocked) for s in plan.site.stations)
    row = rows(replace(plan, site=replace(plan.site, stations=stations)))[15]
    assert (row.state, row.mark, row.blocked) == ("blocked", "x", "no reason given")


def test_site_units_hold_unless_overridden():
    assert week_table(sample_week("metric")) == week_table(sample_week(), "metric")
    assert rows(sample_week("metric"))[1].cells[0].start == "22:00"


def test_night_heads():
    first, second = night_columns(sample_week())
    assert (first.label, first.window) == ("Mon Jul 13 into Tue Jul 14", "10:00 pm–12:30 am")
    # 24 + 34 + 34 min; last valve closes 145 min after 10 pm; 960 + 680 L = 433.2 gal without station 4.
    assert (first.minutes, first.finishes) == (92, "12:25 am")
    assert first.volume.text == "at least 433 gal (flow of 1 station not known)"
    assert first.volume.unmetered == (4,)
    assert (second.minutes, second.finishes, second.opens_on.isoformat()) == (68, "12:03 am", "2026-07-16")


def test_night_without_a_run_finishes_never():
    plan = sample_week()
    empty = replace(plan.nights[0], runs=(), used_min=0, bound_min=0)
    head = night_columns(replace(plan, nights=(empty,)))[0]
    assert (head.minutes, head.finishes, head.volume.text) == (0, "—", "0 gal")


def test_order_of_starts():
    starts = night_order(sample_week())[0].starts
    assert [(s.start, s.end, s.terminal, s.minutes, s.cycle) for s in starts] == [
        ("10:00 pm", "10:08 pm", 1, 8, "1 of 3"),
        ("10:08 pm", "10:42 pm", 4, 34, "1 of 1"),
        ("10:42 pm", "10:54 pm", 7, 12, "1 of 3"),
        ("11:03 pm", "11:11 pm", 1, 8, "2 of 3"),
        ("11:24 pm", "11:35 pm", 7, 11, "2 of 3"),
        ("12:06 am", "12:14 am", 1, 8, "3 of 3"),
        ("12:14 am", "12:25 am", 7, 11, "3 of 3"),
    ]
    assert {s.day for s in starts[:5]} == {"Mon Jul 13"}
    assert {s.day for s in starts[5:]} == {"Tue Jul 14"}


def test_shortfalls():
    (row,) = shortfall_table(sample_week())
    assert (row.night, row.terminal, row.area, row.missing_min) == (
        "Thu Jul 16 into Fri Jul 17",
        7,
        "Clay bank by the steps",
        11,
    )
    assert row.reason == "its third cycle could start only after the window closes"


def test_totals():
    week = totals(sample_week())
    # 39.2 mm of ETo = 1.543 in; 2.54 mm of rain; 960 + 680 + 640 + 440 L = 718.5 gal.
    assert (week.eto.text, week.rain.text, week.minutes) == ("1.54 in", "0.10 in", 160)
    assert week.volume.text == "at least 719 gal (flow of 1 station not known)"
    assert (week.stations_run, week.stations_blocked) == (3, 1)


def test_totals_leave_out_days_before_the_week():
    plan = sample_week()
    before = replace(plan.days[0], day=MONDAY.replace(day=12), eto_mm=100.0, rain_mm=100.0)
    assert totals(replace(plan, days=(before, *plan.days))) == totals(plan)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_table_is_frozen_and_the_same_every_time(system):
    assert week_table(sample_week(), system) == week_table(sample_week(), system)
    assert hash(week_table(sample_week(), system)) == hash(week_table(sample_week(), system))
