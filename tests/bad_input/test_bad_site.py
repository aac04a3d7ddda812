"""Bad site files, each with the exact line, field and sentence a person gets."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.documents.site_file import parse_site, read_site
from etsched.errors import Problem, SiteRefused

GOOD = """\
name = "Tarn Court"
units = "us"

[place]
latitude = 38.2
longitude = -120.7
elevation = "1350 ft"
time_zone = "America/Los_Angeles"

[watering]
opens = "22:00"
closes = "06:00"
water_days = ["Mon", "Thu"]
max_flow = "20 gpm"

[[station]]
terminal = 7
area = "Front lawn"
head = "spray"
turf = "cool-season"
soil = "sandy loam"
size = "900 sq ft"
slope = "4 %"
root_depth = "6 in"
precip_rate = { value = "1.6 in/h", known = "measured" }
uniformity = "60 %"

[[station]]
terminal = 3
area = "Bank"
head = "rotor"
turf = "warm-season"
soil = "clay loam"
flow = "12 gpm"
"""
RATE = '{ value = "1.6 in/h", known = "measured" }'
RESTRICTION = '[[restriction]]\nfirst = 2026-07-01\nlast = 2026-08-31\nreason = "Water district"\n'
TEXTURES = (
    '"sand", "loamy sand", "sandy loam", "loam", "silt loam", "silt", "clay loam", "sandy clay loam", '
    '"sandy clay", "silty clay loam", "silty clay"'
)
PRICES = '"4.10 USD/kgal", "3.07 USD/CCF" or "1.08 EUR/m3"'
ONE_LINE = 'write one key = "value" a line with nothing after it, tables as [place], comments after #'

# What of GOOD is changed, into what, and the one problem this gives: line, field, what is wrong, what to do.
CASES: list[tuple[str, str, int | None, str, str, str]] = [
    # The text is no TOML.
    (
        '"Tarn Court"',
        '"Tarn Court',
        1,
        "",
        'a quotation mark is missing in "name = "Tarn Court"',
        "close every text with the mark it begins with",
    ),
    (
        '"Tarn Court"',
        "Tarn Court",
        1,
        "",
        "Tarn Court stands without quotes",
        'write name = "Tarn Court"',
    ),
    (
        '"Tarn Court"',
        "“Tarn Court”",
        1,
        "",
        'curly quotation marks stand in "name = “Tarn Court”"',
        "type straight ones, as on a keyboard",
    ),
    (
        '"Tarn Court"',
        '"Tarn Court";',
        1,
        "",
        '"name = "Tarn Court";" cannot be read from column 20 on',
        ONE_LINE,
    ),
    (
        'units = "us"',
        'units: "us"',
        2,
        "",
        '"units: "us"" cannot be read from column 6 on',
        ONE_LINE,
    ),
    (
        'units = "us"',
        'name = "Again"',
        2,
        "",
        "the same key or table stands twice",
        "keep one (stations are [[station]], in double brackets)",
    ),
    (
        "[watering]",
        "[place]",
        10,
        "",
        "the same key or table stands twice",
        "keep one (stations are [[station]], in double brackets)",
    ),
    (
        "latitude = 38.2",
        "latitude = 38,2",
        5,
        "",
        "the number 38,2 holds a comma",
        "write latitude = 38.2",
    ),
    (
        '"900 sq ft"',
        "900 sq ft",
        22,
        "",
        "900 sq ft stands without quotes",
        'write size = "900 sq ft"',
    ),
    (
        '"22:00"',
        "22:00",
        11,
        "",
        "22:00 stands without quotes",
        'write opens = "22:00"',
    ),
    (
        'flow = "12 gpm"\n',
        'flow = ["12 gpm"',
        34,
        "",
        "the file ends too early",
        "look for a bracket or a quotation mark that is never closed",
    ),
    (
        "[watering]",
        "a = " + "[" * 5000,
        None,
        "",
        "brackets are nested too deeply",
        "a site file needs lists and tables of one level only",
    ),
    (
        "terminal = 7",
        "terminal = " + "7" * 5000,
        None,
        "",
        "a number has thousands of digits",
        "write the number you mean",
    ),
    # The property.
    (
        'name = "Tarn Court"',
        "",
        None,
        "name",
        "is missing",
        'add a line such as name = "Our property"',
    ),
    ('"Tarn Court"', '"  "', 1, "name", "is empty", "write a word or two"),
    ('"Tarn Court"', "7", 1, "name", "7 is not text", "write it in double quotes"),
    (
        '"Tarn Court"',
        r'"Tarn\u0007Court"',
        1,
        "name",
        '"Tarn?Court" holds an invisible character',
        "type it again by hand",
    ),
    (
        '"Tarn Court"',
        r'"Tarn\u202eCourt"',
        1,
        "name",
        '"Tarn?Court" holds an invisible character',
        "type it again by hand",
    ),
    (
        '"Tarn Court"',
        '"' + 81 * "x" + '"',
        1,
        "name",
        '"' + 60 * "x" + '…" has 81 characters',
        "say it in at most 80",
    ),
    (
        '"us"',
        '"imperial"',
        2,
        "units",
        '"imperial" is no unit system',
        'write "us" or "metric"',
    ),
    (
        'units = "us"',
        'colour = "red"',
        2,
        "colour",
        "is no key that belongs here",
        'take it out, or use "name", "units", "target_depth", "multiplier_rule", "rain_rule", "crop_set", '
        '"notes", "place", "watering", "climate", "et_formula", "weather", "ban", "hold", "restriction", "new_turf", '
        '"controller", "water" or "station"',
    ),
    (
        'units = "us"',
        'rain_rule = "evnt"',
        2,
        "rain_rule",
        '"evnt" is no rain rule',
        'perhaps you meant "event"; known are "event", "share" and "all"',
    ),
    (
        'units = "us"',
        'notes = "one"',
        2,
        "notes",
        '"one" is no list',
        'write sentences in brackets, such as ["Gate code 12"]',
    ),
    # The place.
    (
        "latitude = 38.2",
        "latitude = 138.2",
        5,
        "place latitude",
        "138.2 is more than 90",
        "write a value from -90 to 90",
    ),
    (
        "latitude = 38.2",
        "latitude = nan",
        5,
        "place latitude",
        "nan is no number to reckon with",
        "write a value from -90 to 90",
    ),
    (
        "latitude = 38.2",
        'latitude = "38,2"',
        5,
        "place latitude",
        '"38,2" holds a comma',
        "write a decimal point and no commas, such as 37.4",
    ),
    (
        "latitude = 38.2",
        "latitude = true",
        5,
        "place latitude",
        "true cannot be read as an angle in degrees",
        "write 37.4",
    ),
    (
        "latitude = 38.2",
        "",
        4,
        "place latitude",
        "is missing",
        "add a line such as latitude = 37.4",
    ),
    (
        "-120.7",
        "120.7",
        6,
        "place longitude",
        "120.7 lies far outside the time zone America/Los_Angeles",
        "write west as a negative number, or name the time zone of the place",
    ),
    (
        '"1350 ft"',
        '"13500 m"',
        7,
        "place elevation",
        '"13500 m" is more than 8900 m',
        "write a value from -430 m to 8900 m, and look at the unit",
    ),
    (
        '"1350 ft"',
        "1350",
        7,
        "place elevation",
        "1350 has no unit",
        'write it in quotes, such as "1200 ft" or "366 m"',
    ),
    (
        '"1350 ft"',
        '"high"',
        7,
        "place elevation",
        '"high" is not one number with a unit',
        'write "1200 ft" or "366 m"',
    ),
    (
        '"America/Los_Angeles"',
        '"America/LosAngeles"',
        8,
        "place time_zone",
        '"America/LosAngeles" is no time zone',
        'perhaps you meant "America/Los_Angeles"',
    ),
    (
        '"America/Los_Angeles"',
        '"los angeles"',
        8,
        "place time_zone",
        '"los angeles" is no time zone',
        'perhaps you meant "America/Los_Angeles"',
    ),
    (
        '"America/Los_Angeles"',
        '"../etc/passwd"',
        8,
        "place time_zone",
        '"../etc/passwd" is no time zone',
        'write a name such as "America/Los_Angeles"',
    ),
    # When water may run.
    (
        '"22:00"',
        '"10 pm"',
        11,
        "watering opens",
        '"10 pm" is no time of day',
        'write hours and minutes from "00:00" to "23:59"',
    ),
    (
        '"22:00"',
        '"24:00"',
        11,
        "watering opens",
        '"24:00" is no time of day',
        'write hours and minutes from "00:00" to "23:59"',
    ),
    (
        '"06:00"',
        '"22:00"',
        12,
        "watering closes",
        "the window opens and closes at 22:00",
        'for the whole day write opens = "00:00" and closes = "23:59"',
    ),
    (
        '"06:00"',
        '"22:02"',
        12,
        "watering closes",
        "the window of 2 min is shorter than the least cycle of station 7, 3 min",
        "open the window longer",
    ),
    (
        '["Mon", "Thu"]',
        '["Mon", "Thor"]',
        13,
        "watering water_days",
        '"Thor" is no weekday',
        'write "Mon", "Tue", "Wed", "Thu", "Fri", "Sat" or "Sun"',
    ),
    (
        '["Mon", "Thu"]',
        "[]",
        13,
        "watering water_days",
        "names no day",
        'write a list such as ["Mon", "Thu"], or "every day"',
    ),
    (
        '["Mon", "Thu"]',
        '["Mon", "monday"]',
        13,
        "watering water_days",
        '"Mon" stands twice',
        "name each day once",
    ),
    (
        'max_flow = "20 gpm"',
        "max_valves = 0",
        14,
        "watering max_valves",
        "0 is out of range",
        "write a whole number from 1 to 100",
    ),
    (
        'max_flow = "20 gpm"',
        "max_valves = 1.5",
        14,
        "watering max_valves",
        "1.5 is not a whole number",
        "write it without quotes and without a point",
    ),
    (
        "max_flow",
        "maxflow",
        14,
        "watering maxflow",
        "is no key that belongs here",
        'perhaps you meant "max_flow"',
    ),
    (
        "max_flow",
        "elevation",
        14,
        "watering elevation",
        "is no key that belongs here",
        "move it to [place]",
    ),
    (
        '"20 gpm"',
        '"0 gpm"',
        14,
        "watering max_flow",
        '"0 gpm" is zero',
        "write a value above 0 gpm and up to 2000 gpm, and look at the unit",
    ),
    (
        '"20 gpm"',
        '"10 gpm"',
        34,
        "station 3 flow",
        "12.0 gpm is more than max_flow in [watering], 10.0 gpm",
        "correct one of the two, such a valve could never open",
    ),
    # The price of water.
    *(
        ("[watering]", f"[water]\nprice = {price}\n[watering]", 11, "water price", wrong, remedy)
        for price, wrong, remedy in [
            ("4.10", "4.1 names no currency and no volume", f"write it in quotes, such as {PRICES}"),
            (
                '"4,10 USD/kgal"',
                '"4,10 USD/kgal" holds a comma',
                f"write a decimal point and no commas, such as {PRICES}",
            ),
            ('"$4.10/kgal"', '"$4.10/kgal" is no price that begins with its amount', f"write {PRICES}"),
            ('"4.10/kgal"', '"4.10/kgal" names no currency', f"write {PRICES}"),
            ('"4.10 $/kgal"', '"$" is no currency of three letters', f"write {PRICES}"),
            ('"4.10 USD"', '"4.10 USD" does not say of which volume', f"write {PRICES}"),
            ('"4.10 USD/"', '"4.10 USD/" does not say of which volume', f"write {PRICES}"),
            ('"4.10 USD/barrel"', '"barrel" is no volume that water is billed by', f"write {PRICES}"),
            ('"4.10 USD/gal"', '"gal" is no volume that water is billed by', f"write {PRICES}"),
            ('"-4.10 USD/kgal"', '"-4.10 USD/kgal" is less than zero', "write what one more volume of water costs"),
            ('"0 USD/kgal"', '"0 USD/kgal" is zero', "write what one more volume costs, or take [water] out"),
            (
                '"1000001 IDR/m3"',
                '"1000001 IDR/m3" is more than a million a cubic metre',
                "look at the amount and at the volume",
            ),
        ]
    ),
    (
        "[watering]",
        "[water]\n[watering]",
        10,
        "water price",
        "is missing",
        'add a line such as price = "4.10 USD/kgal"',
    ),
    (
        'units = "us"',
        'price = "4.10 USD/kgal"',
        2,
        "price",
        "is no key that belongs here",
        "move it to [water]",
    ),
    # A station.
    (
        "terminal = 7",
        "terminal = 3",
        29,
        "station 3 terminal",
        "terminal 3 belongs to a station above already",
        "give every station the terminal its valve is wired to",
    ),
    (
        "terminal = 7",
        "terminal = 0",
        17,
        "station table 1 terminal",
        "0 is out of range",
        "write a whole number from 1 to 9999",
    ),
    (
        "terminal = 7",
        'terminal = "7"',
        17,
        "station table 1 terminal",
        '"7" is not a whole number',
        "write it without quotes and without a point",
    ),
    (
        "terminal = 7",
        "",
        16,
        "station table 1 terminal",
        "is missing",
        "add a line such as terminal = 1",
    ),
    (
        "[[station]]\nterminal = 7",
        "[[stations]]\nterminal = 7",
        16,
        "stations",
        "is no key that belongs here",
        'perhaps you meant "station"',
    ),
    (
        'head = "spray"',
        'head = "drip"',
        19,
        "station 7 head",
        '"drip" is no kind of head',
        'write "spray", "rotor" or "multi-stream"',
    ),
    (
        '"cool-season"',
        '"fescue"',
        20,
        "station 7 turf",
        '"fescue" is no turf group',
        'write "cool-season" or "warm-season"',
    ),
    (
        '"sandy loam"',
        '"sandy lome"',
        21,
        "station 7 soil",
        '"sandy lome" is no soil texture',
        f'perhaps you meant "sandy loam"; known are {TEXTURES} and "clay"',
    ),
    (
        '"sandy loam"',
        '"gravel"',
        21,
        "station 7 soil",
        '"gravel" is no soil texture',
        f'write {TEXTURES} or "clay"',
    ),
    (
        '"900 sq ft"',
        '"1,900 sq ft"',
        22,
        "station 7 size",
        '"1,900 sq ft" holds a comma',
        'write a decimal point and no commas, such as "900 sq ft" or "84 m2"',
    ),
    (
        '"900 sq ft"',
        '"-900 sq ft"',
        22,
        "station 7 size",
        '"-900 sq ft" is less than 0 sq ft',
        "write a value above 0 sq ft and up to 1076000 sq ft, and look at the unit",
    ),
    ('"4 %"', '"4"', 23, "station 7 slope", '"4" has no unit', 'write "4 %"'),
    (
        '"4 %"',
        '"400 %"',
        23,
        "station 7 slope",
        '"400 %" is more than 100 %',
        "write a value from 0 % to 100 %, and look at the unit",
    ),
    (
        '"6 in"',
        '"6 ft"',
        24,
        "station 7 root_depth",
        '"6 ft" is more than 4 ft',
        "write a value from 0.08333 ft to 4 ft, and look at the unit",
    ),
    (
        '"6 in"',
        '"6 in/h"',
        24,
        "station 7 root_depth",
        '"6 in/h" cannot be read as a depth',
        'write "6 in" or "150 mm"',
    ),
    (
        '"6 in"',
        '"5 to 7 in"',
        24,
        "station 7 root_depth",
        '"5 to 7 in" cannot be read as a depth',
        'write "6 in" or "150 mm"',
    ),
    (
        '"6 in"',
        '"6 in^9^9^9^9"',
        24,
        "station 7 root_depth",
        '"6 in^9^9^9^9" cannot be read as a depth',
        'write "6 in" or "150 mm"',
    ),
    (
        '"6 in"',
        '["6 in"]',
        24,
        "station 7 root_depth",
        "a list cannot be read as a depth",
        'write "6 in" or "150 mm"',
    ),
    (
        '"6 in"',
        '{ value = "6 in", known = "guessed" }',
        24,
        "station 7 root_depth known",
        '"guessed" is no way of knowing',
        'write "measured", "from flow", "stated" or "typical"',
    ),
    (
        '"6 in"',
        '{ value = "6 in", known = "from flow" }',
        24,
        "station 7 root_depth",
        'cannot be known "from flow"',
        'write "measured", "stated" or "typical"',
    ),
    (
        '"6 in"',
        '{ known = "measured" }',
        24,
        "station 7 root_depth",
        "has no value",
        'add value, as in { value = "…", known = "…" }',
    ),
    (
        '"6 in"',
        '{ value = "6 in", by = "me" }',
        24,
        "station 7 root_depth by",
        "is no key that belongs here",
        'take it out, or use "value", "known" or "note"',
    ),
    (
        RATE,
        '"1.6 in/h"',
        25,
        "station 7 precip_rate",
        '"1.6 in/h" does not say how it is known, and only a rate caught in cups is free of drift',
        'write { value = "1.6 in/h", known = "measured" }, or "from flow", "stated" or "typical"',
    ),
    (
        RATE,
        '{ value = "1.6 in/h" }',
        25,
        "station 7 precip_rate known",
        "is missing",
        'add known, as in { value = "…", known = "…" }',
    ),
    (
        '"1.6 in/h"',
        '"0 in/h"',
        25,
        "station 7 precip_rate",
        '"0 in/h" is less than 0.02 in/h',
        "write a value from 0.02 in/h to 6 in/h, and look at the unit",
    ),
    (
        '"1.6 in/h"',
        '"160 mm/h"',
        25,
        "station 7 precip_rate",
        '"160 mm/h" is more than 152.4 mm/h',
        "write a value from 0.508 mm/h to 152.4 mm/h, and look at the unit",
    ),
    (
        '"60 %"',
        "60",
        26,
        "station 7 uniformity",
        "60 is more than 1",
        'write percent with its sign or a share of one, such as "72 %" or 0.72',
    ),
    (
        '"60 %"',
        '"160 %"',
        26,
        "station 7 uniformity",
        '"160 %" is more than 100 %',
        "write a value above 0 % and up to 100 %, and look at the unit",
    ),
    # Entries that contradict each other.
    (
        "uniformity = ",
        'wettest_quarter_rate = "1.2 in/h"\nuniformity = ',
        26,
        "station 7 wettest_quarter_rate",
        "1.20 in/h in the wettest quarter is less than the mean rate, 1.60 in/h",
        "look at the cups again, the fullest quarter holds more than the mean",
    ),
    (
        f"precip_rate = {RATE}",
        'wettest_quarter_rate = "1.9 in/h"',
        25,
        "station 7 wettest_quarter_rate",
        "the rate of the wettest quarter stands without the mean rate",
        "write precip_rate too, the mean of the same cups",
    ),
    (
        "uniformity = ",
        "application_efficiency = ",
        26,
        "station 7 application_efficiency",
        "is not used where the rate was measured, because cups catch only what lands",
        "take it out, or say that the rate is known otherwise",
    ),
    (
        'known = "measured" }',
        'known = "from flow" }\nflow = "10 gpm"',
        25,
        "station 7 precip_rate",
        "1.60 in/h is not what flow and size give, 1.07 in/h",
        "correct the rate, the flow or the size",
    ),
    (
        "uniformity = ",
        'depletion = "2 in"\navailable_water = "0.1 in/in"\nuniformity = ',
        26,
        "station 7 depletion",
        "2.00 in is more than the root zone can hold, 0.60 in",
        "correct the depletion, root_depth or available_water",
    ),
    # Modes of the turf, and restrictions.
    (
        'slope = "4 %"',
        'mode = "new lawn"',
        23,
        "station 7 mode",
        '"new lawn" is no mode of turf',
        'write "normal", "new seed", "new sod" or "dormant"',
    ),
    (
        'slope = "4 %"',
        'mode = "dormant"',
        23,
        "station 7 mode",
        '"dormant" does not say since when',
        "add mode_since, the day it was sown or laid, or fell dormant",
    ),
    (
        'slope = "4 %"',
        "mode_since = 2026-07-01",
        23,
        "station 7 mode_since",
        "stands without a mode",
        'add mode = "new seed", "new sod" or "dormant", or take it out',
    ),
    (
        "[[station]]\nterminal = 7",
        f"{RESTRICTION}most_nights = 0\n[[station]]\nterminal = 7",
        16,
        "restriction",
        "leaves no night",
        "write a [[ban]] with the same days instead",
    ),
    (
        "[[station]]\nterminal = 7",
        f"{RESTRICTION}[[station]]\nterminal = 7",
        16,
        "restriction",
        "restricts nothing",
        'add cut = "20 %", most_nights = 2, or both',
    ),
    (
        "[[station]]\nterminal = 7",
        f'{RESTRICTION}cut = "120 %"\n[[station]]\nterminal = 7',
        20,
        "restriction cut",
        '"120 %" is more than 100 %',
        "write a value above 0 % and up to 100 %, and look at the unit",
    ),
    (
        "[[station]]\nterminal = 7",
        f'{RESTRICTION.replace("08-31", "06-30")}cut = "20 %"\n[[station]]\nterminal = 7',
        16,
        "restriction",
        "ends before it begins",
        "correct its first or its last day",
    ),
    (
        "[[station]]\nterminal = 7",
        '[[restriction]]\nfirst = 2026-07-01\nlast = 2026-08-31\ncut = "20 %"\n[[station]]\nterminal = 7',
        16,
        "restriction reason",
        "is missing",
        'add a line such as reason = "Water district"',
    ),
    (
        "[[station]]\nterminal = 7",
        '[new_turf]\nopens = "17:00"\ncloses = "09:00"\npermit = "town"\n[[station]]\nterminal = 7',
        16,
        "new_turf",
        "closes before it opens",
        "let both lie in one day, the opening first",
    ),
    (
        "[[station]]\nterminal = 7",
        '[new_turf]\nopens = "09:00"\ncloses = "09:05"\npermit = "town"\n[[station]]\nmode = "new seed"\n'
        'mode_since = 2026-07-01\nleast_cycle = "6 min"\nterminal = 7',
        18,
        "new_turf closes",
        "the 5 min between opening and closing do not hold the least cycle of station 7, 6 min",
        "let the hours be longer",
    ),
    (
        "[[station]]\nterminal = 7",
        '[new_turf]\nopens = "05:30"\ncloses = "09:00"\npermit = "town"\n[[station]]\nterminal = 7',
        17,
        "new_turf opens",
        "the hours by day reach into the window of [watering], 22:00 to 06:00",
        "let them begin after it closes and end before it opens",
    ),
    (
        "[[station]]\nterminal = 7",
        '[new_turf]\nopens = "15:00"\ncloses = "22:01"\npermit = "town"\n[[station]]\nterminal = 7',
        17,
        "new_turf opens",
        "the hours by day reach into the window of [watering], 22:00 to 06:00",
        "let them begin after it closes and end before it opens",
    ),
    (
        "[[station]]\nterminal = 7",
        "[controller]\nprograms = 0\nstarts = 4\n[[station]]\nterminal = 7",
        17,
        "controller programs",
        "0 is out of range",
        "write a whole number from 1 to 50",
    ),
    (
        "[[station]]\nterminal = 7",
        "[controller]\nprograms = 4\nstarts = 0\n[[station]]\nterminal = 7",
        18,
        "controller starts",
        "0 is out of range",
        "write a whole number from 1 to 50",
    ),
]


def problems(text: str) -> tuple[Problem, ...]:
    with pytest.raises(SiteRefused) as refused:
        parse_site(text, "site.toml")
    return refused.value.problems


def test_the_good_file_is_good():
    assert [station.terminal for station in parse_site(GOOD, "site.toml").stations] == [3, 7]


@pytest.mark.parametrize(("old", "new", "line", "field", "wrong", "remedy"), CASES)
def test_one_mistake_gives_one_sentence(old, new, line, field, wrong, remedy):
    assert GOOD.count(old) >= 1
    assert problems(GOOD.replace(old, new, 1)) == (Problem("site.toml", line, field, wrong, remedy),)


def test_hours_by_day_may_fill_what_the_window_leaves():
    hours = '[new_turf]\nopens = "06:00"\ncloses = "22:00"\npermit = "town"\n[[station]]\nterminal = 7'
    assert parse_site(GOOD.replace("[[station]]\nterminal = 7", hours), "site.toml").new_turf is not None


def test_there_are_enough_of_them():
    assert len(CASES) >= 35
    assert len({case[:2] for case in CASES}) == len(CASES)


def test_a_misspelt_key_is_missed_and_not_passed_over():
    assert problems(GOOD.replace('soil = "clay loam"', 'soyl = "clay loam"')) == (
        Problem("site.toml", 28, "station 3 soil", "is missing", 'add a line such as soil = "sandy loam"'),
        Problem("site.toml", 33, "station 3 soyl", "is no key that belongs here", 'perhaps you meant "soil"'),
    )


def test_all_problems_are_told_at_once_in_the_order_of_the_file():
    text = GOOD.replace('"us"', '"UK"').replace('"America/Los_Angeles"', '"PST"').replace('"22:00"', '"late"')
    text = text.replace("-120.7", "220").replace('"sandy loam"', '"mud"').replace('"60 %"', '"0 %"')
    text = text.replace("terminal = 7", "terminal = 3").replace('flow = "12 gpm"', 'flow = "12 sq ft"')
    assert [(problem.line, problem.field) for problem in problems(text)] == [
        (2, "units"),
        (6, "place longitude"),
        (8, "place time_zone"),
        (11, "watering opens"),
        (21, "station 3 soil"),
        (26, "station 3 uniformity"),
        (29, "station 3 terminal"),
        (34, "station 3 flow"),
    ]


def test_contradictions_are_told_beside_other_problems():
    text = GOOD.replace('"us"', '"UK"').replace("-120.7", "120.7").replace('"20 gpm"', '"10 gpm"')
    assert [(problem.line, problem.field) for problem in problems(text)] == [
        (2, "units"),
        (6, "place longitude"),
        (34, "station 3 flow"),
    ]


def test_contradictions_are_told_in_the_units_of_the_file():
    text = GOOD.replace('"us"', '"metric"').replace('"20 gpm"', '"40 L/min"')
    (problem,) = problems(text)
    assert problem.wrong == "45.4 L/min is more than max_flow in [watering], 40.0 L/min"


def test_an_empty_file_is_told_what_it_lacks():
    assert [str(problem) for problem in problems("")] == [
        'site.toml, name: is missing; add a line such as name = "Our property".',
        'site.toml, place: is missing; add [place] with "latitude", "longitude", "elevation" and "time_zone".',
        'site.toml, station: is missing; add [[station]] with "terminal", "area", "head", "turf" and "soil".',
        'site.toml, watering: is missing; add [watering] with "opens", "closes" and "water_days".',
    ]


def test_values_where_tables_belong():
    text = 'name = "x"\nplace = 1\nwatering = []\nstation = [1]\n'
    assert [str(problem) for problem in problems(text)] == [
        "site.toml, line 2, place: is not written as a table; write [place] with its keys below it.",
        "site.toml, line 3, watering: is not written as a table; write [watering] with its keys below it.",
        "site.toml, line 4, station table 1: is not written as a table; write [[station]] with its keys below it.",
    ]


def test_a_station_in_single_brackets():
    one = GOOD.split("[[station]]\nterminal = 3", maxsplit=1)[0].replace("[[station]]", "[station]")
    (problem,) = problems(one)
    assert str(problem) == (
        "site.toml, line 16, station: is one table in single brackets; "
        "write [[station]], in double brackets, for every valve."
    )


def test_no_station_at_all():
    text = "station = []\n" + GOOD.split("[[station]]", maxsplit=1)[0]
    (problem,) = problems(text)
    assert str(problem) == ("site.toml, line 1, station: there is no station; add a [[station]] table for every valve.")


def refused_file(path: Path) -> str:
    with pytest.raises(SiteRefused) as refused:
        read_site(path)
    return str(refused.value).replace(str(path), "PATH")


def test_a_file_that_is_not_there(tmp_path):
    assert refused_file(tmp_path / "none.toml") == ("PATH: there is no such file; check the name and the folder.")


def test_a_folder_instead_of_a_file(tmp_path):
    assert refused_file(tmp_path) == (
        "PATH: the file cannot be read (is a directory); check that it is a file and that you may read it."
    )


def test_a_file_in_another_encoding(tmp_path):
    path = tmp_path / "latin.toml"
    path.write_bytes(GOOD.replace("Front lawn", "Café lawn").encode("latin-1"))
    assert refused_file(path) == "PATH, line 18: this is not UTF-8 text; save the file as UTF-8."


def test_a_file_of_another_kind(tmp_path):
    path = tmp_path / "large.toml"
    path.write_bytes(b"#" * 1_000_001)
    assert refused_file(path) == (
        "PATH: the file has 1,000,001 bytes; name a site file, which has less than a million."
    )


PIECES = st.sampled_from([*re.findall(r"\w+|[^\w\s]+|\s+", GOOD), "nan", "inf", "true", "{", "}", "1979-05-27"])


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_file_with_pieces_replaced_is_read_or_refused(data):
    parts = re.findall(r'"[^"\n]*"|\w+|[^\w\s]+|\s+', GOOD)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(parts) - 1))
        parts[at] = data.draw(PIECES | st.text(max_size=8) | st.text(max_size=8).map('"{}"'.format))
    refused_in_sentences("".join(parts))


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    refused_in_sentences(text)


SCALARS = st.one_of(
    st.text(alphabet="ab0 %", max_size=5).map('"{}"'.format),
    st.integers().map(str),
    st.floats().map(str),
    st.sampled_from(["true", "1979-05-27", "07:32:00", "[]", "{}", '["x", 1]', '{ value = "6 in" }']),
)
KEYS = sorted(
    {*re.findall(r"^(\w+) =", GOOD, re.MULTILINE), "place", "notes", "station", "depletion", "mode", "mode_since"}
    | {"ban", "restriction", "new_turf", "controller", "weather", "water", "price"}
    | {"first", "last", "reason", "cut", "most_nights", "permit"}
)
LISTS = ["[[station]]", "[[ban]]", "[[restriction]]", "[[weather]]"]
TABLES = ["[place]", "[watering]", "[water]", "[new_turf]", "[controller]", *LISTS]


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(TABLES) | st.tuples(st.sampled_from(KEYS), SCALARS)))
def test_any_table_of_known_keys_is_read_or_refused(entries):
    lines = [entry if isinstance(entry, str) else f"{entry[0]} = {entry[1]}" for entry in entries]
    refused_in_sentences("\n".join(lines))


@pytest.mark.parametrize("terminal", ["[]", "{}", "[1]", "1.5", "true"])
def test_a_ban_beside_a_terminal_that_is_none_is_refused(terminal):
    refused_in_sentences(f"[[ban]]\nstations = [1]\n[[station]]\nterminal = {terminal}\n")


def refused_in_sentences(text: str) -> None:
    try:
        parse_site(text, "site.toml")
    except SiteRefused as error:
        found = error.problems
    else:
        return
    assert found
    for problem in found:
        assert problem.line is None or 1 <= problem.line <= text.count("\n") + 1
        assert problem.wrong
        assert problem.remedy
        assert str(problem).isprintable()
