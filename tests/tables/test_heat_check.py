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
    assert heat_table(made({1: 8}, spell=None)).spell.startswith("The forecast as it is, Tue Jul 14–Mon Jul 20 (for ")


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


def test_short_nights_say_what_fits_and_what_does_not():
    found = made({1: 8, 2: 8}, opens=time(4), closes=time(4, 20))
    table = heat_table(found)
    runs = [run for night in found.nights for run in night.runs]
    extra, missing = sum(run.extra_min for run in runs), sum(run.missing_min for run in runs)
    fits = sum(run.extra_min - min(run.missing_min, run.extra_min) for run in runs)
    assert 0 < fits < extra
    assert f"{fits} of the {extra} min fit, {extra - fits} do not." in table.verdict[2]
    # Both stations lack more than what is added: the rest is of the minutes that the clock runs anyhow.
    own = missing - (extra - fits)
    assert (own > 0) == any("the table itself asks for" in line for line in table.verdict)
    assert {row.holds for row in table.nights if row.missing_min} == {
        f"no: {night.missing_min} min of stations do not fit" for night in found.nights if night.missing_min
    }
    assert sum(row.missing_min for row in table.rows) == missing
    assert table.to_add[0].startswith("Add only what fits")
    assert {row.helped for row in table.rows} & {"only if all of it ran"}
    assert any(" fit)" in row.add for row in table.rows)


def test_full_nights_ask_nobody_to_add_what_does_not_fit():
    table = heat_table(made({1: 8, 2: 8}, opens=time(4), closes=time(4, 1)))
    assert "None of the minutes to add fit" in " ".join(table.verdict)
    assert table.to_add[0].startswith("The nights are full: none of the minutes")
    assert all("none fit" in part for row in table.rows if row.add for part in row.add.split(", "))


def test_nights_that_hold_all_have_it_added_and_nothing_to_add_is_said():
    assert heat_table(made({1: 8})).to_add == ("Add the minutes that the table of stations lists, night by night.",)
    assert heat_table(made({1: 30})).to_add == ("There are no minutes to add.",)


def test_one_station_and_a_blocked_one_are_worded_as_such():
    assert heat_table(made({1: 8})).verdict[0].startswith("The one station that works passes its allowable depletion")
    first = heat_table(made({1: 8, 2: 30})).verdict[0]
    assert first.startswith("1 of 2 stations passes its allowable depletion: 1")
    stations = [station(1, **DRY), station(2, **DRY), station(3, **DRY, blocked="a stuck valve")]
    clock = ClockFound((Program("A", (time(23),), EVERY_DAY, {1: 8.0, 2: 8.0, 3: 8.0}),))
    blocked = heat_table(heat_check(HeatCase(site(*stations), weather(), FIRST, clock, WARM)))
    assert blocked.verdict[0].startswith("2 of 2 stations pass their allowable depletion: 1, 2")
    assert blocked.verdict[0].endswith("Not counted: 3, blocked.")


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
