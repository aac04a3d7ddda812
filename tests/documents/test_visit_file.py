from __future__ import annotations

import json
import math
import re
from datetime import date, datetime, time
from pathlib import Path

import pytest

from etsched.documents.site_file import read_site
from etsched.documents.starter_visit import starter_visit
from etsched.documents.visit_file import parse_visit, read_visits
from etsched.documents.visit_schema import visit_schema
from etsched.errors import VisitRefused
from etsched.model.recovery import FeedBan, Fertiliser, RecoveryAsk
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
        + 'voltage_at = "Valve"\n'
    )
    (test,) = found.cup_tests
    assert test.wind_m_s == pytest.approx(5 * 1609.344 / 3600)
    assert test.pressure_kpa == pytest.approx(40 * 6.894757, rel=1e-6)
    (meter,) = found.meters
    assert (meter.station, meter.minutes_min) == (None, 5)
    assert meter.volume_l == pytest.approx(37.8541, abs=1e-4)
    assert found.salts.water_ds_m == pytest.approx(0.9)
    read = [(each.coil_ohm, each.volts_v, each.volts_at) for each in found.electrical]
    assert read == [(math.inf, None, ""), (34, 26, "valve")]


def test_an_area_may_have_a_place_within_it_and_a_note():
    (area,) = visit('[[area]]\nname = "Courtyard"\nwhere = "south-west corner"\nnote = "the rest is dull"\n').areas
    assert (area.where, area.note) == ("south-west corner", "the rest is dull")


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


def test_what_recovery_needs_is_read():
    found = visit(
        '[recovery]\ntarget_depth = "8 in"\nrepaired_on = { 3 = 2026-07-17, 5 = "2026-07-14" }\nsheds_water = [7, 2]\n'
        'feeds_in_heat = true\n[recovery.fertiliser]\nnitrogen = "24 %"\nslow_release = "50 %"\n'
        '[[recovery.feed_ban]]\nfirst = 2026-07-15\nlast = 2026-08-31\nreason = "town ordinance"\n'
        '[[recovery.feed_ban]]\nfirst = 2026-10-01\nlast = 2026-10-01\nreason = "owner"\n'
    ).recovery
    assert found == RecoveryAsk(
        target_depth_mm=pytest.approx(203.2),  # 8 x 25.4
        ready={3: date(2026, 7, 17), 5: date(2026, 7, 14)},
        repellent=frozenset({2, 7}),
        fertiliser=Fertiliser(24.0, 0.5),
        bans=(
            FeedBan(date(2026, 7, 15), date(2026, 8, 31), "town ordinance"),
            FeedBan(date(2026, 10, 1), date(2026, 10, 1), "owner"),
        ),
        feeds_in_heat=True,
    )


def test_a_label_that_nobody_read_to_the_end_counts_no_slow_release():
    found = visit('[recovery]\n[recovery.fertiliser]\nnitrogen = "46 %"').recovery
    assert found == RecoveryAsk(fertiliser=Fertiliser(46.0, None))


def test_terminals_to_be_repaired_may_stand_in_a_table_of_their_own():
    found = visit("[recovery.repaired_on]\n3 = 2026-07-17\n5 = 2026-07-20\n").recovery
    assert found == RecoveryAsk(ready={3: date(2026, 7, 17), 5: date(2026, 7, 20)})


def records(tmp_path, **days):
    """Write visit files that hold a date each; give their paths as they were named."""
    paths = [tmp_path / f"{name}.toml" for name in days]
    for path, day in zip(paths, days.values(), strict=True):
        path.write_text(f"date = {day}\n", encoding="utf-8")
    return paths


def test_several_records_come_in_the_order_of_their_days(tmp_path):
    paths = records(tmp_path, a="2026-07-14", b="2026-06-30", c="2026-07-02")
    days = [each.day for each in read_visits(paths, SITE, TODAY)]
    assert days == [date(2026, 6, 30), date(2026, 7, 2), date(2026, 7, 14)]
    assert read_visits((), SITE, TODAY) == ()


def test_two_records_of_one_day_are_refused_by_name(tmp_path):
    morning, _, evening = paths = records(tmp_path, morning="2026-07-14", other="2026-06-30", evening="2026-07-14")
    with pytest.raises(VisitRefused) as refused:
        read_visits(paths, SITE, TODAY)
    assert str(refused.value) == f"{evening}, date: it is of 2026-07-14, and so is {morning}; put them into one file."


def test_a_record_named_twice_is_no_second_visit(tmp_path):
    (path,) = records(tmp_path, a="2026-07-14")
    with pytest.raises(VisitRefused) as refused:
        read_visits([path, tmp_path / "." / "a.toml"], SITE, TODAY)
    assert str(refused.value) == f"{path}: the file is named twice; name each record once."


def test_the_problems_of_all_records_are_told_at_once(tmp_path):
    paths = records(tmp_path, a="2026-09-14", b="2026-07-14", c='"May"')
    with pytest.raises(VisitRefused) as refused:
        read_visits([*paths, tmp_path / "d.toml"], SITE, TODAY)
    assert [(Path(each.file).name, each.field, each.wrong) for each in refused.value.problems] == [
        ("a.toml", "date", "2026-09-14 is in the future"),
        ("c.toml", "date", '"May" is no date'),
        ("d.toml", "", "there is no such file"),
    ]


def offered(text: str) -> str:
    return re.sub(r"^# (\w+ = |\[+[\w.]+\]+$)", r"\1", text, flags=re.MULTILINE)


def test_the_starter_records_nothing_by_itself():
    assert all(line.startswith("#") or not line for line in starter_visit(SITE).splitlines())
    assert parse_visit("date = 2026-07-14\n" + starter_visit(SITE), "visit.toml", SITE, TODAY) == visit("")


def test_every_line_the_starter_offers_is_read():
    found = parse_visit(offered(starter_visit(SITE)), "visit.toml", SITE, TODAY)
    empty = [name for name in Visit.__dataclass_fields__ if not getattr(found, name)]
    assert empty == []
    assert found.recovery == RecoveryAsk(
        target_depth_mm=pytest.approx(203.2),
        ready={1: date(2026, 7, 17)},
        repellent=frozenset({1}),
        fertiliser=Fertiliser(24.0, 0.5),
        bans=(FeedBan(date(2026, 7, 15), date(2026, 8, 31), "town ordinance"),),
    )
    assert found.notes[1:] == ("Cup test 1: cup 6 was tipped and is left out.",)


def test_the_starter_names_every_key_and_every_station():
    text = starter_visit(SITE)
    schema = visit_schema()
    keys = {key for table in schema["$defs"].values() for key in table.get("properties", {})} | set(
        schema["properties"]
    )
    for key in keys:
        assert re.search(rf"^# (\[+(\w+\.)?{key}\]+$|{key} = )|[ {{]{key} = ", text, re.MULTILINE), key
    for station in SITE.stations:
        assert f"#   {station.terminal}: {station.area}\n" in text
    assert max(map(len, text.splitlines())) <= 120


def test_the_starter_cautions_where_the_work_can_hurt():
    for words in ("Valve boxes", "mains voltage", "before you dig", "under pressure", "bans on fertiliser", "label"):
        assert words in starter_visit(SITE)


def test_the_written_schema_is_the_one_of_the_models():
    assert json.loads(WRITTEN.read_text("utf-8")) == visit_schema()


def test_every_key_of_the_schema_is_described():
    schema = visit_schema()
    for table in (schema, *schema["$defs"].values()):
        if "properties" in table:
            assert table["additionalProperties"] is False
            assert [key for key, entry in table["properties"].items() if "description" not in entry] == []
