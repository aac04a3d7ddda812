"""The words of a heat check, in either system of units."""

import re
from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from etsched.model.heat import HeatSpell
from etsched.model.visit import ClockFound, Program
from etsched.planning.heat_check import HeatCase, heat_check
from etsched.planning.heat_table import WeekMinutes
from etsched.tables.heat_check import difference_text, heat_table, minutes_in_clock
from tests.planning.made import EVERY_DAY, known, site, station, weather

FIRST = date(2026, 7, 14)
DRY = {"depletion": known(11.0), "intake": known(60.0), "allowable_depletion": known(0.5)}
WARM = HeatSpell(40 / 9, FIRST, 3)  # 8 °F


def made(minutes, spell=WARM, starts=time(23), **over):
    stations = [station(terminal, **DRY) for terminal in minutes]
    clock = ClockFound((Program("A", (starts,), EVERY_DAY, {t: float(m) for t, m in minutes.items()}),))
    return heat_check(HeatCase(site(*stations, **over), weather(), FIRST, clock, spell))


def planned(minutes, **over):
    """The same with a week's table."""
    stations = [station(terminal, **DRY) for terminal in minutes]
    table = {(t, FIRST + timedelta(days=day)): float(m) for t, m in minutes.items() for day in range(7)}
    held = WeekMinutes(table, "a table made for a test")
    return heat_check(HeatCase(site(*stations, **over), weather(), FIRST, held, WARM))


@pytest.mark.parametrize(("system", "words"), [("us", "8 °F"), ("metric", "4.4 °C")])
def test_a_difference_of_temperatures_has_no_zero_of_its_own(system, words):
    assert difference_text(40 / 9, system) == words


def test_the_weather_taken_is_said_in_the_readers_units():
    found = made({1: 8})
    metric = heat_table(found, "metric").spell
    assert metric.startswith("4.4 °C hotter than forecast, Tue Jul 14–Thu Jul 16: up to 39.4 °C, reference ET ")
    assert heat_table(found, "us").spell.startswith("8 °F hotter than forecast, Tue Jul 14–Thu Jul 16: up to 103 °F")
    assert heat_table(made({1: 8}, spell=None)).spell.startswith("The forecast as it is, Tue Jul 14–Mon Jul 20 (for ")


def test_the_answer_comes_first_and_adds_up():
    found = made({1: 8, 2: 8})
    table = heat_table(found)
    minutes = sum(night.added_min for night in table.nights)
    assert table.verdict[0].startswith("2 of 2 stations get too dry with the clock as it stands: 1, 2")
    assert table.verdict[1].startswith(f"{minutes} min of extra runs are wanted, on {len(table.nights)} nights")
    assert table.verdict[1].endswith("the allowed hours hold them all.")
    assert minutes == sum(row.extra_min for row in table.rows) == sum(station.extra_min for station in found.stations)
    for night in table.nights:
        assert sum(run.extra_min for run in night.runs) == night.added_min == night.fits_min > 0


def test_nights_are_named_by_the_day_they_begin_on():
    table = heat_table(made({1: 8}))
    assert table.nights[0].label == "Mon Jul 13 into Tue Jul 14"
    heads, (row,) = minutes_in_clock(made({1: 8}))
    assert heads[2:5] == ("Mon Jul 13", "Tue Jul 14", "Wed Jul 15")
    assert heads[5:] == ("Thu Jul 16", "Fri Jul 17", "Sat Jul 18", "Sun Jul 19")
    assert row == ("1", "lawn 1", *["8"] * 7)


def test_enough_water_says_so_and_changes_nothing():
    table = heat_table(made({1: 30}))
    assert table.verdict == ("No station that works gets too dry with the clock as it stands.",)
    assert table.steps == ("Leave the clock as it is.",)
    assert table.percent == ("Leave percent adjust at 100%: no station lacks what it could bring.",)
    assert table.back == "Nothing is to be changed in the clock, so there is nothing to set back."
    assert (table.rows, table.nights) == ((), ())
    assert table.fine == "Moist enough on all these days: station 1."


def test_short_nights_are_one_account_of_what_has_room_and_what_has_not():
    # From 4:00 the clock runs 8 + 8 of 20 min: 4 min are left for extra runs on every night.
    found = made({1: 8, 2: 8}, opens=time(4), closes=time(4, 20), starts=time(4))
    table = heat_table(found)
    wanted = sum(station.extra_min for station in found.stations)
    room = sum(min(night.added_min, 4) for night in table.nights)
    assert 0 < room < wanted
    assert f"min of extra runs are wanted, on {len(table.nights)} nights" in table.verdict[1]
    assert table.verdict[1].endswith(
        f": {room} have room in the allowed hours beside what the clock runs anyhow, {wanted - room} do not."
    )
    assert len(table.verdict) == 2
    for night in table.nights:
        assert (night.clock_min, night.length_min, night.fits_min) == (16, 20, min(night.added_min, 4))
        assert sum(run.fits_min for run in night.runs) == night.fits_min
    first = table.nights[0]
    assert first.words == (
        f"the clock runs 16 of 20 min that are allowed; room for 4 of {first.added_min} min extra"
    )
    # At 125 % the clock's 16 min are 20 as well, so the dial comes first and runs by hand in its place.
    assert "percent adjust of all programs to 125%" in table.steps[0]
    hand = f"Or, in place of the percent: run the {room} min that have room as extra runs by hand"
    assert any(line.startswith(hand) for line in table.steps)
    assert "the allowed hours must be longer" in " ".join(table.steps)


def test_full_nights_ask_nobody_to_add_what_has_no_room():
    table = heat_table(made({1: 8, 2: 8}, opens=time(4), closes=time(4, 16), starts=time(4)))
    assert "none of them has room" in table.verdict[1]
    assert table.steps[0] == "The nights are full: nothing can be added."
    assert all(night.fits_min == 0 for night in table.nights)
    assert not any(night.listed for night in table.nights)
    one, two = table.nights[0].runs
    assert table.nights[0].rest == (f"No room for stations 1 ({one.extra_min} min), 2 ({two.extra_min} min)",)
    assert table.steps[-1] == "Leave percent adjust at 100%: one step more would run past the allowed hours."


def test_a_week_s_table_takes_minutes_on_single_nights():
    table = heat_table(planned({1: 8}))
    assert table.steps[0].startswith("First: add the ")
    assert table.steps[0].endswith(" min to the table, on the nights of the list below.")
    assert "Or, in place of the extra runs: set percent adjust to " in " ".join(table.steps)
    assert "by hand" not in " ".join((*table.steps, table.how, table.back))


def test_trifles_are_left_alone():
    found = made({1: 14, 2: 14})
    at_now = replace(found.percent, set_pct=100.0, wanted_pct=100.0)
    less = tuple(
        replace(night, runs=tuple(replace(run, extra_min=min(run.extra_min, 2), fits_min=0) for run in night.runs))
        for night in found.nights
    )
    assert any(run.extra_min for night in less for run in night.runs)
    table = heat_table(replace(found, percent=at_now, nights=less))
    assert table.steps == (
        "Leave the clock as it is: no station wants more than 2 min on a night, less than anybody can measure.",
    )
    assert table.back.startswith("Nothing is to be changed")
    assert not any(night.listed for night in table.nights)
    assert table.nights[0].rest == ("2 min or less, which may be left out: stations 1, 2",)


def test_a_run_says_how_much_of_it_has_room():
    found = made({1: 8})
    (run,) = found.nights[0].runs
    partly = replace(found.nights[0], runs=(replace(run, extra_min=45, fits_min=24),))
    (row,) = heat_table(replace(found, nights=(partly,))).nights[0].listed
    assert row.minutes == "24 of 45"


def test_one_station_and_a_blocked_one_are_worded_as_such():
    assert heat_table(made({1: 8})).verdict[0].startswith("The one station that works gets too dry")
    table = heat_table(made({1: 8, 2: 30}))
    assert table.verdict[0].startswith("1 of 2 stations gets too dry with the clock as it stands: 1")
    assert table.fine == "Moist enough on all these days: station 2."
    stations = [station(1, **DRY), station(2, **DRY), station(3, **DRY, blocked="a stuck valve")]
    clock = ClockFound((Program("A", (time(23),), EVERY_DAY, {1: 8.0, 2: 8.0, 3: 8.0}),))
    blocked = heat_table(heat_check(HeatCase(site(*stations), weather(), FIRST, clock, WARM)))
    assert blocked.verdict[0].startswith("2 of 2 stations get too dry with the clock as it stands: 1, 2")
    assert blocked.verdict[0].endswith("Not counted, because no water comes out of it: 3.")
    assert [(row.terminal, row.helped) for row in blocked.rows if row.helped.startswith("no")] == [(3, "no: blocked")]


def test_days_without_a_forecast_are_not_called_one():
    stations, clock = [station(1, **DRY)], ClockFound((Program("A", (time(23),), EVERY_DAY, {1: 8.0}),))

    def spell(days, hotter):
        sky = weather(days=days, forecast_from=date(2026, 7, 10))
        return heat_table(heat_check(HeatCase(site(*stations), sky, FIRST, clock, hotter)), "us").spell

    # The weather begins on June 20: 24 days end the day before the check, 26 on its second.
    assert spell(24, None).startswith("Days that stand in (no forecast), Tue Jul 14–Mon Jul 20: up to ")
    assert spell(24, WARM).startswith("8 °F hotter than days that stand in (no forecast), Tue Jul 14–Thu Jul 16: up ")
    assert spell(26, WARM).startswith(
        "8 °F hotter than forecast, Tue Jul 14–Thu Jul 16 (for Thu Jul 16 there is no forecast: "
    )
    assert "stand" not in spell(35, None)


def test_percent_says_from_which_evening_to_which_and_comes_first():
    """The days are Tue Jul 14 to Thu Jul 16, so its nights begin on Mon, Tue and Wed, and on Thursday it goes back."""
    found = made({1: 12, 2: 12})
    percent = found.percent
    assert percent.set_pct > 100.0
    table = heat_table(found)
    assert table.steps[0] == (
        f"First: set percent adjust of all programs to {percent.set_pct:g}% (now 100%) from Mon Jul 13 in the evening "
        "on, and back to 100% on Thu Jul 16 in the evening (in steps of 5%: common practice, no source)."
    )
    assert "Or, in place of the percent: run the " in " ".join(table.steps)
    assert "serve" not in " ".join((*table.steps, table.back))


def test_a_dial_turned_later_does_nothing_for_the_nights_before():
    # 6 min a night lack from the first on; the hot day is Fri Jul 17, whose night begins on Thursday.
    table = heat_table(made({1: 6}, spell=HeatSpell(6.0, FIRST + timedelta(days=3), 1)))
    assert "from Thu Jul 16 in the evening on, and back to 100% on Fri Jul 17 in the evening" in table.steps[0]
    assert table.steps[1] == (
        "What the list below has for the nights of Mon Jul 13–Wed Jul 15 is wanted in either case."
    )


def test_what_a_percent_leaves_is_said_in_the_readers_units():
    found = made({1: 12, 2: 12})
    one, two = found.stations
    one, two = replace(one, under_mm=2.54, over_mm=0.0), replace(two, under_mm=0.0, over_mm=0.4)
    assert heat_table(replace(found, stations=(one, two)), "us").percent[-1] == (
        "That is too little for station 1, by 0.10 in at most; and more than the roots can take for station 2, by 0.02 "
        "in at most, over these nights."
    )
    nothing = replace(found, stations=tuple(replace(each, under_mm=0.01, over_mm=0.0) for each in found.stations))
    assert len(heat_table(nothing, "metric").percent) == 1


def test_a_dial_at_its_end_is_said_to_be_not_enough():
    found = made({1: 8})
    at_end = replace(found, percent=replace(found.percent, set_pct=200.0, wanted_pct=200.0, enough=False))
    assert any(line.endswith("(200%), and it is not enough.") for line in heat_table(at_end).percent)
    no_dial = replace(found, percent=replace(found.percent, set_pct=100.0, wanted_pct=100.0, enough=False))
    assert "goes no further, and it is not enough" in heat_table(no_dial).percent[0]


def test_a_percent_held_back_by_the_hours_says_so_and_none_that_overruns_is_named():
    # The clock runs 12 of the 13 min from 4:00: 5 % more are 12.6 min, 10 % more 13.2.
    found = made({1: 12}, opens=time(4), closes=time(4, 13), starts=time(4))
    assert (found.percent.set_pct, found.percent.wanted_pct > 105.0) == (105.0, True)
    table = heat_table(found)
    told = " ".join((*table.steps, *table.verdict, *table.notes, table.back))
    assert "to 105% (now 100%)" in table.steps[0]
    assert table.steps[1].startswith("Do not set more: ")
    assert table.steps[1].endswith(" but run past the allowed hours.")
    assert set(re.findall(r"(\d+)%", told)) == {"105", "100", "5"}


def test_until_when_is_one_answer():
    week = replace(planned({1: 14}), back_on=FIRST + timedelta(days=4))
    alone = replace(week, percent=replace(week.percent, set_pct=100.0, wanted_pct=100.0))
    # The first night without additions serves Sat Jul 18 and begins on Friday.
    assert heat_table(alone).back == "The table as it was is set again on Fri Jul 17 in the evening."
    # 2 min a night lack to the last day, Mon Jul 20, with the hot days from Tue to Thu. Percent goes back all the same.
    lacking = made({1: 2})
    assert lacking.back_on is None
    assert heat_table(lacking).back == (
        "Percent adjust, if you set it, goes back to 100% on Thu Jul 16 in the evening. The extra runs by hand end "
        "with the night of Sun Jul 19; they leave nothing to set back. Water is still lacking on Mon Jul 20, the last "
        "day looked at, so check or plan again before then."
    )


def test_supposed_days_are_no_forecast():
    sky = weather(days=35, forecast_from=FIRST)
    clock = ClockFound((Program("A", (time(23),), EVERY_DAY, {1: 8.0}),))
    table = heat_table(heat_check(HeatCase(site(station(1, **DRY)), sky, FIRST, clock, WARM)), "us")
    assert [day.kind for day in table.weather_days] == ["supposed, 8 °F hotter"] * 3 + ["forecast"] * 4
    assert table.heading == "If it gets 8 °F hotter: Tue Jul 14–Thu Jul 16"
    now = heat_table(heat_check(HeatCase(site(station(1, **DRY)), sky, FIRST, clock)), "us")
    assert {day.kind for day in now.weather_days} == {"forecast"}
    assert now.heading == "As forecast now: Tue Jul 14–Mon Jul 20"


def test_what_helps_is_said_station_by_station():
    found = made({1: 8})
    (one,) = found.stations
    for changed, words in (
        (replace(one, blocked="a stuck valve"), "no: blocked"),
        (replace(one, passes_still_on=None), "yes"),
        (replace(one, passes_still_on=FIRST, shallow=True), "in part: roots too short for such days"),
        (replace(one, passes_still_on=FIRST, shallow=False), "not on Tue Jul 14"),
    ):
        (row,) = heat_table(replace(found, stations=(changed,))).rows
        assert row.helped == words


def test_the_day_without_the_heat_stands_beside_where_it_differs():
    found = made({1: 8})
    (one,) = found.stations
    later = FIRST + timedelta(days=2)
    for usual, words in ((FIRST, ""), (later, "without the heat Thu Jul 16"), (None, "without the heat never")):
        changed = replace(one, passes_on=FIRST, usual_passes_on=usual)
        (row,) = heat_table(replace(found, stations=(changed,))).rows
        assert (row.dry, row.usual) == ("Tue Jul 14", words)


def test_hostile_texts_stay_one_line():
    found = made({1: 8})
    spoilt = replace(found, site=replace(found.site, name="A\x1b[31m\nB"), notes=("x\ny",), weather_source="w\x07")
    table = heat_table(spoilt)
    for text in (table.site, *table.notes, table.weather):
        assert text.isprintable()
