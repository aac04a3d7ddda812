from __future__ import annotations

import dataclasses
from datetime import date, time
from pathlib import Path

import pytest

from etsched.documents.site_file import parse_site, read_site
from etsched.model.site import (
    Basis,
    Exposure,
    Head,
    Known,
    MultiplierRule,
    NewTurfHours,
    RainRule,
    Restriction,
    TurfGroup,
    TurfMode,
    WaterPrice,
)

SITES = sorted((Path(__file__).parents[2] / "config" / "sites").glob("*.toml"))

LEAST = """\
name = "Tarn Court"
[place]
latitude = 38.2
longitude = -120.7
elevation = "1350 ft"
time_zone = "America/Los_Angeles"
[watering]
opens = "22:00"
closes = "06:00"
water_days = "every day"
[[station]]
terminal = 1
area = "Lawn"
head = "spray"
turf = "cool-season"
soil = "loam"
"""

FULL_US = """\
name = "Tarn Court"
units = "us"
target_depth = "10 in"
multiplier_rule = "lower half"
rain_rule = "all"
crop_set = "flat"
notes = ["Gate code at the desk"]

[place]
latitude = 38.2
longitude = -120.7
elevation = "1200 ft"
time_zone = "America/Los_Angeles"

[watering]
opens = 22:30:00
closes = "5:45"
water_days = ["mon", "Thursday"]
max_valves = 2
max_flow = "30 gpm"

[[station]]
terminal = 9
area = "Late in the file"
head = "rotor"
turf = "warm-season"
soil = "Clay Loam"

[[station]]
terminal = 2
plan_number = 14
area = "Front lawn"
head = "multi-stream"
turf = "cool-season"
soil = "sandy loam"
size = "1000 sq ft"
exposure = "part shade"
slope = "4 %"
turf_height = "3 in"
microclimate = 0.9
density = "0.95"
crop_factor = { value = 0.8, known = "typical" }
root_depth = { value = "6 in", known = "measured", note = "4 cores" }
allowable_depletion = "50 %"
available_water = "1.5 in/ft"
intake = "0.4 in/h"
surface_storage = "0.3 in"
precip_rate = { value = "0.481 in/h", known = "from flow" }
wettest_quarter_rate = "0.6 in/h"
uniformity = "72 %"
application_efficiency = "90 %"
flow = "5 gpm"
first_runoff = "12 min"
least_cycle = "4 min"
depletion = "0.25 in"
blocked = "valve never opens"
priority = 2
most_minutes = "45 min"
least_depth = "0.3 in"
mode = "New sod"
mode_since = 2026-07-01

[[restriction]]
first = 2026-07-10
last = "2026-07-20"
reason = "Water district"
cut = "20 %"
most_nights = 2

[new_turf]
opens = "09:00"
closes = "17:00"
permit = "Permit for new lawns"

[water]
price = "3.785411784 USD/kgal"
"""

# The same property written in metric units; conversions by hand from 1 in = 25.4 mm, 1 ft = 0.3048 m and
# 1 US gallon = 3.785411784 L.
TO_METRIC = {
    '"10 in"': '"254 mm"',
    '"1200 ft"': '"365.76 m"',
    '"30 gpm"': '"113.56235352 L/min"',
    '"1000 sq ft"': '"92.90304 m2"',
    '"3 in"': '"76.2 mm"',
    '"6 in"': '"152.4 mm"',
    '"1.5 in/ft"': '"125 mm/m"',
    '"0.4 in/h"': '"10.16 mm/h"',
    '"0.3 in"': '"7.62 mm"',
    '"0.481 in/h"': '"12.2174 mm/h"',
    '"0.6 in/h"': '"15.24 mm/h"',
    '"5 gpm"': '"18.92705892 L/min"',
    '"0.25 in"': '"6.35 mm"',
    '"3.785411784 USD/kgal"': '"1 USD/m3"',
}


def numbers_rounded(value: object) -> object:
    """Round every number of nested records, so that only the last digits of a conversion may differ."""
    if isinstance(value, float):
        return float(f"{value:.12g}")
    if isinstance(value, dict):
        return {key: numbers_rounded(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [numbers_rounded(each) for each in value]
    return value


def test_what_nobody_said_stays_unsaid():
    site = parse_site(LEAST, "least.toml")
    assert (site.units, site.multiplier_rule, site.rain_rule) == ("us", MultiplierRule.SCHEDULING, RainRule.EVENT)
    assert (site.target_depth_mm, site.crop_set, site.notes) == (None, "monthly", ())
    assert site.water_price is None
    assert site.rules.water_days == frozenset(range(7))
    assert (site.rules.max_valves_count, site.rules.max_flow_l_min) == (1, None)
    (station,) = site.stations
    said = {"terminal", "area", "head", "turf", "soil", "exposure"}
    assert station.exposure is Exposure.OPEN
    assert {name for name, value in dataclasses.asdict(station).items() if value is not None} == said


def test_everything_that_can_be_said_arrives_in_canonical_units():
    site = parse_site(FULL_US, "full.toml")
    assert (site.name, site.multiplier_rule, site.rain_rule) == (
        "Tarn Court",
        MultiplierRule.LOWER_HALF,
        RainRule.ALL,
    )
    assert (site.crop_set, site.notes) == ("flat", ("Gate code at the desk",))
    assert site.target_depth_mm == pytest.approx(254)
    assert (site.place.latitude_deg, site.place.longitude_deg) == (38.2, -120.7)
    assert site.place.elevation_m == pytest.approx(365.76)
    assert site.place.zone.key == "America/Los_Angeles"
    assert (site.rules.opens_at, site.rules.closes_at) == (time(22, 30), time(5, 45))
    assert site.rules.water_days == {0, 3}
    assert site.rules.max_valves_count == 2
    assert site.rules.max_flow_l_min == pytest.approx(113.56235352)
    assert [station.terminal for station in site.stations] == [2, 9]

    station, late = site.stations
    assert late.soil == "clay loam"
    assert (station.plan_number, station.area) == ("14", "Front lawn")
    assert (station.head, station.turf, station.soil) == (Head.MULTI_STREAM, TurfGroup.COOL, "sandy loam")
    assert station.exposure is Exposure.PART_SHADE
    assert station.area_m2 == pytest.approx(92.90304)
    assert station.slope_pct == pytest.approx(4)
    assert station.turf_height_m == pytest.approx(0.0762)
    assert station.blocked == "valve never opens"
    assert (station.priority_count, station.most_min) == (2, 45.0)
    assert (station.mode, station.mode_since) == (TurfMode.NEW_SOD, date(2026, 7, 1))
    assert site.restrictions == (Restriction(date(2026, 7, 10), date(2026, 7, 20), "Water district", 20.0, 2),)
    # A thousand US gallons are 3.785411784 m³.
    assert site.water_price == WaterPrice(pytest.approx(1.0), "USD", "3.785411784 USD/kgal")
    assert site.new_turf == NewTurfHours(time(9), time(17), "Permit for new lawns")
    known = {
        "microclimate": (0.9, Basis.STATED),
        "density": (0.95, Basis.STATED),
        "crop_factor": (0.8, Basis.TYPICAL),
        "root_depth": (152.4, Basis.MEASURED),
        "allowable_depletion": (0.5, Basis.STATED),
        "available_water": (0.125, Basis.STATED),
        "intake": (10.16, Basis.STATED),
        "surface_storage": (7.62, Basis.STATED),
        "precip_rate": (12.2174, Basis.FROM_FLOW),
        "wettest_quarter_rate": (15.24, Basis.STATED),
        "uniformity": (0.72, Basis.STATED),
        "application_efficiency": (0.9, Basis.STATED),
        "flow": (18.92705892, Basis.STATED),
        "first_runoff": (12, Basis.STATED),
        "least_cycle": (4, Basis.STATED),
        "depletion": (6.35, Basis.STATED),
        "least_depth": (7.62, Basis.STATED),
    }
    for name, (value, basis) in known.items():
        found = getattr(station, name)
        assert found == Known(pytest.approx(value), basis, "4 cores" if name == "root_depth" else ""), name
    unnamed = {field.name for field in dataclasses.fields(station)} - set(known)
    assert unnamed == {
        *("terminal", "area", "head", "turf", "soil", "plan_number", "area_m2", "exposure"),
        *("turf_height_m", "slope_pct", "blocked", "priority_count", "most_min", "mode", "mode_since"),
    }


def test_metric_and_us_input_give_one_site():
    metric = FULL_US
    for us, other in TO_METRIC.items():
        assert us in metric
        metric = metric.replace(us, other)
    one, other = (dataclasses.asdict(parse_site(text, "site.toml")) for text in (FULL_US, metric))
    for site in (one, other):
        del site["water_price"]["stated"]  # the price as it was typed
    assert numbers_rounded(one) == numbers_rounded(other)


def test_the_order_of_stations_in_the_file_changes_nothing():
    head, *stations = FULL_US.split("[[station]]")
    turned = "[[station]]".join([head, *(f"{station}\n" for station in reversed(stations))])
    assert parse_site(turned, "site.toml") == parse_site(FULL_US, "site.toml")


def test_a_byte_order_mark_and_windows_line_ends_are_no_mistake(tmp_path):
    path = tmp_path / "site.toml"
    path.write_bytes(b"\xef\xbb\xbf" + LEAST.replace("\n", "\r\n").encode())
    assert read_site(path) == parse_site("\ufeff" + LEAST, "site.toml") == parse_site(LEAST, "site.toml")


def test_there_is_an_example():
    assert SITES


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.name)
def test_the_examples_are_read(path):
    assert len(read_site(path).stations) >= 6
