import json
import math
from dataclasses import replace

import pytest

from etsched.errors import PlanRefused
from etsched.reports.week_json import week_json
from etsched.reports.why_json import why_json
from tests.reports.sample_week import renamed, sample_week


def read(plan=None, system=None):
    return json.loads(week_json(plan or sample_week(), system))


def test_same_bytes_for_the_same_plan_and_sorted_keys():
    text = week_json(sample_week())
    assert text == week_json(sample_week())
    assert list(json.loads(text)) == sorted(json.loads(text))
    assert text.endswith("}\n")


def test_head():
    document = read()
    assert document["schema"] == "etsched.week/1"
    assert (document["first_day"], document["units"]) == ("2026-07-13", "us")
    assert document["site"] == {
        "name": "Larkmoor Green",
        "latitude_deg": 39.1,
        "longitude_deg": -77.2,
        "elevation_m": 140.0,
        "zone": "America/New_York",
    }
    assert document["weather_source"] == "larkmoor.csv"
    assert document["weather_as_of"].startswith("observed through Mon Jul 13; ")


def test_water_and_what_was_applied_can_be_carried_on():
    document = read()
    assert document["water"]["morning"] == "2026-07-13"
    assert document["water"]["deficit_mm"]["7"] == [9.0, 4.5]
    assert document["water"]["thickness_mm"]["7"] == [152.4, 50.8]
    assert document["water_end"]["morning"] == "2026-07-20"
    assert document["water_end"]["deficit_mm"]["7"] == [1 / 3, 0.0]  # full precision
    assert document["applied"] == [
        {"terminal": terminal, "serves": serves, "minutes": minutes}
        for serves, night in (("2026-07-14", (24, 34, 34)), ("2026-07-17", (16, 30, 22)))
        for terminal, minutes in zip((1, 4, 7), night, strict=True)
    ]


def test_night_in_utc_and_on_the_wall():
    night = read()["nights"][0]
    assert (night["opens_utc"], night["closes_utc"]) == ("2026-07-14T02:00:00Z", "2026-07-14T04:30:00Z")
    assert night["opens_local"] == "2026-07-13T22:00:00-04:00"
    assert night["closes_local"] == "2026-07-14T00:30:00-04:00"
    assert (night["length_min"], night["used_min"], night["bound_min"]) == (150, 145, 134)


def test_run_with_cycles_and_working():
    run = read()["nights"][0]["runs"][2]
    assert (run["terminal"], run["minutes"], run["least_soak_min"], run["flow_l"]) == (7, 34, 30, 680.0)
    assert run["cycles"][0] == {"start_min": 42, "length_min": 12, "start": "10:42 pm", "end": "10:54 pm"}
    assert run["applied_mm"] == pytest.approx(25.4 * 34 / 60, rel=1e-15)
    assert run["working"][0] == {
        "name": "Depletion",
        "formula": "water missing from the root zone at dawn",
        "value": 9.0,
        "unit": "mm",
        "reader": "0.354 in",
        "source": "the water books",
    }


def test_numbers_are_metric_whatever_the_reader_reads():
    us, metric = read(), read(system="metric")
    assert us["stations"][0]["applied_mm"] == metric["stations"][0]["applied_mm"]
    assert (us["stations"][0]["depth"], metric["stations"][0]["depth"]) == ("1.00 in", "25.4 mm")
    assert us["books"] == metric["books"]
    assert us["water"] == metric["water"]


def test_stations_and_shortfalls():
    document = read()
    assert [each["state"] for each in document["stations"]] == ["runs", "runs", "runs", "blocked", "rests"]
    assert document["stations"][3]["blocked"] == "valve does not open by hand"
    assert document["stations"][0]["likely"] == {
        "wanted_min": 40,
        "low_min": 30,
        "high_min": 48,
        "widest": "root_depth",
        "narrows": "root_depth",
        "measure": "a soil core",
    }
    assert document["nights"][1]["shortfalls"] == [
        {
            "terminal": 7,
            "missing_min": 11,
            "reason": "its third cycle could start only after the window closes",
        }
    ]
    assert document["assumptions"][0]["terminal"] is None
    assert document["assumptions"][1]["reader"] == "6.00 in"


def test_totals():
    document = read()["totals"]
    assert document["eto_mm"] == pytest.approx(39.2)
    assert document["volume_l"] == 2720.0
    assert (document["minutes"], document["volume_unmetered_terminals"]) == (160, [4])


def test_weather_says_how_each_day_is_known():
    document = read()
    assert [day["kind"] for day in document["weather"]] == ["observed"] + ["forecast"] * 4 + ["standing in"] * 2
    assert document["weather"][0]["filled"] == ["wind: 2 m/s taken, none was given"]


def test_what_is_no_number_becomes_null():
    plan = sample_week()
    day = replace(plan.days[0], tmin_c=math.nan)
    assert read(replace(plan, days=(day,)))["weather"][0]["tmin_c"] is None


def test_hostile_text_is_only_text():
    text = 'x","schema":"other\x1b[31m\udcff'
    encoded = week_json(renamed(sample_week(), text)).encode("utf-8")
    document = json.loads(encoded)
    assert document["schema"] == "etsched.week/1"
    assert document["site"]["name"] == 'x","schema":"other [31m'


def test_why_one_station():
    document = json.loads(why_json(sample_week(), 7))
    assert (document["schema"], document["terminal"], document["area"]) == (
        "etsched.why/1",
        7,
        "Clay bank by the steps",
    )
    first, second = document["nights"]
    assert first["outcome"] == "10:42 pm, 12+11+11 min, soak ≥ 30 min"
    assert [step["name"] for step in first["run"]["working"]] == [
        "Depletion",
        "Gross depth",
        "Minutes",
        "Cycles",
    ]
    assert second["missing_min"] == 11
    assert [each["field"] for each in document["assumptions"]] == ["target_depth", "intake", "root_depth"]


def test_why_a_blocked_station_and_an_unknown_one():
    document = json.loads(why_json(sample_week(), 12))
    assert document["blocked"] == "valve does not open by hand"
    assert [night["run"] for night in document["nights"]] == [None, None]
    with pytest.raises(PlanRefused, match="no station at terminal 99"):
        why_json(sample_week(), 99)
