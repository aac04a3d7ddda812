"""Bad records of a visit, each with the exact line, field and sentence a person gets."""

from __future__ import annotations

import re
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.documents.site_file import parse_site
from etsched.documents.visit_file import parse_visit, read_visit
from etsched.errors import Problem, VisitRefused

TODAY = date(2026, 7, 15)
STATION = """
[[station]]
terminal = {}
area = "{}"
head = "spray"
turf = "cool-season"
soil = "loam"
"""
SITE = parse_site(
    """
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
"""
    + STATION.format(7, "Front lawn")
    + STATION.format(3, "Bank"),
    "site.toml",
)
GOOD = """\
date = 2026-07-14
technician = "R. Vale"
site = "Tarn Court"

[clock]
shows = "2026-07-14 18:10"
really = "06:12"
rain_switch = "on"

[[program]]
name = "A"
starts = ["22:00", "04:00"]
days = ["Mon", "Thu"]
minutes = { 7 = 12, 3 = 20 }

[[area]]
name = "Front lawn"
pattern = "wedge by head"
colour = "dull grey"
signs = ["footprints stay"]
living_cover = "60 %"
insects = { grubs = 4 }

[[run]]
station = 7
from_controller = true
wet = ["Front lawn"]

[[head]]
station = 7
fault = "tilted"
count = 2

[[electrical]]
station = 3
coil = "34 ohm"
voltage = "26 V"

[[cups]]
stations = [7]
minutes = [15]
unit = "mL"
caught = [24, 26, 28, 30]
throat = "16.5 sq in"
capacity = "130 mL"
pressure = "40 psi"

[[core]]
station = 7
colour = "brown"
moist = "2 in"
roots = "4 in"
layers = [{ bottom = "2 in", feel = "moist" }, { bottom = "6 in", feel = "dry" }]

[[meter]]
station = 7
volume = "42 gal"
minutes = 5

[salts]
water = "1.1 dS/m"

[recovery]
target_depth = "8 in"
repaired_on = { 3 = 2026-07-21 }
sheds_water = [7]
feeds_in_heat = false

[recovery.fertiliser]
nitrogen = "24 %"
slow_release = "50 %"

[[recovery.feed_ban]]
first = 2026-07-20
last = 2026-08-31
reason = "town ordinance"
"""

# What of GOOD is changed, into what, and the one problem this gives: line, field, what is wrong, what to do.
CASES: list[tuple[str, str, int | None, str, str, str]] = [
    (
        "date = 2026-07-14",
        "date = 2026-07-16",
        1,
        "date",
        "2026-07-16 is in the future",
        "correct the day; today is 2026-07-15",
    ),
    (
        "date = 2026-07-14",
        'date = "14 July"',
        1,
        "date",
        '"14 July" is no date',
        "write year, month and day, such as 2026-07-14",
    ),
    ("date = 2026-07-14\n", "\n", None, "date", "is missing", 'add a line such as date = "2026-07-14"'),
    (
        "date = 2026-07-14",
        "date = 2026-07-14T06:00:00",
        1,
        "date",
        "2026-07-14 06:00:00 is no date",
        "write year, month and day, such as 2026-07-14",
    ),
    (
        '"Tarn Court"',
        '"Fell Court"',
        3,
        "site",
        'the visit is to "Fell Court", and the site file is of "Tarn Court"',
        "correct the name, or name the other site file",
    ),
    ('"R. Vale"', "R. Vale", 2, "", "R. Vale stands without quotes", 'write technician = "R. Vale"'),
    (
        '18:10"',
        '25:10"',
        6,
        "clock shows",
        '"2026-07-14 25:10" is no date with a time of day',
        'write both, such as "2026-07-14 06:10"',
    ),
    (
        '"2026-07-14 18:10"',
        '"18:10"',
        6,
        "clock shows",
        '"18:10" is no date with a time of day',
        'write both, such as "2026-07-14 06:10"',
    ),
    (
        'rain_switch = "on"',
        'rain_switch = "off"',
        8,
        "clock rain_switch",
        '"off" is no state of a rain switch',
        'write "on", "bypassed" or "none"',
    ),
    (
        '["22:00", "04:00"]',
        '["22:00", "4 am"]',
        12,
        "program 1 starts 2",
        '"4 am" is no time of day',
        'write hours and minutes from "00:00" to "23:59"',
    ),
    (
        'starts = ["22:00", "04:00"]\n',
        "",
        10,
        "program 1 starts",
        "is missing",
        'add a line such as starts = ["22:00"]',
    ),
    (
        "7 = 12, 3",
        "7 = 1500, 3",
        14,
        "program 1 minutes 7",
        '"1500 min" is more than 1440 min',
        "write a value from 0 min to 1440 min, and look at the unit",
    ),
    (
        "7 = 12, 3",
        "7 = -1, 3",
        14,
        "program 1 minutes 7",
        '"-1 min" is less than 0 min',
        "write a value from 0 min to 1440 min, and look at the unit",
    ),
    (
        "7 = 12, 3",
        "8 = 12, 3",
        14,
        "program 1 minutes 8",
        "the site has no terminal 8",
        "correct it, or add the station to the site file; terminals there are 3, 7",
    ),
    (
        "7 = 12, 3",
        "x = 12, 3",
        14,
        "program 1 minutes x",
        '"x" is no terminal',
        "write the number of the terminal, as in { 7 = 12 }",
    ),
    (
        "{ 7 = 12, 3 = 20 }",
        "[12, 20]",
        14,
        "program 1 minutes",
        "a list is no table",
        "write it in curly brackets, such as minutes = { 1 = 12 }",
    ),
    (
        '["Mon", "Thu"]',
        '["Mon", "Thr"]',
        13,
        "program 1 days",
        '"Thr" is no weekday',
        'write "Mon", "Tue", "Wed", "Thu", "Fri", "Sat" or "Sun"',
    ),
    (
        '"wedge by head"',
        '"wedge by heads"',
        18,
        "area 1 pattern",
        '"wedge by heads" is no pattern',
        'perhaps you meant "wedge by head"',
    ),
    (
        '"wedge by head"',
        '"zigzag"',
        18,
        "area 1 pattern",
        '"zigzag" is no pattern',
        'write "wedge by head", "arc by head", "all alike", "straight edges", "green arc brown beyond", '
        '"spreader stripes", "rings", "scattered sharp patches", "many patterns", "worst by paving", '
        '"high spots", "south slope", "worn paths" or "pet spots"',
    ),
    (
        '"dull grey"',
        '"purple"',
        19,
        "area 1 colour",
        '"purple" is no colour',
        'write "brown", "straw", "green", "dull grey", "orange tone", "pale all over", '
        '"youngest leaves yellow" or "dark"',
    ),
    (
        '["footprints stay"]',
        '["footprint stays"]',
        20,
        "area 1 signs 1",
        '"footprint stays" is no sign',
        'perhaps you meant "footprints stay"',
    ),
    (
        '["footprints stay"]',
        '"footprints stay"',
        20,
        "area 1 signs",
        '"footprints stay" is no list',
        'write it in square brackets, such as signs = ["footprints stay"]',
    ),
    (
        '"60 %"',
        '"160 %"',
        21,
        "area 1 living_cover",
        '"160 %" is more than 100 %',
        "write a value from 0 % to 100 %, and look at the unit",
    ),
    ("grubs = 4", "grub = -4", 22, "area 1 insects grub", "-4 is less than 0", "write a value from 0 to 10000"),
    ("grubs = 4", "gurbs = 4", 22, "area 1 insects gurbs", '"gurbs" is no insect', 'perhaps you meant "grubs"'),
    (
        "[[run]]\nstation = 7",
        "[[run]]\nstation = 9",
        25,
        "run 1 station",
        "the site has no terminal 9",
        "correct it, or add the station to the site file; terminals there are 3, 7",
    ),
    ("[[run]]", "[run]", 24, "run", "is one table in single brackets", "write [[run]], in double brackets, for each"),
    (
        "from_controller = true",
        'from_controller = "yes"',
        26,
        "run 1 from_controller",
        '"yes" is neither true nor false',
        "write true or false, without quotes",
    ),
    ('"tilted"', '"tiltd"', 31, "head 1 fault", '"tiltd" is no fault of a head', 'perhaps you meant "tilted"'),
    (
        '"tilted"',
        '"bewitched"',
        31,
        "head 1 fault",
        '"bewitched" is no fault of a head',
        'write "buried", "sunken", "tilted", "short throw", "throwing over", "arc wrong", "blocked", '
        '"clogged", "worn nozzle", "missing", "not popping up", "leaking", "overspray" or "weeping"',
    ),
    ("count = 2", "count = 0", 32, "head 1 count", "0 is out of range", "write a whole number from 1 to 999"),
    ('"34 ohm"', '"34 V"', 36, "electrical 1 coil", '"34 V" cannot be read as a resistance', 'write "34 ohm"'),
    ('"26 V"', "26", 37, "electrical 1 voltage", "26 has no unit", 'write it in quotes, such as "26 V"'),
    (
        '"26 V"',
        '"240 V"',
        37,
        "electrical 1 voltage",
        '"240 V" is more than 60 V',
        "write a value from 0 V to 60 V, and look at the unit",
    ),
    (
        "stations = [7]",
        "stations = [7, 3]",
        41,
        "cups 1 minutes",
        "tells 1 where 2 stations ran",
        "write how long each station ran, in the order of stations",
    ),
    (
        "stations = [7]",
        "stations = []",
        40,
        "cups 1 stations",
        "names no station",
        "write the terminals that ran, such as [7]",
    ),
    (
        "stations = [7]",
        "stations = [8]",
        40,
        "cups 1 stations 1",
        "the site has no terminal 8",
        "correct it, or add the station to the site file; terminals there are 3, 7",
    ),
    (
        "minutes = [15]",
        "minutes = 15",
        41,
        "cups 1 minutes",
        "15 is no list",
        "write it in square brackets, such as minutes = [15]",
    ),
    (
        'unit = "mL"',
        'unit = "psi"',
        42,
        "cups 1 unit",
        '"psi" is no unit of cups',
        'write "mL", "fl oz", "in", "mm" or "cm"',
    ),
    ('unit = "mL"\n', "", 39, "cups 1 unit", "is missing", 'add a line such as unit = "mL"'),
    (
        "[24, 26, 28, 30]",
        "[24, 26, 28]",
        43,
        "cups 1 caught",
        "3 cups are too few to tell anything",
        "set out 4 at least, 24 for a uniformity",
    ),
    (
        "[24, 26, 28, 30]",
        "[24, -26, 28, 30]",
        43,
        "cups 1 caught 2",
        "-26 is negative",
        'read the cup again, or write "tipped"',
    ),
    (
        "[24, 26, 28, 30]",
        "[0, 0, 0, 0]",
        43,
        "cups 1 caught",
        "no cup caught anything",
        "write it as a [[run]] that wetted nothing: wet = []",
    ),
    (
        "[24, 26, 28, 30]",
        "[24, 260, 28, 30]",
        43,
        "cups 1 caught 2",
        "260 mL is more than the cup holds, 130 mL",
        "read the cup again, or correct capacity",
    ),
    (
        "[24, 26, 28, 30]",
        '[24, "26 mL", 28, 30]',
        43,
        "cups 1 caught 2",
        '"26 mL" is no plain number',
        'write what the cup caught without a unit, or "tipped"; the unit stands once for the test',
    ),
    (
        "[24, 26, 28, 30]",
        "[24, nan, 28, 30]",
        43,
        "cups 1 caught 2",
        "nan is no plain number",
        'write what the cup caught without a unit, or "tipped"; the unit stands once for the test',
    ),
    (
        "caught = [24, 26, 28, 30]",
        "rows = [[24, 26], [28, 300]]",
        43,
        "cups 1 rows 2 2",
        "300 mL is more than the cup holds, 130 mL",
        "read the cup again, or correct capacity",
    ),
    (
        "caught = [24, 26, 28, 30]",
        'caught = [24, 26, 28, 30]\nspacing = "5 ft"',
        44,
        "cups 1 spacing",
        "belongs to cups in rows",
        "write the cups as rows, or give x and y for each",
    ),
    (
        "caught = [24, 26, 28, 30]",
        'caught = [24, 26, 28, 30]\nx = [0, 5, 10]\ny = [0, 0, 0, 0]\nxy_unit = "ft"',
        44,
        "cups 1 x",
        "has 3 places for 4 cups",
        "write one for each cup, tipped ones too",
    ),
    (
        "caught = [24, 26, 28, 30]",
        "caught = [24, 26, 28, 30]\nx = [0, 5, 10, 15]",
        44,
        "cups 1 x",
        "does not tell where the cups of caught stood",
        'write caught, x, y and xy_unit = "ft" together',
    ),
    (
        "caught = [24, 26, 28, 30]\n",
        "",
        39,
        "cups 1",
        "has no reading",
        "write what the cups caught either in one list, caught, or in rows",
    ),
    (
        '"16.5 sq in"',
        '"0 sq in"',
        44,
        "cups 1 throat",
        '"0 sq in" is zero',
        "write a value above 0 sq in and up to 300 sq in, and look at the unit",
    ),
    (
        '"16.5 sq in"',
        '"16.5 in"',
        44,
        "cups 1 throat",
        '"16.5 in" cannot be read as an area',
        'write "16.5 sq in" or "106 cm2"',
    ),
    (
        'throat = "16.5 sq in"\n',
        "",
        39,
        "cups 1",
        "the cups were read in mL, and without their mouth that is no depth",
        'add throat = "16.5 sq in", or diameter = "4.6 in"',
    ),
    (
        'throat = "16.5 sq in"\n',
        'throat = "16.5 sq in"\ndiameter = "4.6 in"\n',
        45,
        "cups 1 diameter",
        "stands beside throat",
        "write one of the two",
    ),
    (
        '"40 psi"',
        '"40 gpm"',
        46,
        "cups 1 pressure",
        '"40 gpm" cannot be read as a pressure',
        'write "40 psi" or "280 kPa"',
    ),
    (
        'moist = "2 in"',
        'moist = "9 in"',
        51,
        "core 1 moist",
        "9.00 in is deeper than the core was read, 6.00 in (the deepest layer)",
        "correct one of the two, or add depth, how deep the core reached",
    ),
    (
        'roots = "4 in"',
        'roots = "7 in"',
        52,
        "core 1 roots",
        "7.00 in is deeper than the core was read, 6.00 in (the deepest layer)",
        "correct one of the two, or add depth, how deep the core reached",
    ),
    (
        '"dry" }',
        '"damp" }',
        53,
        "core 1 layers 2 feel",
        '"damp" is no feel class',
        'write "dry", "slightly moist", "moist", "wet" or "at field capacity"',
    ),
    ('"dry" }', '"drry" }', 53, "core 1 layers 2 feel", '"drry" is no feel class', 'perhaps you meant "dry"'),
    (
        '{ bottom = "6 in", feel',
        '{ top = "1 in", bottom = "6 in", feel',
        53,
        "core 1 layers 2 top",
        "begins at 1.00 in, and the layer above ends at 2.00 in",
        "correct one of the two; layers do not overlap",
    ),
    ('"6 in", feel = "dry"', '"6 in"', 53, "core 1 layers 2 feel", "is missing", 'add a line such as feel = "dry"'),
    (
        '"brown"',
        '"yellow"',
        50,
        "core 1 colour",
        '"yellow" is no colour of a core\'s place',
        'write "green" or "brown"',
    ),
    (
        "[[core]]\nstation = 7",
        "[[core]]\n",
        48,
        "core 1",
        "tells neither area nor station",
        "say where the core was taken",
    ),
    ('"42 gal"', '"42 gpm"', 57, "meter 1 volume", '"42 gpm" cannot be read as a volume', 'write "42 gal" or "160 L"'),
    (
        "minutes = 5",
        "minutes = 5000",
        58,
        "meter 1 minutes",
        '"5000 min" is more than 1440 min',
        "write a value from 0.5 min to 1440 min, and look at the unit",
    ),
    ('volume = "42 gal"\n', "", 55, "meter 1 volume", "is missing", 'add a line such as volume = "42 gal"'),
    ('"1.1 dS/m"', '"1.1 ppm"', 61, "salts water", '"1.1 ppm" cannot be read as a conductivity', 'write "1.1 dS/m"'),
    ("[salts]", "[salt]", 60, "salt", "is no key that belongs here", 'perhaps you meant "salts"'),
    ("[salts]", "[[salts]]", 60, "salts", "is not written as a table", "write [salts] with its keys"),
    (
        'water = "1.1 dS/m"',
        'water = "1.1 dS/m"\nnotes = ["late"]',
        62,
        "salts notes",
        "is no key that belongs here",
        "move it to the top, above every table",
    ),
    ('roots = "4 in"', 'root = "4 in"', 52, "core 1 root", "is no key that belongs here", 'perhaps you meant "roots"'),
    (
        'roots = "4 in"',
        'feel = "dry"',
        52,
        "core 1 feel",
        "is no key that belongs here",
        "write it inside layers, with the bottom of its layer",
    ),
    (
        "[24, 26, 28, 30]",
        "[24]",
        43,
        "cups 1 caught",
        "one cup tells nothing",
        "set out 4 at least, 24 for a uniformity",
    ),
    (
        '"mL"\ncaught = [24, 26, 28, 30]',
        '"mL"\nrows = [[24, 26], ["tipped", 30]]',
        43,
        "cups 1 rows",
        "3 cups are too few to tell anything",
        "set out 4 at least, 24 for a uniformity",
    ),
    (
        "grubs = 4",
        'grubs = 4, "white grubs" = 5',
        22,
        "area 1 insects white grubs",
        '"white grubs" are counted twice',
        "write one number for them",
    ),
    (
        'name = "A"\n',
        'name = "A"\nminuts = 3\n',
        12,
        "program 1 minuts",
        "is no key that belongs here",
        'perhaps you meant "minutes"',
    ),
    (
        'colour = "dull grey"\n',
        'colour = "dull grey"\nsize = "3 ft"\n',
        20,
        "area 1 size",
        "is no key that belongs here",
        'take it out, or use "name", "pattern", "colour", "signs", "living_cover", "tug", "insects", "drop", '
        '"mown", "thatch", "where" or "note"',
    ),
    (
        "[meter]]\nstation = 7",
        "[meter]]\nstation = true",
        56,
        "meter 1 station",
        "true is not a whole number",
        "write it without quotes and without a point",
    ),
    ('feel = "dry" }]', 'feel = "dry" }]\nx = "10"', 54, "core 1 x", '"10" has no unit', 'write "10 ft" or "3 m"'),
    (
        'living_cover = "60 %"',
        'mown = "2,5 in"',
        21,
        "area 1 mown",
        '"2,5 in" holds a comma',
        'write a decimal point and no commas, such as "2.5 in" or "60 mm"',
    ),
    (
        'colour = "brown"',
        'colour = "brown"\ndepth = "5 in"',
        54,
        "core 1 layers 2 bottom",
        "6.00 in is deeper than the core was read, 5.00 in (depth)",
        "correct one of the two",
    ),
    (
        'moist = "2 in"',
        'moist = "9 in"\ndepth = "8 in"',
        51,
        "core 1 moist",
        "9.00 in is deeper than the core was read, 8.00 in (depth)",
        "correct one of the two",
    ),
    (
        'roots = "4 in"',
        'roots = "9 in"\ndepth = "8 in"',
        52,
        "core 1 roots",
        "9.00 in is deeper than the core was read, 8.00 in (depth)",
        "correct one of the two",
    ),
    (
        '"8 in"',
        '"0 in"',
        64,
        "recovery target_depth",
        '"0 in" is less than 1 in',
        "write a value from 1 in to 72 in, and look at the unit",
    ),
    (
        '"8 in"',
        '"5 m"',
        64,
        "recovery target_depth",
        '"5 m" is more than 1.829 m',
        "write a value from 0.0254 m to 1.829 m, and look at the unit",
    ),
    ('"8 in"', "8", 64, "recovery target_depth", "8 has no unit", 'write it in quotes, such as "8 in" or "200 mm"'),
    (
        "{ 3 = 2026-07-21 }",
        "{ 4 = 2026-07-21 }",
        65,
        "recovery repaired_on 4",
        "the site has no terminal 4",
        "correct it, or add the station to the site file; terminals there are 3, 7",
    ),
    (
        "{ 3 = 2026-07-21 }",
        "{ 3 = 2026-07-13 }",
        65,
        "recovery repaired_on 3",
        "2026-07-13 is before the visit, 2026-07-14",
        "correct the day; what was repaired before needs no line here",
    ),
    (
        "{ 3 = 2026-07-21 }",
        "{ 3 = 2062-07-21 }",
        65,
        "recovery repaired_on 3",
        "2062-07-21 is more than a year after the visit, 2026-07-14",
        "correct the year",
    ),
    (
        "{ 3 = 2026-07-21 }",
        '{ 3 = "soon" }',
        65,
        "recovery repaired_on 3",
        '"soon" is no date',
        "write year, month and day, such as 2026-07-14",
    ),
    (
        "{ 3 = 2026-07-21 }",
        "{ x = 2026-07-21 }",
        65,
        "recovery repaired_on x",
        '"x" is no terminal',
        "write the number of the terminal, as in { 7 = 2026-07-17 }",
    ),
    (
        "{ 3 = 2026-07-21 }",
        "[3]",
        65,
        "recovery repaired_on",
        "a list is no table",
        'write it in curly brackets, such as repaired_on = { 1 = "2026-07-17" }',
    ),
    (
        "sheds_water = [7]",
        "sheds_water = [8]",
        66,
        "recovery sheds_water 1",
        "the site has no terminal 8",
        "correct it, or add the station to the site file; terminals there are 3, 7",
    ),
    (
        "sheds_water = [7]",
        "sheds_water = 7",
        66,
        "recovery sheds_water",
        "7 is no list",
        "write it in square brackets, such as sheds_water = [1]",
    ),
    (
        "heat = false",
        'heat = "no"',
        67,
        "recovery feeds_in_heat",
        '"no" is neither true nor false',
        "write true or false, without quotes",
    ),
    (
        "heat = false",
        'heat = false\nnitrogen = "24 %"',
        68,
        "recovery nitrogen",
        "is no key that belongs here",
        "move it to [recovery.fertiliser]",
    ),
    (
        '"24 %"',
        '"0 %"',
        70,
        "recovery fertiliser nitrogen",
        '"0 %" is zero',
        "write a value above 0 % and up to 100 %, and look at the unit",
    ),
    (
        '"24 %"',
        '"124 %"',
        70,
        "recovery fertiliser nitrogen",
        '"124 %" is more than 100 %',
        "write a value above 0 % and up to 100 %, and look at the unit",
    ),
    ('"24 %"', "24", 70, "recovery fertiliser nitrogen", "24 has no unit", 'write it in quotes, such as "24 %"'),
    (
        'nitrogen = "24 %"\n',
        "",
        69,
        "recovery fertiliser nitrogen",
        "is missing",
        'add a line such as nitrogen = "24 %"',
    ),
    (
        '"50 %"',
        '"150 %"',
        71,
        "recovery fertiliser slow_release",
        '"150 %" is more than 100 %',
        "write a value from 0 % to 100 %, and look at the unit",
    ),
    (
        '"50 %"',
        "50",
        71,
        "recovery fertiliser slow_release",
        "50 is more than 1",
        'write percent with its sign or a share of one, such as "50 %"',
    ),
    (
        "[recovery.fertiliser]",
        "[fertiliser]",
        69,
        "fertiliser",
        "is no key that belongs here",
        "write [recovery.fertiliser]",
    ),
    (
        "[recovery.fertiliser]",
        "[recovery.fertilizer]",
        69,
        "recovery fertilizer",
        "is no key that belongs here",
        'perhaps you meant "fertiliser"',
    ),
    (
        "[recovery.fertiliser]",
        "[[recovery.fertiliser]]",
        69,
        "recovery fertiliser",
        "is not written as a table",
        "write [recovery.fertiliser] with its keys",
    ),
    (
        "last = 2026-08-31",
        "last = 2026-07-19",
        75,
        "recovery feed_ban 1 last",
        "2026-07-19 is before the first day, 2026-07-20",
        "correct one of the two",
    ),
    (
        "last = 2026-08-31",
        "last = 2062-08-31",
        75,
        "recovery feed_ban 1 last",
        "2062-08-31 is more than a year after the first day, 2026-07-20",
        "correct the year, or write a ban a year",
    ),
    (
        '\nreason = "town ordinance"',
        "",
        73,
        "recovery feed_ban 1 reason",
        "is missing",
        'add a line such as reason = "town ordinance"',
    ),
    (
        "[[recovery.feed_ban]]",
        "[recovery.feed_ban]",
        73,
        "recovery feed_ban",
        "is one table in single brackets",
        "write [[recovery.feed_ban]], in double brackets, for each",
    ),
    (
        "first = 2026-07-20",
        "first = 2026-07-20\nuntil = 2026-08-01",
        75,
        "recovery feed_ban 1 until",
        "is no key that belongs here",
        'take it out, or use "first", "last" or "reason"',
    ),
]


def problems(text: str) -> tuple[Problem, ...]:
    with pytest.raises(VisitRefused) as refused:
        parse_visit(text, "visit.toml", SITE, TODAY)
    return refused.value.problems


@pytest.mark.parametrize(("old", "new", "line", "field", "wrong", "remedy"), CASES)
def test_one_thing_wrong_gives_one_sentence(old, new, line, field, wrong, remedy):
    assert GOOD.count(old) == 1
    assert problems(GOOD.replace(old, new)) == (Problem("visit.toml", line, field, wrong, remedy),)


def test_the_record_itself_is_read_without_a_remark():
    assert parse_visit(GOOD, "visit.toml", SITE, TODAY).notes == ()


def test_a_misspelt_key_is_missed_and_not_passed_over():
    assert [str(each) for each in problems(GOOD.replace("stations = [7]", "station = 7"))] == [
        "visit.toml, line 39, cups 1 stations: is missing; add a line such as stations = [1].",
        'visit.toml, line 40, cups 1 station: is no key that belongs here; perhaps you meant "stations".',
    ]


def test_nothing_of_a_core_lies_below_the_stone_it_met():
    found = problems(GOOD.replace('moist = "2 in"', 'moist = "2 in"\nstone = "3 in"'))
    assert [(each.line, each.field, each.wrong) for each in found] == [
        (53, "core 1 roots", "4.00 in is deeper than the core was read, 3.00 in (stone)"),
        (54, "core 1 layers 2 bottom", "6.00 in is deeper than the core was read, 3.00 in (stone)"),
    ]


def test_a_depth_below_the_deepest_layer_is_believed_once_the_core_reached_it():
    text = GOOD.replace('moist = "2 in"', 'moist = "8 in"\ndepth = "9 in"')
    (core,) = parse_visit(text, "visit.toml", SITE, TODAY).cores
    assert core.moist_mm == pytest.approx(203.2)


def test_depths_are_told_in_the_units_of_the_site():
    site = parse_site(
        'units = "metric"\nname = "Tarn Court"\n[place]\nlatitude = 38.2\nlongitude = -120.7\nelevation = "400 m"\n'
        'time_zone = "America/Los_Angeles"\n[watering]\nopens = "22:00"\ncloses = "06:00"\nwater_days = "every day"\n'
        + STATION.format(7, "Front lawn")
        + STATION.format(3, "Bank"),
        "site.toml",
    )
    with pytest.raises(VisitRefused, match=r"228.6 mm is deeper than the core was read, 152.4 mm"):
        parse_visit(GOOD.replace('moist = "2 in"', 'moist = "9 in"'), "visit.toml", site, TODAY)


def test_all_problems_are_told_at_once_in_the_order_of_the_file():
    text = GOOD.replace("07-14\n", "07-19\n").replace("Tarn", "Fell").replace("7 = 12", "8 = 12").replace("04:00", "4")
    text = text.replace("grubs", "gribs").replace("[[run]]\nstation = 7", "[[run]]\nstation = 9").replace("tilted", "x")
    text = text.replace("26 V", "26 A").replace("[24, 26, 28", "[24, -26, 280").replace("16.5", "0")
    text = text.replace('feel = "moist"', 'feel = "gooey"').replace('"42 gal"', "42")
    assert [(problem.line, problem.field) for problem in problems(text)] == [
        (1, "date"),
        (3, "site"),
        (12, "program 1 starts 2"),
        (14, "program 1 minutes 8"),
        (22, "area 1 insects gribs"),
        (25, "run 1 station"),
        (31, "head 1 fault"),
        (37, "electrical 1 voltage"),
        (43, "cups 1 caught 2"),
        (44, "cups 1 throat"),
        (53, "core 1 layers 1 feel"),
        (57, "meter 1 volume"),
    ]


def test_contradictions_are_told_beside_other_problems():
    text = (
        GOOD.replace("[24, 26, 28, 30]", "[24, 26]").replace("tilted", "x").replace('moist = "2 in"', 'moist = "9 in"')
    )
    assert [problem.field for problem in problems(text)] == ["head 1 fault", "cups 1 caught", "core 1 moist"]


def test_an_empty_file_lacks_its_date_and_nothing_else():
    assert [str(problem) for problem in problems("")] == [
        'visit.toml, date: is missing; add a line such as date = "2026-07-14".'
    ]


def test_values_where_tables_belong():
    text = 'date = 2026-07-14\nclock = 1\ncore = 3\nrun = [1]\ncups = ["x"]\n'
    assert [str(problem) for problem in problems(text)] == [
        "visit.toml, line 2, clock: is not written as a table; write [clock] with its keys.",
        "visit.toml, line 3, core: is not written as a table; write [[core]], in double brackets, for each.",
        "visit.toml, line 4, run 1: is not written as a table; write [[run]] with its keys.",
        "visit.toml, line 5, cups 1: is not written as a table; write [[cups]] with its keys.",
    ]


def test_values_where_tables_of_recovery_belong():
    assert str(problems("date = 2026-07-14\nrecovery = 3\n")[0]) == (
        "visit.toml, line 2, recovery: is not written as a table; write [recovery] with its keys."
    )
    text = 'date = 2026-07-14\n[recovery]\nfertiliser = "urea"\nfeed_ban = ["summer"]\n'
    assert [(problem.line, problem.field, problem.wrong, problem.remedy) for problem in problems(text)] == [
        (3, "recovery fertiliser", "is not written as a table", "write [recovery.fertiliser] with its keys"),
        (4, "recovery feed_ban 1", "is not written as a table", "write [[recovery.feed_ban]] with its keys"),
    ]


def test_what_is_wrong_with_recovery_is_told_at_once():
    text = GOOD.replace("3 = 2026-07-21", "3 = 2026-07-13, 9 = 2026-07-21").replace('"24 %"', '"0 %"')
    text = text.replace("last = 2026-08-31", "last = 2026-07-19").replace("sheds_water = [7]", "sheds_water = [7, 8]")
    text += '\n[[recovery.feed_ban]]\nfirst = 2026-10-01\nlast = "autumn"\nreason = "owner"\n'
    assert [(problem.line, problem.field) for problem in problems(text)] == [
        (65, "recovery repaired_on 3"),
        (65, "recovery repaired_on 9"),
        (66, "recovery sheds_water 2"),
        (70, "recovery fertiliser nitrogen"),
        (75, "recovery feed_ban 1 last"),
        (80, "recovery feed_ban 2 last"),
    ]


def test_repair_days_and_bans_may_touch_their_bounds():
    text = GOOD.replace("3 = 2026-07-21", "3 = 2026-07-14").replace("last = 2026-08-31", "last = 2026-07-20")
    recovery = parse_visit(text, "visit.toml", SITE, TODAY).recovery
    assert recovery.ready == {3: date(2026, 7, 14)}
    assert recovery.bans[0].first == recovery.bans[0].last


def test_layers_that_are_no_tables():
    (problem,) = problems(GOOD.replace('{ bottom = "2 in", feel = "moist" }', '"2 in moist"'))
    assert (problem.field, problem.remedy) == (
        "core 1 layers 1",
        "write each as { bottom = …, feel = … } with its keys",
    )


def test_two_programs_of_one_name():
    text = GOOD + '\n[[program]]\nname = "a"\nstarts = []\ndays = "every day"\nminutes = { 7 = 3 }\n'
    (problem,) = problems(text)
    assert str(problem) == ('visit.toml, line 79, program 2 name: "a" stands twice; give every program its own name.')


def test_files_are_refused_as_visits(tmp_path):
    with pytest.raises(VisitRefused, match="there is no such file; check the name and the folder"):
        read_visit(tmp_path / "none.toml", SITE, TODAY)
    with pytest.raises(VisitRefused, match="the file cannot be read"):
        read_visit(tmp_path, SITE, TODAY)
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 1_000_001)
    with pytest.raises(VisitRefused, match="name a visit file, which has less than a million"):
        read_visit(large, SITE, TODAY)
    twice = "date = 2026-07-14\ndate = 2026-07-15\n"
    assert problems(twice)[0].remedy == "keep one (cores are [[core]], in double brackets)"


# What is told and not refused: what of GOOD is changed, into what, and the note that travels with the visit.
TOLD = [
    (
        "[24, 26, 28, 30]",
        "[24, 26, 120, 22, 28, 30, 26, 28]",  # the middle of eight is (26 + 28) / 2 = 27: 120 is 4.4 times as much
        "Cup test 1: cup 3 caught 120 mL, 4 times the middle cup; it counts, but look for a leak beside it or a slip "
        "of the point.",
    ),
    ("[24, 26, 28, 30]", "[24, 0, 28, 30]", "Cup test 1: cup 2 caught nothing; it counts, as a dry place."),
    ("[24, 26, 28, 30]", '[24, "tipped", 28, 30, 31]', "Cup test 1: cup 2 was tipped and is left out."),
    (
        "[24, 26, 28, 30]",
        "[124, 126, 128, 130]",
        "Cup test 1: cup 4 was full and may have run over; more may have fallen there.",
    ),
    (
        'name = "Front lawn"',
        'name = "Front lwan"',
        'The site file has no area "Front lwan"; perhaps "Front lawn" is meant.',
    ),
    ('wet = ["Front lawn"]', 'wet = ["Car park"]', 'The site file has no area "Car park".'),
    ("7 = 12, 3 = 20", "7 = 1400, 3 = 41", "Program A adds up to 1441 minutes, more than a day."),
]


@pytest.mark.parametrize(("old", "new", "note"), TOLD)
def test_what_may_be_a_slip_is_told_and_kept(old, new, note):
    assert GOOD.count(old) == 1
    assert parse_visit(GOOD.replace(old, new), "visit.toml", SITE, TODAY).notes == (note,)


PIECES = st.sampled_from([*re.findall(r"\w+|[^\w\s]+|\s+", GOOD), "nan", "inf", "true", "{", "}", "1979-05-27"])


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_record_with_pieces_replaced_is_read_or_refused(data):
    parts = re.findall(r'"[^"\n]*"|\w+|[^\w\s]+|\s+', GOOD)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(parts) - 1))
        parts[at] = data.draw(PIECES | st.text(max_size=8) | st.text(max_size=8).map('"{}"'.format))
    refused_in_sentences("".join(parts))


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text):
    refused_in_sentences(text)


SCALARS = st.one_of(
    st.text(alphabet="ab0 %", max_size=5).map('"{}"'.format),
    st.integers().map(str),
    st.floats().map(str),
    st.sampled_from(
        ["true", "1979-05-27", "07:32:00", "[]", "{}", '["x", 1]', "[[]]", "{ 7 = 1 }", "[7]", "[0.0, 1, 2, 3]", '"mL"']
    ),
)
KEYS = sorted(
    set(re.findall(r"^(\w+) =", GOOD, re.MULTILINE)) | {"rows", "x", "y", "xy_unit", "stone", "spacing", "core"}
)
TABLES = sorted(set(re.findall(r"^\[+[\w.]+\]+$", GOOD, re.MULTILINE)))


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(TABLES) | st.tuples(st.sampled_from(KEYS), SCALARS)))
def test_any_table_of_known_keys_is_read_or_refused(entries):
    lines = [entry if isinstance(entry, str) else f"{entry[0]} = {entry[1]}" for entry in entries]
    refused_in_sentences("\n".join(["date = 2026-07-14", *lines]))


def refused_in_sentences(text: str) -> None:
    try:
        parse_visit(text, "visit.toml", SITE, TODAY)
    except VisitRefused as error:
        found = error.problems
    else:
        return
    assert found
    for problem in found:
        assert problem.line is None or 1 <= problem.line <= text.count("\n") + 1
        assert problem.wrong
        assert problem.remedy
        assert str(problem).isprintable()
