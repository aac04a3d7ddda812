from __future__ import annotations

import json
import math
import re
from datetime import date, datetime, time
from pathlib import Path

import pytest

from etsched.documents.site_file import read_site
from etsched.documents.starter_visit import starter_visit
from etsched.documents.visit_file import parse_visit
from etsched.documents.visit_schema import visit_schema
from etsched.model.visit import CoreLayer, Cup, Visit

ROOT = Path(__file__).parents[2]
WRITTEN = ROOT / "config" / "visit.schema.json"
SITE = read_site(ROOT / "demo" / "site.toml")
TODAY = date(2026, 8, 1)
CUPS = """
[[cups]]
stations = [5]
minutes = [15]
unit = "{}"
"""


def visit(text: str) -> Visit:
    return parse_visit("date = 2026-07-14\n" + text, "visit.toml", SITE, TODAY)


def cups(text: str, unit: str = "mL") -> tuple[Cup, ...]:
    return visit(CUPS.format(unit) + text).cup_tests[0].cups


def test_a_date_is_enough_and_nothing_is_filled_in():
    assert visit("") == Visit(date(2026, 7, 14))


def test_the_day_may_be_today_but_not_later():
    assert parse_visit("date = 2026-08-01", "visit.toml", SITE, TODAY).day == TODAY


def test_rows_are_read_as_they_stood_the_northern_one_first():
    found = cups(
        'rows = [[24, 26], ["tipped", 30], [31, 32]]\nspacing = "5 ft"\nrow_spacing = "10 ft"\nthroat = "100 cm2"'
    )
    assert [cup.volume_ml for cup in found] == [24, 26, 30, 31, 32]
    # 5 ft = 1.524 m east, 10 ft = 3.048 m north
    assert [cup.x_m for cup in found] == pytest.approx([0, 1.524, 1.524, 0, 1.524])
    assert [cup.y_m for cup in found] == pytest.approx([6.096, 6.096, 3.048, 0, 0])


def test_cups_in_no_grid_have_their_own_places():
    found = cups('caught = [1, 2, 3, 4]\nx = [0, 1, 2, 3]\ny = [4, 5, 6, 7.5]\nxy_unit = "m"\nthroat = "100 cm2"')
    assert [(cup.x_m, cup.y_m) for cup in found] == [(0, 4), (1, 5), (2, 6), (3, 7.5)]
    assert all(cup.x_m is None for cup in cups('caught = [1, 2, 3, 4]\nthroat = "100 cm2"'))


@pytest.mark.parametrize(("unit", "mm"), [("in", 25.4), ("mm", 1.0), ("cm", 10.0)])
def test_depths_need_no_throat(unit, mm):
    assert [cup.depth_mm for cup in cups("caught = [0.5, 1, 1.5, 2]", unit)] == pytest.approx(
        [0.5 * mm, mm, 1.5 * mm, 2 * mm]
    )


def test_fluid_ounces_are_volumes():
    # a US fluid ounce is 1/128 of 231 cubic inches: 29.5735 mL
    assert cups('caught = [1, 2, 2, 2]\nthroat = "100 cm2"', "fl oz")[0].volume_ml == pytest.approx(29.5735, abs=1e-4)


def test_a_round_mouth_may_be_given_by_its_width():
    (test,) = visit(CUPS.format("ml") + 'caught = [1, 2, 2, 2]\ndiameter = "10 cm"').cup_tests
    assert test.throat_cm2 == pytest.approx(math.pi * 25)
    (test,) = visit(CUPS.format("ml") + 'caught = [1, 2, 2, 2]\nthroat = "16.5 sq in"').cup_tests
    assert test.throat_cm2 == pytest.approx(16.5 * 2.54**2)


def test_units_of_the_rest():
    found = visit(
        CUPS.format("in")
        + 'caught = [1, 2, 2, 2]\nwind = "5 mph"\npressure = "40 psi"\n'
        + '[[meter]]\nvolume = "10 gal"\nminutes = "5 min"\n[salts]\nwater = "900 uS/cm"\n'
        + '[[electrical]]\nstation = 2\ncoil = "open"\n[[electrical]]\nstation = 3\ncoil = "34 Ω"\nvoltage = "26 V"\n'
    )
    (test,) = found.cup_tests
    assert test.wind_m_s == pytest.approx(5 * 1609.344 / 3600)
    assert test.pressure_kpa == pytest.approx(40 * 6.894757, rel=1e-6)
    (meter,) = found.meters
    assert (meter.station, meter.minutes_min) == (None, 5)
    assert meter.volume_l == pytest.approx(37.8541, abs=1e-4)
    assert found.salts.water_ds_m == pytest.approx(0.9)
    assert [(each.coil_ohm, each.volts_v) for each in found.electrical] == [(math.inf, None), (34, 26)]


def test_a_layer_without_a_top_begins_where_the_one_before_it_ends():
    (core,) = visit(
        '[[core]]\nstation = 5\nlayers = [{ bottom = "50 mm", feel = "Wet" }, '
        '{ bottom = "100 mm", feel = "dry" }, { top = "150 mm", bottom = "200 mm", feel = "at field capacity" }]'
    ).cores
    assert core.layers == (
        CoreLayer(0, 50, "wet"),
        CoreLayer(50, 100, "dry"),
        CoreLayer(150, 200, "at field capacity"),
    )


def test_the_clock_is_read_in_its_order_and_zero_minutes_are_no_run():
    found = visit(
        '[clock]\nshows = 2026-07-14 18:10:00\nreally = "06:12"\nrain_switch = "Bypassed"\n'
        '[[program]]\nname = "A"\nstarts = ["22:00", "4:05"]\ndays = ["Mon", "thursday"]\n'
        'percent_adjust = "80 %"\nminutes = { 7 = 12, 2 = 0, 1 = "8 min" }\n'
        '[[program]]\nname = "B"\nstarts = []\ndays = "every day"\n[program.minutes]\n3 = 5\n'
    ).clock
    assert found.reads == datetime.fromisoformat("2026-07-14 18:10")
    assert found.really == datetime.fromisoformat("2026-07-14 06:12")
    assert found.rain_switch == "bypassed"
    first, second = found.programs
    assert list(first.minutes_min.items()) == [(7, 12), (1, 8)]
    assert (first.starts, first.days, first.percent_adjust_pct) == ((time(22), time(4, 5)), {0, 3}, 80)
    assert (second.starts, second.minutes_min) == ((), {3: 5})


def test_nobody_looked_is_not_nothing_got_wet():
    runs = visit("[[run]]\nstation = 1\n[[run]]\nstation = 2\nwet = []\nby_hand = false").runs
    assert [(run.wet_areas, run.by_hand, run.from_controller) for run in runs] == [
        (None, None, None),
        ((), False, None),
    ]


def test_what_people_say_becomes_the_sign_of_the_table():
    (area,) = visit(
        '[[area]]\nname = "Courtyard"\npattern = "Wedges"\ncolour = "gray"\n'
        'signs = ["soggy", "rings", "water  beads"]\ninsects = { "white grubs" = 6 }\ntug = "lifts"'
    ).areas
    assert (area.pattern, area.colour, area.tug) == ("wedge_by_head", "dull_grey", "lifts")
    assert area.signs == ("soft_dark_soggy", "rings", "water_beads")
    assert area.insects_count == {"grubs": 6}


def offered(text: str) -> str:
    return re.sub(r"^# (\w+ = |\[+\w+\]+$)", r"\1", text, flags=re.MULTILINE)


def test_the_starter_records_nothing_by_itself():
    assert all(line.startswith("#") or not line for line in starter_visit(SITE).splitlines())
    assert parse_visit("date = 2026-07-14\n" + starter_visit(SITE), "visit.toml", SITE, TODAY) == visit("")


def test_every_line_the_starter_offers_is_read():
    found = parse_visit(offered(starter_visit(SITE)), "visit.toml", SITE, TODAY)
    empty = [name for name in Visit.__dataclass_fields__ if not getattr(found, name)]
    assert empty == []
    assert found.notes[1:] == ("Cup test 1: cup 6 was tipped and is left out.",)


def test_the_starter_names_every_key_and_every_station():
    text = starter_visit(SITE)
    schema = visit_schema()
    keys = {key for table in schema["$defs"].values() for key in table.get("properties", {})} | set(
        schema["properties"]
    )
    for key in keys:
        assert re.search(rf"^# (\[+{key}\]+$|{key} = )|[ {{]{key} = ", text, re.MULTILINE), key
    for station in SITE.stations:
        assert f"#   {station.terminal}: {station.area}\n" in text
    assert max(map(len, text.splitlines())) <= 120


def test_the_starter_cautions_where_the_work_can_hurt():
    for words in ("Valve boxes", "mains voltage", "before you dig", "under pressure"):
        assert words in starter_visit(SITE)


def test_the_written_schema_is_the_one_of_the_models():
    assert json.loads(WRITTEN.read_text("utf-8")) == visit_schema()


def test_every_key_of_the_schema_is_described():
    schema = visit_schema()
    for table in (schema, *schema["$defs"].values()):
        if "properties" in table:
            assert table["additionalProperties"] is False
            assert [key for key, entry in table["properties"].items() if "description" not in entry] == []
