"""The words of a heat check, in either system of units."""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from etsched.model.heat import HeatSpell
from etsched.model.visit import ClockFound, Program
from etsched.planning.heat_check import HeatCase, heat_check
from etsched.tables.heat_check import difference_text, heat_table
from tests.planning.made import EVERY_DAY, known, site, station, weather

FIRST = date(2026, 7, 14)
DRY = {"depletion": known(11.0), "intake": known(60.0), "allowable_depletion": known(0.5)}
WARM = HeatSpell(40 / 9, FIRST, 3)  # 8 °F


def made(minutes, spell=WARM, **over):
    stations = [station(terminal, **DRY) for terminal in minutes]
    clock = ClockFound((Program("A", (time(23),), EVERY_DAY, {t: float(m) for t, m in minutes.items()}),))
    return heat_check(HeatCase(site(*stations, **over), weather(), FIRST, clock, spell))


@pytest.mark.parametrize(("system", "words"), [("us", "8 °F"), ("metric", "4.4 °C")])
def test_a_difference_of_temperatures_has_no_zero_of_its_own(system, words):
    assert difference_text(40 / 9, system) == words


def test_the_weather_taken_is_said_in_the_readers_units():
    found = made({1: 8})
    metric = heat_table(found, "metric").spell
    assert metric.startswith("4.4 °C hotter than forecast, Tue Jul 14–Thu Jul 16: up to 39.4 °C, reference ET ")
    assert heat_table(found, "us").spell.startswith("8 °F hotter than forecast, Tue Jul 14–Thu Jul 16: up to 103 °F")
    assert heat_table(made({1: 8}, spell=None)).spell.startswith("The forecast as it is, Tue Jul 14–Mon Jul 20")


def test_the_answer_comes_first_and_adds_up():
    found = made({1: 8, 2: 8})
    table = heat_table(found)
    minutes = sum(row.extra_min for row in table.rows)
    assert table.verdict[0].startswith("2 of 2 stations pass their allowable depletion: 1, 2")
    assert table.verdict[1].startswith(f"{minutes} min to add, on ")
    assert table.verdict[2] == "The nights hold it all."
    for row, heat in zip(table.rows, found.stations, strict=True):
        added = [int(part.rpartition(": ")[2]) for part in row.add.split(", ")]
        assert sum(added) == row.extra_min == heat.extra_min
    assert sum(night.added_min for night in table.nights) == minutes


def test_nights_are_named_by_the_day_they_begin_on():
    (row,) = heat_table(made({1: 8})).rows
    first = made({1: 8}).nights[0]
    assert first.extra_min
    assert row.add.startswith(f"Mon 13: {first.extra_min}")


def test_enough_water_says_so_and_changes_nothing():
    table = heat_table(made({1: 30}))
    assert table.verdict == (
        "Every station that works stays within its allowable depletion with the table as it stands.",
    )
    assert table.percent[0].startswith("Percent adjust stays at 100%: nothing lacks that it could bring; steps of 5%")
    assert table.back.startswith("Nothing is to be changed")


def test_short_nights_are_counted():
    found = made({1: 8, 2: 8}, opens=time(4), closes=time(4, 20))
    short = [night for night in found.nights if night.missing_min]
    table = heat_table(found)
    missing = sum(night.missing_min for night in short)
    assert table.verdict[2].endswith(f"too short: {missing} min do not fit.")
    assert {row.holds for row in table.nights if row.missing_min} == {
        f"no, {night.missing_min} min too short" for night in short
    }
    assert sum(row.missing_min for row in table.rows) == missing


def test_percent_says_from_when_to_when_and_back():
    found = made({1: 12, 2: 12})
    percent = found.percent
    assert percent.set_pct > 100.0
    (said,) = heat_table(found).percent
    assert f"percent adjust {percent.set_pct:g}% (now 100%)" in said
    assert "serve Tue Jul 14 to Thu Jul 16, and back to 100% for the one that serves Fri Jul 17" in said
    assert "common practice, no source" in said


def test_a_dial_at_its_end_is_said_to_be_not_enough():
    found = made({1: 8})
    at_end = replace(found, percent=replace(found.percent, set_pct=200.0, enough=False))
    assert heat_table(at_end).percent[-1].endswith("(200%), and it is not enough.")
    no_dial = replace(found, percent=replace(found.percent, set_pct=100.0, enough=False))
    assert "goes no further, and it is not enough" in heat_table(no_dial).percent[0]


def test_going_back_names_the_night_or_says_that_none_is_in_sight():
    found = made({1: 14})
    day = FIRST + timedelta(days=4)
    assert heat_table(replace(found, back_on=day)).back == (
        "Go back to the table as it was for the night that serves Sat Jul 18."
    )
    assert "the last day looked at" in heat_table(replace(made({1: 2}), back_on=None)).back


def test_what_helps_is_said_station_by_station():
    found = made({1: 8})
    (one,) = found.stations
    for changed, words in (
        (replace(one, passes_on=None), ""),
        (replace(one, blocked="a stuck valve"), "blocked"),
        (replace(one, passes_still_on=None), "yes"),
        (replace(one, passes_still_on=FIRST, shallow=True), "roots hold too little"),
        (replace(one, passes_still_on=FIRST, shallow=False), "not before Tue Jul 14"),
    ):
        (row,) = heat_table(replace(found, stations=(changed,))).rows
        assert row.helped == words


def test_hostile_texts_stay_one_line():
    found = made({1: 8})
    spoilt = replace(found, site=replace(found.site, name="A\x1b[31m\nB"), notes=("x\ny",), weather_source="w\x07")
    table = heat_table(spoilt)
    for text in (table.site, *table.notes, table.weather):
        assert text.isprintable()
