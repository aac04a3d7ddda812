import csv
import io
from dataclasses import replace
from datetime import date, time

import pytest

from etsched.days import night
from etsched.reports.week_csv import guarded, week_csv
from tests.reports.sample_week import ZONE, priced, renamed, sample_week


def read(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_header_names_the_units():
    assert week_csv(sample_week()).splitlines()[0] == (
        "night_opens_on,serves,terminal,plan_number,area,state,starts_local,cycles_min,least_soak_min,minutes,"
        "depth_in,volume_gal,week_minutes,week_depth_in,week_volume_gal,missing_min,mark,remark,weather_credit"
    )
    assert "depth_mm,volume_L" in week_csv(sample_week(), "metric").splitlines()[0]


def test_costs_have_columns_where_a_price_is_stated():
    """At 2 EUR a cubic metre: station 1 takes 960 L and 640 L, 7 takes 680 L and 440 L; the flow of 4 is not known."""
    rows = read(week_csv(priced(sample_week()), "metric"))
    told = [(row["terminal"], row["cost_EUR"], row["week_volume_L"], row["week_cost_EUR"]) for row in rows]
    assert told[:5] == [
        ("1", "1.92", "1600", "3.20"),
        ("4", "", "", ""),
        ("7", "1.36", "1120", "2.24"),
        ("12", "", "0", "0.00"),
        ("15", "", "0", "0.00"),
    ]
    assert [each[1] for each in told[5:]] == ["1.28", "", "0.88", "", ""]


def test_lines_end_as_the_standard_says():
    text = week_csv(sample_week())
    assert text.count("\r\n") == text.count("\n") == 1 + 2 * 5
    assert text.endswith("\r\n")


def test_one_row_a_station_and_night():
    rows = read(week_csv(sample_week()))
    assert [(row["night_opens_on"], row["terminal"]) for row in rows] == [
        (day, terminal) for day in ("2026-07-13", "2026-07-16") for terminal in ("1", "4", "7", "12", "15")
    ]


def test_cells():
    first = read(week_csv(replace(sample_week(), attributions=("Sky data by the Larkmoor observers",))))[0]
    assert first == {
        "night_opens_on": "2026-07-13",
        "serves": "2026-07-14",
        "terminal": "1",
        "plan_number": "A1",
        "area": "Front lawn",
        "state": "runs",
        "starts_local": "10:00 pm; 11:03 pm; 12:06 am",
        "cycles_min": "3 × 8",
        "least_soak_min": "55",
        "minutes": "24",
        "depth_in": "0.60",  # 24 min at 1.5 in/h
        "volume_gal": "254",  # 960 L
        "week_minutes": "40",
        "week_depth_in": "1.00",
        "week_volume_gal": "423",  # 40 min at 40 L/min
        "missing_min": "0",
        "mark": "*",
        "remark": "guessed: root depth",
        "weather_credit": "Sky data by the Larkmoor observers",
    }


def test_rows_that_do_not_run_say_so():
    rows = read(week_csv(sample_week()))
    blocked, rests = rows[3], rows[4]
    assert (blocked["state"], blocked["minutes"], blocked["starts_local"]) == ("blocked", "0", "")
    assert blocked["remark"] == "blocked: valve does not open by hand"
    assert (rests["state"], rests["minutes"], rests["depth_in"]) == ("rests", "0", "")


def test_what_is_a_nights_own_can_be_summed():
    """Station 7 misses 11 min, all of them on Thursday; on the night that it is made to rest its row says so."""
    plan = sample_week()
    rows = read(week_csv(plan))
    assert [(row["night_opens_on"], row["missing_min"]) for row in rows if row["terminal"] == "7"] == [
        ("2026-07-13", "0"),
        ("2026-07-16", "11"),
    ]
    monday = replace(plan.nights[0], runs=plan.nights[0].runs[:2])
    rows = read(week_csv(replace(plan, nights=(monday, plan.nights[1]))))
    told = [(row["state"], row["minutes"]) for row in rows if row["terminal"] == "7"]
    assert told == [("rests", "0"), ("runs", "22")]


def test_unknown_flow_is_an_empty_cell_and_no_zero():
    assert read(week_csv(sample_week()))[1]["volume_gal"] == ""


def test_night_of_25_hours():
    plan = sample_week()
    autumn = replace(plan.nights[0], night=night(date(2026, 10, 31), time(22), time(6), ZONE))
    shifted = replace(
        autumn,
        runs=(
            replace(
                autumn.runs[0],
                cycles=tuple(replace(c, start_min=c.start_min + 150) for c in autumn.runs[0].cycles),
            ),
        ),
    )
    row = read(week_csv(replace(plan, nights=(shifted,))))[0]
    # 150, 213 and 276 min after 10 pm EDT; the clocks go back after 240 min.
    assert row["starts_local"] == "12:30 am EDT; 1:33 am EDT; 1:36 am EST"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\uff1d", " =", "\n@"])
def test_formula_is_guarded(start):
    assert guarded(f"{start}cmd|' /C calc'!A0") == f"'{start}cmd|' /C calc'!A0"


@pytest.mark.parametrize("text", ["", "Front lawn", "4 = four", "A-1", "user@place"])
def test_ordinary_text_is_left_alone(text):
    assert guarded(text) == text


def test_hostile_names_stay_text_in_their_cell():
    text = '=HYPERLINK("http://x","y"),\r\n"1'
    rows = read(week_csv(renamed(sample_week(), text)))
    assert len(rows) == 10
    for row in rows:
        assert row["area"] == row["plan_number"] == '\'=HYPERLINK("http://x","y"), "1'
        assert not any(str(cell).lstrip().startswith(("=", "+", "-", "@")) for cell in row.values())
