"""What a clock delivers, against hand arithmetic.

The station made for tests: loam (intake 0.35 in/h = 8.89 mm/h, surface storage 0.30 in = 7.62 mm, available water
0.155), a cup rate of 40 mm/h, 60 m². It runs off after 60 × 7.62 / (40 − 8.89) = 14.696 min.
"""

from dataclasses import replace
from datetime import date, datetime, time, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.errors import PlanRefused
from etsched.model.visit import ClockFound, Program
from etsched.planning import water
from etsched.planning.clock_found import delivered
from etsched.planning.clock_passes import passes
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.weather_days import days_from_weather
from etsched.tables.clock_delivers import clock_delivers_table

from .made import EVERY_DAY, known, site, station, weather

MONDAY = date(2026, 7, 6)
LONGEST_MIN = 60 * 7.62 / (40 - 8.89)


def wall(year, month, day, hour=0, minute=0):
    """A time on a wall, which knows no zone."""
    return datetime.combine(date(year, month, day), time(hour, minute))


def program(minutes, *starts, days=EVERY_DAY, name="A", percent=100.0):
    return Program(name, starts or (time(2),), frozenset(days), minutes, percent)


def deliver(clock, a_site=None, first_day=MONDAY, **columns):
    a_site = a_site or site(station(1), station(2))
    clock = clock if isinstance(clock, ClockFound) else ClockFound((clock,))
    land = ground(a_site, facts_by_station(a_site, first_day.month))
    return delivered(clock, a_site, land, days_from_weather(weather(**columns), a_site), first_day)


def remark(texts, *parts):
    """Find the one sentence that holds all parts."""
    found = [text for text in texts if all(part in text for part in parts)]
    assert len(found) == 1, texts
    return found[0]


def test_of_programs_that_nobody_read_nothing_is_said():
    wrong = ClockFound((), "bypassed", wall(2026, 7, 13, 18, 10), wall(2026, 7, 13, 6, 10))
    found = deliver(wrong)
    assert (found.stations, found.starts, found.ahead_min) == ((), (), 720.0)
    assert clock_delivers_table(found, site(station(1), station(2)), "us") == ()
    remark(found.remarks, "12 hours ahead of the true time")
    remark(found.remarks, "programs were not read")
    remark(found.remarks, "rain switch is bypassed")
    assert not any("never" in said or "taken to run" in said for said in deliver(ClockFound((), "on")).remarks)


def test_the_worked_example_of_the_trade_is_pushed_back():
    # 40-minute cycle, starts 2:00 and 2:30: the second runs at 2:40.
    found = deliver(program({1: 25, 2: 15}, time(2), time(2, 30), days={0}))
    first, second = found.starts
    assert (first.begins, first.ends) == (wall(2026, 7, 6, 2), wall(2026, 7, 6, 2, 40))
    assert (second.set_for, second.begins) == (wall(2026, 7, 6, 2, 30), wall(2026, 7, 6, 2, 40))
    assert (first.pushed_back_min, second.pushed_back_min) == (0.0, 10.0)
    remark(found.remarks, "the 2:30 am start comes before the last run has finished and begins at 2:40 am")
    remark(found.remarks, "2 start times (2:00 am and 2:30 am)", "a start was forgotten")
    assert [each.runs_count for each in found.stations] == [2, 2]
    remark(found.stations[0].remarks, "runs twice a day of program A")


def test_depth_use_and_share_of_a_plain_week():
    found = deliver(program({1: 6, 2: 12}, days={0, 2, 4}))
    one, two = found.stations
    assert (one.minutes_min, one.runs_count) == (18.0, 3)
    assert one.depth_mm == pytest.approx(12.0)  # 18 min at 40 mm/h
    assert two.depth_mm == pytest.approx(24.0)
    assert (one.runoff_mm, one.beyond_min, one.kept_mm) == (0.0, 0.0, one.depth_mm)
    assert one.of_use_pct == pytest.approx(1200.0 / one.use_mm)
    assert one.wetted_mm == pytest.approx(4.0 / 0.155)  # 4 mm a night
    assert one.volume_l == pytest.approx(12.0 * 60.0)  # a litre is a millimetre on a square metre
    assert one.remarks == ()


def test_use_is_the_sum_of_the_seven_days():
    a_site = site(station(1, crop_factor=known(0.8)))
    days = days_from_weather(weather(), a_site)
    eto = days.between(MONDAY, 7).eto_mm
    (only,) = deliver(program({1: 10}), a_site).stations
    assert only.use_mm == pytest.approx(0.8 * eto.sum())


def test_minutes_past_the_longest_cycle_run_off_at_rate_less_intake():
    one, _ = deliver(program({1: 30, 2: 5}, days={0, 3})).stations
    assert one.beyond_min == pytest.approx(2 * (30 - LONGEST_MIN))
    assert one.runoff_mm == pytest.approx(2 * (30 - LONGEST_MIN) * (40 - 8.89) / 60)
    assert one.kept_mm == pytest.approx(40.0 - one.runoff_mm)
    assert one.of_use_pct == pytest.approx(100 * one.kept_mm / one.use_mm)
    assert one.wetted_mm == pytest.approx(one.kept_mm / 2 / 0.155)
    remark(one.remarks, "water runs off", "15 min that the ground takes at once")


@pytest.mark.parametrize(
    ("second", "pause", "runs_off"),
    [
        (time(2, 20), 6, True),  # station 1 runs 2:00–2:14, station 2 until 2:19
        (time(2, 10), 5, True),  # pushed back to 2:19
        # The ground holds 14.696 minutes of running, so before another 14 of them 13.304 of the first 14 must soak
        # in, which takes 13.304 × 31.11 / 8.89 = 46.6 min.
        (time(3, 0), 46, True),
        (time(3, 1), 47, False),
    ],
)
def test_a_second_run_without_enough_soak_runs_off(second, pause, runs_off):
    one, _ = deliver(program({1: 14, 2: 5}, time(2), second, days={1})).stations
    # Each minute of a pause lets in 8.89 / (40 − 8.89) minutes of running.
    left = 28 - pause * 8.89 / 31.11 - LONGEST_MIN
    assert (left > 0.0) is runs_off
    assert one.beyond_min == pytest.approx(max(left, 0.0), abs=1e-9)


def test_percent_adjust_scales_and_is_said():
    found = deliver(program({1: 10}, days={0}, percent=75))
    assert found.stations[0].minutes_min == 7.5
    remark(found.remarks, "Program A is set to 75% of its minutes")


def test_stations_without_minutes_never_run():
    clock = ClockFound((program({1: 10}), Program("C", (), EVERY_DAY, {2: 20})))
    found = deliver(clock)
    assert found.stations[1].depth_mm == 0.0
    assert remark(found.stations[1].remarks, "never runs").endswith("program C, which never starts")
    remark(found.remarks, "Program C never runs: it has no start time")
    assert deliver(program({1: 10})).stations[1].remarks == ("never runs: it has no minutes in any program",)


@pytest.mark.parametrize("change", [{"starts": ()}, {"days": frozenset()}, {"minutes_min": {1: 0}}])
def test_a_program_that_lacks_something_never_runs(change):
    found = deliver(replace(program({1: 10}), **change))
    assert found.starts == ()
    assert found.stations[0].minutes_min == 0.0
    assert found.stations[0].wetted_mm == 0.0
    remark(found.remarks, "Program A never runs")


def test_two_programs_wait_for_each_other_and_name_the_station_in_both():
    clock = ClockFound((program({1: 30}, days={0}), program({1: 10, 2: 10}, time(2, 20), days={0}, name="B")))
    found = deliver(clock)
    assert [start.waited_for for start in found.starts] == ["", "A"]
    assert found.starts[1].begins == wall(2026, 7, 6, 2, 30)
    remark(found.remarks, "Program B: the 2:20 am start", "program A", "unless this clock runs two programs at once")
    remark(found.stations[0].remarks, "is in programs A and B")


def test_runs_by_daylight_and_outside_the_allowed_hours():
    found = deliver(program({1: 30}, time(13), days={0, 1})).stations[0]
    assert (found.daytime_min, found.forbidden_min) == (60.0, 60.0)
    remark(found.remarks, "waters in daytime: 60 min")
    remark(found.remarks, "outside the allowed hours or days: 60 min")
    # At 39.5° N, 105° W the sun rises a little after 5:30 in July (solar noon 13:05, half a day of 7.4 h); 6:00 closes.
    found = deliver(program({1: 30}, time(5, 45), days={0})).stations[0]
    assert (found.daytime_min, found.forbidden_min) == (30.0, 15.0)
    assert deliver(program({1: 20}, time(5), days={0})).stations[0].daytime_min == 0.0


def test_a_night_belongs_to_the_day_its_window_opens_on():
    # Allowed: Mondays from 22:00 to Tuesday 6:00.
    a_site = site(station(1), water_days={0})
    forbidden = {
        (day, hour): deliver(program({1: 10}, time(hour), days={day}), a_site).stations[0].forbidden_min
        for day, hour in [(0, 23), (1, 2), (0, 2), (1, 23)]
    }
    assert forbidden == {(0, 23): 0.0, (1, 2): 0.0, (0, 2): 10.0, (1, 23): 10.0}


def test_a_clock_that_reads_wrongly_runs_at_other_hours_and_days():
    reads, really = wall(2026, 7, 6, 23, 0), wall(2026, 7, 7, 9, 0)
    clock = ClockFound((program({1: 10}, time(2), days={0}),), reads=reads, really=really)
    found = deliver(clock)
    assert found.ahead_min == -600.0
    (start,) = found.starts  # its Monday 2:00 comes ten hours late
    assert start.begins == wall(2026, 7, 6, 12)
    assert found.stations[0].forbidden_min == 10.0
    remark(found.remarks, "The clock reads Mon Jul 6 2026, 11:00 pm when it is Tue Jul 7 2026, 9:00 am",
           "10 hours behind", "wrong days")  # fmt: skip


def test_a_year_off_keeps_the_weekly_minutes_and_a_minute_off_is_no_remark():
    base = program({1: 10}, time(2), days={0, 3})
    off = ClockFound((base,), reads=wall(2001, 1, 1), really=wall(2026, 7, 6))
    assert deliver(off).stations[0].minutes_min == 20.0
    near = ClockFound((base,), reads=wall(2026, 7, 6, 9, 3), really=wall(2026, 7, 6, 9, 0))
    assert not [text for text in deliver(near).remarks if "clock reads" in text]


def test_a_clock_nobody_read_is_said():
    remark(deliver(program({1: 10})).remarks, "date and time were not read")
    read = ClockFound((program({1: 10}),), reads=wall(2026, 7, 6))
    remark(deliver(read).remarks, "not compared with the true time")


@pytest.mark.parametrize(("state", "words"), [("bypassed", "is bypassed"), ("none", "no rain switch")])
def test_the_rain_switch(state, words):
    remark(deliver(ClockFound((program({1: 5}),), rain_switch=state)).remarks, words)


def test_terminals_that_the_site_lacks_take_their_time_and_are_named():
    found = deliver(program({9: 20, 1: 10}, time(2), time(2, 10), days={0}))
    assert found.starts[1].begins == wall(2026, 7, 6, 2, 30)
    remark(found.remarks, "minutes for 9, a terminal that the site file lacks")


def test_a_blocked_station_gets_nothing_however_long_it_runs():
    found = deliver(program({1: 20}), site(station(1, blocked="valve dead"))).stations[0]
    assert (found.minutes_min, found.depth_mm, found.of_use_pct, found.volume_l) == (140.0, 0.0, 0.0, None)
    remark(found.remarks, "no water arrives", "valve dead")


def test_more_than_a_week_holds_is_said():
    found = deliver(program({1: 600, 2: 900}))  # 25 hours a day
    remark(found.remarks, "ask for 175 hours a week")
    assert sum(each.minutes_min for each in found.stations) < 7 * 1440 + 1500


def test_a_first_runoff_seen_outranks_the_table_and_an_unknown_amount_is_said():
    a_site = site(station(1, precip_rate=known(8.0), first_runoff=known(4.0)))
    found = deliver(program({1: 10}, days={0}), a_site).stations[0]
    assert (found.beyond_min, found.runoff_mm) == (6.0, 0.0)
    remark(found.remarks, "how much runs off is not known")


def test_weather_that_begins_later_is_refused():
    with pytest.raises(PlanRefused, match="weather begins on 2026-07-10, after 2026-07-06"):
        deliver(program({1: 10}), first=date(2026, 7, 10))


def test_days_past_the_weather_take_the_mean_of_the_last_seven():
    a_site = site(station(1))
    (only,) = deliver(program({1: 10}), a_site, first_day=MONDAY, days=17).stations  # ends on 6 July
    land = ground(a_site, facts_by_station(a_site, 7))
    days = days_from_weather(weather(days=17), a_site)
    first = water.demand(land, days, 16)[0][0]
    mean = days.eto_mm[-7:].mean()
    assert only.use_mm == pytest.approx(first * (1 + 6 * mean / days.eto_mm[16]))


def test_rows_in_the_readers_units():
    a_site = site(station(1, plan_number="A-1"))
    found = deliver(program({1: 6}, days={0, 2, 4}), a_site)
    (row,) = clock_delivers_table(found, a_site, "us")
    assert (row.terminal, row.plan_number, row.runs, row.minutes.text) == (1, "A-1", 3, "18 min")
    assert row.depth.text == "0.47 in"  # 12 mm
    assert row.wetted.text == "1.02 in"  # 25.8 mm
    use = f"{found.stations[0].use_mm / 25.4:.2f} in"
    share = f"{1200 / found.stations[0].use_mm:.0f}%"
    assert row.sentence == f"Station 1 (lawn 1) gets 0.47 in of water a week, {share} of the {use} its turf uses."
    (row,) = clock_delivers_table(deliver(program({1: 30}, days={0}), a_site), a_site, "metric")
    assert "gets 20.0 mm of water a week, of which 7.9 mm runs off: what stays is" in row.sentence
    (row,) = clock_delivers_table(deliver(program({2: 30}), a_site), a_site, "metric")
    assert "gets no water from the clock" in row.sentence


MINUTES = st.dictionaries(st.integers(1, 4), st.integers(0, 90), max_size=4)
TIMES = st.integers(0, 1439).map(lambda minute: time(minute // 60, minute % 60))
PROGRAMS = st.builds(
    Program,
    st.sampled_from("ABC"),
    st.lists(TIMES, max_size=3).map(tuple),
    st.frozensets(st.integers(0, 6)),
    MINUTES,
    st.sampled_from([50.0, 100.0, 130.0]),
)


@given(st.lists(PROGRAMS, min_size=1, max_size=3), st.integers(-3000, 3000))
@settings(max_examples=150, deadline=None)
def test_a_valve_opens_only_after_the_one_before_has_shut_and_nothing_is_lost(programs, ahead):
    really = wall(2026, 7, 6, 9)
    clock = ClockFound(tuple(programs), reads=really + timedelta(minutes=ahead), really=really)
    found = passes(clock, MONDAY)
    opens = np.concatenate([np.zeros(0), *(each.opens_min for each in found)])
    shuts = opens + np.concatenate([np.zeros(0), *(each.length_min for each in found)])
    assert np.all(opens[1:] >= shuts[:-1] - 1e-6)
    asked = {
        terminal: sum(
            p.minutes_min.get(terminal, 0) * p.percent_adjust_pct / 100 * len(p.starts) * len(p.days) for p in programs
        )
        for terminal in range(1, 5)
    }
    found = deliver(clock, site(*(station(n) for n in range(1, 5)), station(5, precip_rate=known(5.0))))
    for each in found.stations:
        assert each.kept_mm + each.runoff_mm == pytest.approx(each.depth_mm)
        assert each.runoff_mm >= 0.0
        assert each.kept_mm >= -1e-9
        assert 0.0 <= each.beyond_min <= each.minutes_min + 1e-9
        assert each.daytime_min <= each.minutes_min + 1e-9
    if sum(asked.values()) < 1440:  # so little that no queue outlives its week
        assert {s.terminal: s.minutes_min for s in found.stations} == pytest.approx(asked | {5: 0.0})


@given(st.integers(1, 60), st.integers(0, 180))
@settings(max_examples=60, deadline=None)
def test_a_longer_pause_never_makes_more_runoff(minutes, gap):
    def beyond(pause):
        second = time((120 + minutes + pause) // 60, (120 + minutes + pause) % 60)
        return deliver(program({1: minutes}, time(2), second, days={0})).stations[0].beyond_min

    assert beyond(gap + 10) <= beyond(gap) + 1e-9
    assert np.isfinite(beyond(gap))
