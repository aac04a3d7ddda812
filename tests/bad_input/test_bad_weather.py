"""Bad weather files and column mappings, each with the exact line, field and sentence a person gets."""

from __future__ import annotations

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.documents.columns import default_columns
from etsched.errors import InputRefused, WeatherRefused
from etsched.feeds.weather_csv import read_weather_csv
from tests.bad_input.weather_files import (
    DENVER,
    HOURLY_COLUMNS,
    OWN,
    STATION,
    STATION_COLUMNS,
    TODAY,
    hours,
    parsed,
    spoilt,
)

CELL_OR_UNIT = "correct the cell, or the unit in the column mapping"
OWN_NAMES = (
    '"date", "tmin_c", "tmax_c", "rh_min_pct", "rh_max_pct", "rh_mean_pct", "dewpoint_c", '
    '"vapour_pressure_kpa", "wind_m_s", "solar_mj_m2_d", "sunshine_h" or "rain_mm"'
)
NOT_OURS = f"the headings are not this program's own, which are {OWN_NAMES}"
ENCODING = "save it as UTF-8, or set encoding in [file] of the column mapping"
CUT = "add what is missing, or cut the file before or after the gap"
DATES = 'set date_format in [time] of the column mapping, such as "%m/%d/%Y"'


def refused(text: str | bytes, columns: str | None = None) -> list[str]:
    with pytest.raises(InputRefused) as caught:
        parsed(text, columns)
    return str(caught.value).split("\n")


# What of OWN is changed, into what, and the sentences this gives.
OWN_CASES = {
    "semicolons": (
        None,
        OWN.replace(",", ";"),
        [
            'weather.csv, line 1: the headings are parted by ";", not by ","; '
            'set delimiter = ";" in [file] of the column mapping.'
        ],
    ),
    "tabs": (
        None,
        OWN.replace(",", "\t"),
        [
            'weather.csv, line 1: the headings are parted by "\\t", not by ","; '
            'set delimiter = "\\t" in [file] of the column mapping.'
        ],
    ),
    "decimal comma in quotes": (
        "8.1",
        '"8,1"',
        [
            'weather.csv, line 2, tmin_c: "8,1" is no number; '
            'set decimal = "," in [file] of the column mapping, or correct the cell.'
        ],
    ),
    "decimal comma": (
        "8.1",
        "8,1",
        [
            "weather.csv, line 2: the row has 8 cells under 7 headings; "
            "put cells that hold a delimiter, such as a decimal comma, into quotation marks."
        ],
    ),
    "doubled day": (
        "2026-05-03",
        "2026-05-02",
        ['weather.csv, line 4, date: "2026-05-02" stands on line 3 already; take one of the two rows out.'],
    ),
    "missing day": (
        "2026-05-03,10.2,18.5,6.4,3.0,11.2,84\n",
        "",
        [
            "weather.csv, line 4, date: 2026-05-03 is missing before 2026-05-04; "
            "add what is missing, or cut the file there."
        ],
    ),
    "missing week": (
        "2026-05-05",
        "2026-05-12",
        [
            "weather.csv, line 6, date: 2026-05-05 to 2026-05-11 are missing before 2026-05-12; "
            "add what is missing, or cut the file there."
        ],
    ),
    "NaN in words": (
        "23.0,0.0",
        "23.0,NaN",
        [
            'weather.csv, line 3, rain_mm: "NaN" is no number; '
            'if it marks a missing value, add "NaN" to missing in the column mapping.'
        ],
    ),
    "infinity": (
        "21.4",
        "inf",
        ['weather.csv, line 2, tmax_c: "inf" is no number; correct the cell.'],
    ),
    "-999 not declared": (
        "18.5,6.4",
        "18.5,-999",
        [
            'weather.csv, line 4, rain_mm: "-999" mm lies outside 0 to 800 mm; '
            'if it marks a missing value, add "-999" to missing in the column mapping.'
        ],
    ),
    "date without a format": (
        "2026-05-03",
        "03/05/2026",
        [f'weather.csv, line 4, date: "03/05/2026" is no date of the form YYYY-MM-DD; {DATES}.'],
    ),
    "date that never was": (
        "2026-05-03",
        "2026-02-30",
        [f'weather.csv, line 4, date: "2026-02-30" is no date of the form YYYY-MM-DD; {DATES}.'],
    ),
    "today in words": (
        "2026-05-03",
        "today",
        [f'weather.csv, line 4, date: "today" is no date of the form YYYY-MM-DD; {DATES}.'],
    ),
    "date before weather": (
        "2026-05-01",
        "0026-05-01",
        ['weather.csv, line 2, date: "0026-05-01" lies outside the years 1900 to 2100; correct the date.'],
    ),
    "no date": (
        "2026-05-03",
        " ",
        ["weather.csv, line 4, date: the date is missing; add it, or take the row out."],
    ),
    "unknown column": (
        "rh_mean_pct",
        "leaf_wetness",
        [
            "weather.csv, line 1, leaf_wetness: this program has no column of that name; "
            "rename it, or describe the file in a column mapping."
        ],
    ),
    "misspelt column": (
        "rain_mm",
        "rian_mm",
        ['weather.csv, line 1, rian_mm: this program has no column of that name; perhaps you meant "rain_mm".'],
    ),
    "needed column misspelt": (
        "tmax_c",
        "t_max_c",
        [
            'weather.csv, line 1, t_max_c: this program has no column of that name; perhaps you meant "tmax_c".',
            "weather.csv, line 1, tmax_c: there is no such heading; correct the name in the column mapping; "
            'the headings are "date", "tmin_c", "t_max_c", "rain_mm", "wind_m_s", "solar_mj_m2_d", '
            '"rh_mean_pct".',
        ],
    ),
    "heading twice": (
        "rain_mm,wind_m_s",
        "rain_mm,rain_mm",
        [
            "weather.csv, line 1, rain_mm: the heading stands over columns 4 and 5; "
            "name the one that is meant by its position, such as column = 4."
        ],
    ),
    "foreign headings": (
        None,
        "Day,Low,High\n05/01/2026,46,70\n",
        [f"weather.csv, line 1: {NOT_OURS}; rename them, or describe the file in a column mapping."],
    ),
    "empty file": (None, "", ["weather.csv: the file is empty; export the weather again."]),
    "blank file": (None, " \r\n\r\n", ["weather.csv: the file is empty; export the weather again."]),
    "byte order mark alone": (
        None,
        b"\xef\xbb\xbf",
        ["weather.csv: the file is empty; export the weather again."],
    ),
    "headings only": (
        None,
        OWN.splitlines()[0],
        ["weather.csv, line 1: no row follows the headings; export the weather again."],
    ),
    "blank line first": (
        None,
        "\n" + OWN,
        [
            "weather.csv, line 1: there are no headings here; "
            "set header_line in [file] of the column mapping to the line of the headings."
        ],
    ),
    "cells missing": (
        "7.4,20.1,0.0,2.2,23.5,58",
        "7.4,20.1",
        ["weather.csv, line 5: the row has 3 cells under 7 headings; complete the row or take it out."],
    ),
    "not UTF-8": (
        None,
        OWN.replace("61", "61\u00b0").encode("latin-1"),
        [f'weather.csv, line 2: byte b0 is no text in the encoding "utf-8"; {ENCODING}.'],
    ),
    "saved as UTF-16": (
        None,
        OWN.encode("utf-16"),
        [f'weather.csv, line 1: byte ff is no text in the encoding "utf-8"; {ENCODING}.'],
    ),
    "binary zeros": (
        "18.5",
        "18\0.5",
        [f"weather.csv, line 4: it holds binary zeros, which no text does; {ENCODING}."],
    ),
    "workbook": (
        None,
        b"PK\x03\x04" + bytes(60),
        ["weather.csv: this is a workbook or an archive, not text; save the table as CSV."],
    ),
    "web page": (
        None,
        "<!DOCTYPE html>\n<html><body>Please sign in</body></html>\n",
        ["weather.csv, line 1: this is a web page, not a table; download the weather itself as CSV."],
    ),
    "quotation mark never closed": (
        "2026-05-04,7.4",
        '"2026-05-04,7.4',
        [
            "weather.csv, line 5: the row has 1 cell under 7 headings; "
            "close the quotation mark that runs on over the line's end."
        ],
    ),
    "enormous field": (
        "18.5",
        "1" * 200_000,
        [
            "weather.csv, line 4: what begins here cannot be cut into cells (field larger than field limit (131072)); "
            "look for a quotation mark that is never closed."
        ],
    ),
    "long number": (
        "18.5",
        "1" * 400,
        [f'weather.csv, line 4, tmax_c: "{"1" * 60}…" degC lies outside -60 to 60 degC; {CELL_OR_UNIT}.'],
    ),
    "tmin above tmax": (
        "10.2,18.5",
        "18.5,10.2",
        [
            "weather.csv, line 4, tmin_c: tmin 18.5 degC does not go with tmax 10.2 degC; "
            "correct the cells, or the column mapping."
        ],
    ),
    "driest hour moister than the moistest": (
        None,
        "date,tmin_c,tmax_c,rh_min_pct,rh_max_pct\n2026-05-01,8,20,80,40\n",
        [
            "weather.csv, line 2, rh_min_pct: rh_min 80 percent does not go with rh_max 40 percent; "
            "correct the cells, or the column mapping."
        ],
    ),
    # FAO-56 Annex 2, Table 2.3: air of 20 °C holds 2.338 kPa at most, of 22 °C 2.644 kPa.
    "more vapour than the air holds": (
        None,
        "date,tmin_c,tmax_c,vapour_pressure_kpa\n2026-05-01,8,20,2.60\n2026-05-02,8,20,2.70\n",
        [
            "weather.csv, line 3, vapour_pressure_kpa: vapour_pressure 2.7 kPa does not go with tmax 20 degC; "
            "correct the cells, or the column mapping."
        ],
    ),
    "tmin missing inside": (
        "10.2,18.5",
        ",18.5",
        [f"weather.csv, line 4, tmin_c: 2026-05-03 has no value here; {CUT}."],
    ),
    "no temperatures": (
        None,
        "date,tmin_c,tmax_c\n2026-05-01,,21\n2026-05-02,8,\n",
        [
            "weather.csv, line 1: no day has both its lowest and its highest temperature; "
            "complete the file, or correct the column mapping."
        ],
    ),
    "negative rain": (
        "18.5,6.4",
        "18.5,-6.4",
        [f'weather.csv, line 4, rain_mm: "-6.4" mm lies outside 0 to 800 mm; {CELL_OR_UNIT}.'],
    ),
    "rain of 900 mm": (
        "18.5,6.4",
        "18.5,900",
        [f'weather.csv, line 4, rain_mm: "900" mm lies outside 0 to 800 mm; {CELL_OR_UNIT}.'],
    ),
    "negative wind": (
        "3.0,11.2",
        "-1,11.2",
        [f'weather.csv, line 4, wind_m_s: "-1" m/s lies outside 0 to 60 m/s; {CELL_OR_UNIT}.'],
    ),
    "humidity of 140 %": (
        "11.2,84",
        "11.2,140",
        [f'weather.csv, line 4, rh_mean_pct: "140" percent lies outside 0 to 100 percent; {CELL_OR_UNIT}.'],
    ),
    "more sun than the sun gives": (
        "3.0,11.2",
        "3.0,250",
        [f'weather.csv, line 4, solar_mj_m2_d: "250" MJ/m^2/day lies outside 0 to 60 MJ/m^2/day; {CELL_OR_UNIT}.'],
    ),
    "degF under a heading of degC": (
        None,
        "date,tmin_c,tmax_c\n2026-07-01,64,91\n2026-07-02,58,59\n",
        [
            f'weather.csv, line 2, {column}: "{cell}" degC lies outside -60 to 60 degC; '
            "if the column is in degF, correct its unit in the column mapping."
            for column, cell in (("tmin_c", 64), ("tmax_c", 91))
        ],
    ),
    "several at once": (
        "10.2,18.5,6.4",
        "x,18.5,-6.4",
        [
            'weather.csv, line 4, tmin_c: "x" is no number; correct the cell.',
            f'weather.csv, line 4, rain_mm: "-6.4" mm lies outside 0 to 800 mm; {CELL_OR_UNIT}.',
        ],
    ),
    "the same on every line": (
        None,
        "date,tmin_c,tmax_c\n" + "".join(f"2026-05-{day:02},x,20\n" for day in range(1, 13)),
        [
            *(f'weather.csv, line {n}, tmin_c: "x" is no number; correct the cell.' for n in (2, 3, 4, 5)),
            'weather.csv, line 6, tmin_c: "x" is no number, and 7 more lines have the same fault; correct the cell.',
        ],
    ),
}


@pytest.mark.parametrize(("old", "new", "sentences"), OWN_CASES.values(), ids=OWN_CASES.keys())
def test_bad_file_under_own_headings(old: str | None, new: str | bytes, sentences: list[str]) -> None:
    text = new if old is None else spoilt(OWN, old, str(new))
    assert refused(text) == sentences


# What of STATION and of STATION_COLUMNS is changed, and the sentences of the weather file this gives.
STATION_CASES = {
    "degF read as degC": (
        ("72.9", "72.9"),
        ('unit = "degF"\n\n[columns.rain]', 'unit = "degC"\n\n[columns.rain]'),
        [
            "weather.csv, line 2, High (F): the heading says F, the column mapping says degC; "
            "correct the one that is wrong.",
            *(
                f'weather.csv, line {line}, High (F): "{cell}" degC lies outside -60 to 60 degC; '
                "if the column is in degF, correct its unit in the column mapping."
                for line, cell in ((3, "70.5"), (4, "73.4"), (5, "65.3"), (6, "68.2"), (7, "72.9"))
            ),
        ],
    ),
    "inches read as mm": (
        ("72.9", "72.9"),
        ('unit = "in"', 'unit = "mm"'),
        [
            "weather.csv, line 2, Rain (in): the heading says in, the column mapping says mm; "
            "correct the one that is wrong."
        ],
    ),
    "watts read as MJ": (
        ("23.5", "272"),
        ('"MJ/m2"', '"MJ/m2"'),
        [
            f'weather.csv, line 6, Sun: "272" MJ/m2 is 272 MJ/m^2/day and lies outside 0 to 60 MJ/m^2/day; '
            f"{CELL_OR_UNIT}."
        ],
    ),
    "dew point in degC among degF": (
        ("6.7,11.2,50", "6.7,11.2,80"),
        ('"MJ/m2"', '"MJ/m2"'),
        [
            "weather.csv, line 5, Dew: dewpoint 26.67 degC does not go with tmax 18.5 degC; "
            "correct the cells, or the column mapping."
        ],
    ),
    "day before month": (
        ("05/05/2026", "05/05/2026"),
        ("%m/%d/%Y", "%d/%m/%Y"),
        [
            f"weather.csv, line {n + 2}, Day: 2026-0{n - 1}-06 to 2026-0{n}-04 are missing before 2026-0{n}-05; "
            "add what is missing, or cut the file there."
            for n in (2, 3, 4, 5)
        ],
    ),
    "date by another form than promised": (
        ("05/03/2026", "2026-05-03"),
        ('"MJ/m2"', '"MJ/m2"'),
        [
            'weather.csv, line 5, Day: "2026-05-03" is no date of the form %m/%d/%Y; '
            "correct the cell, or date_format in [time] of the column mapping."
        ],
    ),
    "headings on another line": (
        ("72.9", "72.9"),
        ("header_line = 2", "header_line = 1"),
        [
            "weather.csv, line 1: no row has as many cells as there are headings here, which are 1; "
            "set header_line in [file] of the column mapping to the line of the headings."
        ],
    ),
    "headings beyond the end": (
        ("72.9", "72.9"),
        ("header_line = 2", "header_line = 20"),
        [
            "weather.csv, line 20: there are no headings here; "
            "set header_line in [file] of the column mapping to the line of the headings."
        ],
    ),
    "column that is not there": (
        ("72.9", "72.9"),
        ('"Wind"', '"Wind speed"'),
        [
            "weather.csv, line 2, Wind speed: there is no such heading; correct the name in the column mapping; "
            'the headings are "Day", "Low (F)", "High (F)", "Rain (in)", "Wind", "Sun", "Dew".'
        ],
    ),
    "position that is not there": (
        ("72.9", "72.9"),
        ('column = "Wind"', "column = 8"),
        ["weather.csv, line 2, column 8: there are 7 columns only; correct the column mapping."],
    ),
    "another delimiter than promised": (
        ("72.9", "72.9"),
        ("header_line = 2", 'header_line = 2\ndelimiter = ";"'),
        [
            'weather.csv, line 2: the headings are parted by ",", not by ";"; '
            'set delimiter = "," in [file] of the column mapping.'
        ],
    ),
    "decimal points where commas were promised": (
        ("72.9", "72.9"),
        ("header_line = 2", 'header_line = 2\ndelimiter = ";"\ndecimal = ","'),
        [
            'weather.csv, line 2: the headings are parted by ",", not by ";"; '
            'set delimiter = "," in [file] of the column mapping.'
        ],
    ),
    "another encoding than promised": (
        ("lower meadow", "lower meadow (°F)"),
        ("header_line = 2", 'header_line = 2\nencoding = "ascii"'),
        [f'weather.csv, line 1: byte c2 is no text in the encoding "ascii"; {ENCODING}.'],
    ),
    "mark that only another column declares": (
        ("4.9,23.5", "M,23.5"),
        ('unit = "in"', 'unit = "in"\nmissing = ["M"]'),
        [
            'weather.csv, line 6, Wind: "M" is no number; '
            'if it marks a missing value, add "M" to missing in the column mapping.'
        ],
    ),
}


@pytest.mark.parametrize(("file", "columns", "sentences"), STATION_CASES.values(), ids=STATION_CASES.keys())
def test_bad_file_of_a_station(file: tuple[str, str], columns: tuple[str, str], sentences: list[str]) -> None:
    assert refused(spoilt(STATION, *file), spoilt(STATION_COLUMNS, *columns)) == sentences


@pytest.mark.parametrize("cell", ["8.1", "1.008,1", "8,1,0"])
def test_numbers_where_decimal_commas_were_promised(cell: str) -> None:
    text = f"date;tmin_c;tmax_c\n2026-05-01;{cell};20,5\n"
    first = refused(text, '[file]\ndelimiter = ";"\ndecimal = ","\n')[0]
    remedy = "correct the cell"
    if cell == "8.1":
        remedy = 'set decimal = "." in [file] of the column mapping, or correct the cell'
    assert first == f'weather.csv, line 2, tmin_c: "{cell}" is no number; {remedy}.'


def test_a_day_has_no_hour_24() -> None:
    columns = spoilt(STATION_COLUMNS, "%m/%d/%Y", "%m/%d/%Y %H:%M")
    text = "\n".join(line.replace("/2026", "/2026 24:00") for line in STATION.split("\n"))
    assert refused(text, columns)[0] == (
        'weather.csv, line 3, Day: "05/01/2026 24:00" is no date and time of the form %m/%d/%Y %H:%M; '
        "correct the cell, or date_format in [time] of the column mapping."
    )


def test_degc_read_as_degf() -> None:
    """Only the sun gives it away: five days of high summer that never pass 5 °C."""
    rows = "".join(f"2026-06-{day:02},{12 + day},{27 + day},29.0\n" for day in range(1, 6))
    columns = 'rows = "daily"\n[columns]\ntmin = { column = "low", unit = "degF" }\n'
    columns += 'tmax = { column = "high", unit = "degF" }\nsolar = { column = "sun", unit = "MJ/m2" }\n'
    # 32 degF, the warmest, is 0.0 degC.
    assert refused("date,low,high,sun\n" + rows, columns) == [
        "weather.csv, line 1, high: 5 days have 27 MJ/m^2 of sun or more, and the warmest of them has 0.0 degC; "
        "correct the unit of the temperatures or of the sun in the column mapping."
    ]


# The lines of an hourly file of three days, made bad; what of HOURLY_COLUMNS is changed; the sentences.
def hourly_lines() -> list[str]:
    return hours("2026-05-04 00:00", 72)


def replaced(line: int, new: str) -> list[str]:
    lines = hourly_lines()
    return [*lines[: line - 1], new, *lines[line:]]


SAME = ("local", "local")
HOURLY_CASES = {
    "hour 25": (
        replaced(40, "2026-05-05 25:00,10,4,0"),
        SAME,
        [
            'weather.csv, line 40, when: "2026-05-05 25:00" is no date and time of the form YYYY-MM-DD HH:MM; '
            'set date_format in [time] of the column mapping, such as "%m/%d/%Y %H:%M".'
        ],
    ),
    "half past 24": (
        replaced(40, "2026-05-05 24:30,10,4,0"),
        SAME,
        [
            'weather.csv, line 40, when: "2026-05-05 24:30" is no date and time of the form YYYY-MM-DD HH:MM; '
            'set date_format in [time] of the column mapping, such as "%m/%d/%Y %H:%M".'
        ],
    ),
    "offset in the stamp": (
        replaced(40, "2026-05-05 14:00Z,10,4,0"),
        SAME,
        [
            'weather.csv, line 40, when: "2026-05-05 14:00Z" is no date and time of the form YYYY-MM-DD HH:MM; '
            'set date_format in [time] of the column mapping, such as "%m/%d/%Y %H:%M".'
        ],
    ),
    "half hours": (
        replaced(40, "2026-05-05 14:30,10,4,0"),
        SAME,
        ['weather.csv, line 40, when: "2026-05-05 14:30" is not on the full hour; give one row for each hour.'],
    ),
    "hour doubled": (
        replaced(40, "2026-05-05 13:00,10,4,0"),
        SAME,
        ['weather.csv, line 40, when: "2026-05-05 13:00" stands on line 39 already; take one of the two rows out.'],
    ),
    "24:00 and 00:00 of one midnight": (
        replaced(27, "2026-05-04 24:00,10,4,0"),
        SAME,
        ['weather.csv, line 27, when: "2026-05-04 24:00" stands on line 26 already; take one of the two rows out.'],
    ),
    "hour missing": (
        [line for line in hourly_lines() if "05-05 14:00" not in line],
        SAME,
        [f"weather.csv, line 39, air: no temperature is known for the hour of 2026-05-05 14:00; {CUT}."],
    ),
    "hours missing": (
        [line for line in hourly_lines() if not "2026-05-05 14" <= line < "2026-05-05 18"],
        SAME,
        [
            "weather.csv, line 39, air: no temperature is known for the 4 hours of 2026-05-05 14:00 to "
            f"2026-05-05 17:00; {CUT}."
        ],
    ),
    "hour without temperature": (
        replaced(40, "2026-05-05 14:00,,4,0"),
        SAME,
        [f"weather.csv, line 40, air: no temperature is known for the hour of 2026-05-05 14:00; {CUT}."],
    ),
    "hour that the clock skips": (
        hours("2026-03-07 00:00", 72),
        SAME,
        [
            'weather.csv, line 28, when: "2026-03-08 02:00" does not exist, as the clock of America/Denver skips it; '
            'if the station keeps standard time all year, set clock = "-07:00" in [time].'
        ],
    ),
    "hour that the clock doubles, once": (
        hours("2026-10-31 00:00", 72),
        SAME,
        [f"weather.csv, line 27, air: no temperature is known for the hour of 2026-11-01 01:00; {CUT}."],
    ),
    "hour that the clock doubles, three times": (
        [*hours("2026-10-31 00:00", 72)[:27], *["2026-11-01 01:00,10,4,0"] * 2, *hours("2026-10-31 00:00", 72)[27:]],
        SAME,
        ['weather.csv, line 29, when: "2026-11-01 01:00" stands on line 28 already; take one of the two rows out.'],
    ),
    "no whole day": (
        hourly_lines()[:20],
        SAME,
        ["weather.csv: the hourly weather holds no whole day of local time; give at least one day with all its hours."],
    ),
    "no temperature at all": (
        [line.replace(",10.0,", ",,") for line in hourly_lines()],
        SAME,
        ["weather.csv: the hourly weather holds no whole day of local time; give at least one day with all its hours."],
    ),
    "dew point above temperature": (
        replaced(40, "2026-05-05 14:00,10,12.5,0"),
        SAME,
        [
            "weather.csv, line 40, dew: dewpoint 12.5 degC does not go with temperature 10 degC; "
            "correct the cells, or the column mapping."
        ],
    ),
    "rain of a month in an hour": (
        replaced(40, "2026-05-05 14:00,10,4,400"),
        SAME,
        [f'weather.csv, line 40, rain: "400" mm lies outside 0 to 305 mm; {CELL_OR_UNIT}.'],
    ),
    "several years as they are": (
        [*hours("2019-05-04 00:00", 24), *hours("2021-05-05 00:00", 24)[1:], *hours("2019-05-06 00:00", 24)[1:]],
        SAME,
        [
            "weather.csv, line 25, air: no temperature is known for the 24 hours of 2019-05-05 00:00 to "
            f"2019-05-05 23:00; {CUT}.",
            "weather.csv, line 73, air: no temperature is known for the 17496 hours of 2019-05-07 00:00 to "
            f"2021-05-04 23:00; {CUT}.",
        ],
    ),
    "only 29 February in a year without": (
        hours("2024-02-29 00:00", 2),
        ('clock = "local"', 'clock = "local"\nyear = 2026'),
        [
            f'weather.csv, line {line}, when: "2024-02-29 0{line - 2}:00" is no day of 2026; '
            "name a leap year, or give other days."
            for line in (2, 3)
        ],
    ),
}


@pytest.mark.parametrize(("lines", "columns", "sentences"), HOURLY_CASES.values(), ids=HOURLY_CASES.keys())
def test_bad_hours(lines: list[str], columns: tuple[str, str], sentences: list[str]) -> None:
    assert refused("\n".join(lines), spoilt(HOURLY_COLUMNS, *columns)) == sentences


def test_hours_like_100_need_four_digits() -> None:
    columns = spoilt(HOURLY_COLUMNS, 'stamps = "start"', 'time = "hour"\ntime_format = "%H%M"\nstamps = "start"')
    text = "when,hour,air,dew,rain\n2026-05-04,0000,10,4,0\n2026-05-04,100,10,4,0\n"
    assert refused(text, columns) == [
        'weather.csv, line 3, hour: "100" is no time of the form %H%M; '
        "correct the cell, or time_format in [time] of the column mapping."
    ]


def test_the_clock_of_lord_howe_moves_by_half_an_hour() -> None:
    """Wall-clock hours do not tile its days of 23.5 and 24.5 hours, so such a file must be in UTC."""
    text = "\n".join(hours("2026-04-04 00:00", 72))
    with pytest.raises(WeatherRefused) as caught:
        parsed(text, HOURLY_COLUMNS, ZoneInfo("Australia/Lord_Howe"))
    assert str(caught.value).startswith(
        'weather.csv, line 28, when: "2026-04-05 02:00" is no whole number of hours after the first; '
        "give one row for each hour."
    )


def test_files_that_are_not_there(tmp_path: Path) -> None:
    absent = tmp_path / "absent"
    for path, wrong in ((absent, "the file cannot be read"), (tmp_path, "it is a directory")):
        with pytest.raises(WeatherRefused) as caught:
            read_weather_csv(path, default_columns(), DENVER, TODAY)
        assert str(caught.value) == f"{path}: {wrong}; name a weather file that is there."


@settings(max_examples=300, deadline=None)
@given(
    st.one_of(st.binary(max_size=400), st.text(max_size=400).map(lambda text: text.encode("utf-8", "replace"))),
    st.sampled_from([None, STATION_COLUMNS, HOURLY_COLUMNS]),
)
def test_garbage_is_refused(raw: bytes, columns: str | None) -> None:
    with pytest.raises(WeatherRefused):
        parsed(raw, columns)


CELL = st.one_of(
    st.sampled_from(["", "2026-05-01", "2026-05-01 24:00", "05/01/2026", "1e308", "-0", "9" * 30, "nan", "0x1", "١"]),
    st.text(alphabet='0123456789-:/,.; eE+"\n\t', max_size=12),
    st.text(max_size=5),
)
HEADINGS = {
    None: ["date,tmin_c,tmax_c,rain_mm", "time,temperature_c,rh_pct,rain_mm"],
    STATION_COLUMNS: ["x\nDay,Low (F),High (F),Rain (in),Wind,Sun,Dew"],
    HOURLY_COLUMNS: ["when,air,dew,rain"],
}


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_garbage_under_good_headings_is_read_or_refused(data: st.DataObject) -> None:
    columns = data.draw(st.sampled_from(list(HEADINGS)))
    heading = data.draw(st.sampled_from(HEADINGS[columns]))
    width = heading.count(",") + 1
    rows = data.draw(st.lists(st.lists(CELL, min_size=width, max_size=width), max_size=4))
    text = "\n".join([heading, *(",".join(row) for row in rows)])
    # Anything but a refusal fails the test; what is read instead must hold a day.
    try:
        days = len(parsed(text.encode("utf-8", "replace"), columns).daily)
    except WeatherRefused as refusal:
        days = len(refusal.problems)
    assert days > 0
