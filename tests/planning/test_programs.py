"""The week set for an ordinary clock, against small cases worked by hand."""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from etsched.days import night
from etsched.errors import PlanRefused
from etsched.model.clock_table import ClockProgram, DaysChange, MinutesChange, PercentChange, ProgramStart, StartChange
from etsched.model.site import Ban, Controller
from etsched.model.visit import Program
from etsched.planning.clock_differences import differences, relettered
from etsched.planning.program_figures import run_clock
from etsched.planning.program_times import Block, Hours, hours_of, start_times
from etsched.planning.programs import clock_table
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import outlook_of, plan_week

from .made import EVERY_DAY, ZONE, known, site, station, weather

FIRST = date(2026, 7, 14)  # a Tuesday; the first night opens on Monday
MONDAY = date(2026, 7, 13)
NIGHTS = frozenset(range(7))


def outlook(made, **columns):
    return outlook_of(made, days_from_weather(weather(**columns), made), FIRST)


def compiled(made, change=lambda plan: plan):
    return clock_table(outlook(made), change(plan_week(made, weather(), FIRST)))


def program(letter, minutes, *starts, opens=time(1)):
    def after_min(start):
        return (start.hour * 60 + start.minute - opens.hour * 60 - opens.minute) % 1440

    nights = tuple(MONDAY + timedelta(days=ahead) for ahead in range(7))
    keyed = tuple(ProgramStart(start, after_min(start)) for start in starts)
    return ClockProgram(letter, NIGHTS, keyed, minutes, nights, sum(minutes.values()))


def first_night(openings):
    return [(each.program, each.terminal, each.opens_min, each.closes_min) for each in openings if each.night == 0]


def test_a_start_that_comes_too_early_waits():
    # 25 + 15 = 40 min from 2:00 on; the start of 2:30 runs at 2:40. The window opens at 1:00.
    made = site(station(1), station(2), opens=time(1), closes=time(5))
    ran = run_clock([program("A", {1: 25, 2: 15}, time(2), time(2, 30))], outlook(made), MONDAY)
    assert first_night(ran) == [("A", 1, 60, 85), ("A", 2, 85, 100), ("A", 1, 100, 125), ("A", 2, 125, 140)]
    assert len(ran) == 7 * 4


def test_programs_wait_for_each_other_and_for_the_delay_between_valves():
    made = site(station(1), station(2), opens=time(1), closes=time(5))
    slow = replace(made, rules=replace(made.rules, valve_delay_min=2))
    both = [program("A", {1: 25, 2: 15}, time(2)), program("B", {1: 5}, time(2, 30))]
    # 2:00 to 2:25, 2:27 to 2:42, and two minutes later the other program.
    ran = run_clock(both, outlook(slow), MONDAY)
    assert first_night(ran) == [("A", 1, 60, 85), ("A", 2, 87, 102), ("B", 1, 104, 109)]


EVENING = Hours(22 * 60, 0, 480, 0)


@pytest.mark.parametrize(
    ("blocks", "starts"),
    [
        # Three passes of 10 min, 40 min from start to start.
        ([Block(NIGHTS, 3, 10, 40, (0,))], ((0, 40, 80),)),
        # Between them 15 min fit once; the second pass would meet the one at 40 and waits until that is over.
        ([Block(NIGHTS, 3, 10, 40, (0, 0)), Block(NIGHTS, 2, 15, 20, (0, 0))], ((0, 40, 80), (10, 50))),
        # Not on every night: the third pass would start on the next weekday, so all start past midnight.
        ([Block(frozenset({0, 2}), 3, 30, 60, (0,))], ((120, 180, 240),)),
        # Every night: both sides of midnight.
        ([Block(NIGHTS, 3, 30, 60, (0,))], ((0, 60, 120),)),
        # They share a station that soaks 20 min.
        ([Block(NIGHTS, 1, 10, 10, (10, 20)), Block(NIGHTS, 1, 10, 10, (20, 10))], ((0,), (30,))),
        # They never meet: one waters on other nights than the other.
        ([Block(frozenset({0}), 1, 300, 300, (0, 0)), Block(frozenset({1}), 1, 300, 300, (0, 0))], ((0,), (0,))),
        # 300 + 200 min are more than 480.
        ([Block(NIGHTS, 1, 300, 300, (0, 0)), Block(NIGHTS, 1, 200, 200, (0, 0))], None),
        # 4 passes 160 min apart take 3 × 160 + 10 = 490.
        ([Block(NIGHTS, 4, 10, 160, (0,))], None),
    ],
)
def test_starts_worked_by_hand(blocks, starts):
    assert start_times(blocks, EVENING) == starts


def test_starts_lie_on_five_minutes_where_there_is_room_for_that():
    two = [Block(NIGHTS, 1, 12, 12, (0, 0)), Block(NIGHTS, 1, 12, 12, (0, 0))]
    assert start_times(two, Hours(22 * 60, 0, 30, 0)) == ((0,), (15,))
    assert start_times(two, Hours(22 * 60, 0, 25, 0)) == ((0,), (12,))


@pytest.mark.parametrize(
    ("opens_on", "opens", "closes", "first", "last"),
    [
        (date(2026, 7, 14), time(22), time(6), 0, 480),
        # In the night into 8 March an hour is missing, in the one into 1 November there is one more.
        (date(2026, 3, 7), time(22), time(6), 0, 420),
        (date(2026, 10, 31), time(22), time(6), 0, 540),
        # 2:30 does not come on 8 March: the window opens at the change, when a clock left alone shows 2:00.
        (date(2026, 3, 8), time(2, 30), time(7), -30, 210),
    ],
)
def test_hours_by_a_clock_whose_time_nobody_changes_in_the_night(opens_on, opens, closes, first, last):
    hours = hours_of([night(opens_on, opens, closes, ZONE), None], opens, ZONE, 0)
    assert (hours.first_min, hours.last_min) == (first, last)


def nightly_14(plan):
    """The same week with 14 min for every station on every night."""
    model = next(run for each in plan.nights for run in each.runs)
    cycle = replace(model.cycles[0], start_min=0, length_min=14)
    runs = tuple(replace(model, terminal=terminal, cycles=(cycle,)) for terminal in range(1, 9))
    return replace(plan, nights=tuple(replace(each, runs=runs, shortfalls=()) for each in plan.nights))


def test_eight_stations_that_do_not_fit_all_take_less():
    # 8 × 14 = 112 min in a window of 100: all take seven eighths, 12.25 and so 12 min, and 8 × 12 = 96.
    stations = [station(terminal, intake=known(100.0)) for terminal in range(1, 9)]
    made = site(*stations, opens=time(1), closes=time(2, 40), controller=Controller(1, 4))
    table = compiled(made, nightly_14)
    assert [each.days for each in table.programs] == [EVERY_DAY]
    assert dict(table.programs[0].minutes_min) == dict.fromkeys(range(1, 9), 12)
    assert table.fullness_fraction == 0.875
    for each in table.stations:
        assert (each.week_min, each.missing_min) == (7 * 12, 7 * 2)
        assert "do not hold all" in each.reason
        # 40 mm/h, DU(lq) 0.6: a multiplier of 1 / (0.4 + 0.6 × 0.6).
        assert each.credited_mm == pytest.approx(84 * 40 / 60 * 0.76)
        assert each.over_mm == pytest.approx(-14 * 40 / 60 * 0.76)
        # 40 mm/h on 60 m² are 40 L/min.
        assert each.over_l == pytest.approx(-14 * 40)


def test_who_is_served_last_is_left_out_where_even_half_does_not_fit():
    # Three useful cycles of 8 min do not fit in 20 min, two do.
    stations = [
        station(terminal, intake=known(100.0), least_cycle=known(8.0), priority_count=priority)
        for terminal, priority in ((1, 2), (2, 3), (3, 1))
    ]
    made = site(*stations, opens=time(1), closes=time(1, 20), controller=Controller(1, 1))
    table = compiled(made)
    assert set(table.programs[0].minutes_min) == {1, 3}
    left = next(each for each in table.stations if each.terminal == 2)
    assert (left.week_min, left.letters, left.credited_mm) == (0, (), 0.0)
    assert left.missing_min > 0
    assert "the 20 min of the window hold no program for it" in left.reason


def test_a_program_that_starts_past_midnight_bears_the_day_after():
    # Cycles of 4 min with long soaks, from 11:30 pm on: the second would start past midnight, so both do.
    made = site(
        station(1, first_runoff=known(4.0), intake=known(4.0)),
        opens=time(23, 30),
        closes=time(3),
        water_days={0, 2},
        controller=Controller(1, 2),
    )
    (one,) = compiled(made).programs
    assert len(one.starts) == 2
    assert one.starts[0].at == time(0)
    assert one.days == {1, 3}
    assert {each.weekday() for each in one.nights} == {0, 2}
    # 4 min at 40 mm/h on a soil that takes 4 mm/h soak 4 × (40 / 4 − 1) = 36 min: 40 min from start to start.
    assert one.starts[1].after_opening_min - one.starts[0].after_opening_min >= 40


def test_a_station_that_a_ban_keeps_dry_on_a_night_stands_in_no_program_of_that_night():
    wednesday = date(2026, 7, 15)
    made = site(
        station(1), station(2), controller=Controller(2, 2), bans=(Ban(wednesday, wednesday, "works", frozenset({1})),)
    )
    table = compiled(made)
    runs = {terminal: each for each in table.programs for terminal in each.minutes_min}
    assert wednesday not in runs[1].nights
    assert wednesday in runs[2].nights


def test_a_station_that_wants_no_water_stands_in_no_program_and_a_blocked_one_neither():
    made = site(station(1), station(2, blocked="no water arrives"), controller=Controller(2, 2))
    table = compiled(made)
    assert [set(each.minutes_min) for each in table.programs] == [{1}]
    assert [each.week_min > 0 for each in table.stations] == [True, False]


def test_a_site_without_a_clock_is_told_which_table_to_add():
    with pytest.raises(PlanRefused, match=r"add a table \[controller\] .* two keys programs and starts"):
        compiled(site(station(1)))


def test_no_night_no_program():
    made = site(station(1), water_days={0}, controller=Controller(2, 2))
    table = compiled(made, lambda plan: replace(plan, nights=()))
    assert (table.programs, table.nights, table.entries_count) == ((), (), 0)


def held_table():
    """A table of two programs made by hand, on a site with nine stations."""
    made = site(*(station(terminal) for terminal in range(1, 10)), controller=Controller(3, 4))
    a = program("A", {1: 5, 4: 9}, time(22), time(23), opens=time(22))
    b = program("B", {2: 7}, time(22, 30), time(23, 10), opens=time(22))
    return replace(compiled(made), programs=(a, b))


def test_differences_by_hand():
    now = (
        Program("A", (time(22), time(23)), EVERY_DAY, {1: 5.0, 4: 12.0, 9: 10.0}),
        Program("b", (time(22, 30), time(23, 30)), frozenset({0, 2}), {2: 7.0}, 120.0),
        Program("C", (time(16),), EVERY_DAY, {3: 8.0}),
    )
    assert differences(now, held_table()) == (
        MinutesChange("A", 4, 12.0, 9),
        MinutesChange("A", 9, 10.0, None),
        DaysChange("B", frozenset({0, 2}), EVERY_DAY),
        PercentChange("B", 120.0, 100.0),
        StartChange("B", 2, time(23, 30), time(23, 10)),
        StartChange("C", 1, time(16), None),
    )


def test_a_clock_that_holds_the_table_needs_no_change_and_an_empty_one_every_entry():
    table = held_table()
    now = tuple(
        Program(each.letter, tuple(start.at for start in each.starts), each.days, dict(each.minutes_min))
        for each in table.programs
    )
    assert differences(now, table) == ()
    # Starts in another order run the same.
    assert differences((replace(now[0], starts=now[0].starts[::-1]), now[1]), table) == ()
    # Two days changes, 4 starts, 3 run times.
    assert len(differences((), table)) == 2 + 4 + 3


def test_programs_take_the_letters_that_leave_least_to_change():
    table = held_table()
    now = (
        Program("A", (time(22, 30), time(23, 10)), EVERY_DAY, {2: 7.0}),
        Program("B", (time(22), time(23)), EVERY_DAY, {1: 5.0, 4: 9.0}),
    )
    named = relettered(now, table)
    assert differences(now, named) == ()
    assert [dict(each.minutes_min) for each in named.programs] == [{2: 7}, {1: 5, 4: 9}]
