"""Bad column mappings, each with the exact line, key and sentence a person gets."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.documents.columns import parse_columns, read_columns
from etsched.errors import ColumnsRefused
from tests.bad_input.weather_files import HOURLY_COLUMNS, STATION_COLUMNS, spoilt

# What of STATION_COLUMNS is changed, into what, and the one problem of the mapping this gives.
MAPPING_CASES = {
    "unknown table": (
        "[file]",
        "[files]",
        'line 3, files: there is no such key here; perhaps you meant "file"',
    ),
    "unknown key": (
        "header_line",
        "heading_line",
        'line 4, file.heading_line: there is no such key here; perhaps you meant "header_line"',
    ),
    "unknown key of a column": (
        'height = "10 m"',
        'height = "10 m"\nlevel = "ground"',
        "line 26, columns.wind.level: there is no such key here; "
        'the keys here are "column", "unit", "missing", "height" or "day_ends_at"',
    ),
    "unknown quantity": (
        "[columns.rain]",
        "[columns.snow]",
        "line 18, columns.snow: daily rows have no such quantity; known are "
        '"tmin", "tmax", "rh_min", "rh_max", "rh_mean", "dewpoint", "vapour_pressure", "wind", "solar", '
        '"sunshine" or "rain"',
    ),
    "misspelt quantity": (
        "[columns.dewpoint]",
        "[columns.dew_point]",
        'line 31, columns.dew_point: daily rows have no such quantity; perhaps you meant "dewpoint"',
    ),
    "rows of another kind": (
        'rows = "daily"',
        'rows = "weekly"',
        'line 1, rows: "weekly" is no kind of row; write "daily" or "hourly"',
    ),
    "no rows": ('rows = "daily"\n', "\n", 'rows: it is missing; write rows = "daily" or rows = "hourly"'),
    "no highest temperature": (
        '[columns.tmax]\ncolumn = "High (F)"\nunit = "degF"\n',
        "\n\n\n",
        'line 10, columns: daily rows need "tmax"; add the table [columns.tmax]',
    ),
    "no unit": (
        'unit = "mph"\n',
        "\n",
        'line 22, columns.wind.unit: it is missing; add unit = "…"',
    ),
    "unit that is none": (
        'unit = "mph"',
        'unit = "knotts"',
        'line 24, columns.wind.unit: "knotts" is no unit this program knows; '
        "write the unit that the file gives wind in",
    ),
    "unit of another thing": (
        'unit = "mph"',
        'unit = "mm"',
        'line 24, columns.wind.unit: "mm" does not measure the same thing as "m/s"; '
        "write the unit that the file gives wind in",
    ),
    "height of nothing": (
        '"10 m"',
        '"0 m"',
        'line 25, columns.wind.height: "0 m" lies outside 0.5 to 200 m; '
        "write the height of the anemometer above the ground",
    ),
    "height without a unit": (
        '"10 m"',
        '"10"',
        'line 25, columns.wind.height: "10" has no unit; write one such as "10 m" or "33 ft"',
    ),
    "height as a number": (
        '"10 m"',
        "10",
        "line 25, columns.wind.height: 10 does not fit; write a valid string",
    ),
    "no height": (
        'height = "10 m"\n',
        "\n",
        'line 22, columns.wind.height: it is missing; add the height of the anemometer, such as height = "10 m"',
    ),
    "height of rain": (
        'unit = "in"',
        'unit = "in"\nheight = "1 m"',
        "line 21, columns.rain.height: only wind has a height; take it out",
    ),
    "day that ends at 25": (
        'unit = "in"',
        'unit = "in"\nday_ends_at = 25',
        "line 21, columns.rain.day_ends_at: 25 is out of range; write a whole number from 0 to 24",
    ),
    "day that ends in words": (
        'unit = "in"',
        'unit = "in"\nday_ends_at = "morning"',
        'line 21, columns.rain.day_ends_at: "morning" is not a whole number; '
        "write it without quotes and without a point",
    ),
    "two quantities from one column": (
        '"Low (F)"',
        '"High (F)"',
        'line 15, columns.tmax.column: tmin is read from "High (F)" already; name a column of its own',
    ),
    "column of no name": (
        'column = "Wind"',
        "column = 0",
        "line 23, columns.wind.column: 0 names no column; write its heading, or its position counted from 1",
    ),
    "format without a year": (
        '"%m/%d/%Y"',
        '"%m/%d"',
        'line 8, time.date_format: "%m/%d" holds no whole date; write one such as "%m/%d/%Y"',
    ),
    "format of no letters": (
        '"%m/%d/%Y"',
        '"MM/DD/YYYY"',
        'line 8, time.date_format: "MM/DD/YYYY" holds no whole date; write one such as "%m/%d/%Y"',
    ),
    "format with a letter that is none": (
        '"%m/%d/%Y"',
        '"%m/%d/%Y %Q"',
        "line 8, time.date_format: %Q has no place here; "
        "use strptime's letters: %B, %H, %I, %M, %S, %Y, %b, %d, %j, %m, %p, %y",
    ),
    "clock of days": (
        'date = "Day"',
        'date = "Day"\nclock = "utc"',
        "line 8, time.clock: daily rows have no hour; take it out",
    ),
    "year out of range": (
        'date = "Day"',
        'date = "Day"\nyear = 26',
        "line 8, time.year: 26 is out of range; write a whole number from 1900 to 2100",
    ),
    "delimiter of two characters": (
        "header_line = 2",
        'delimiter = ", "',
        'line 4, file.delimiter: ", " cannot stand between two cells; write one character such as ";"',
    ),
    "comma for both": (
        "header_line = 2",
        'decimal = ","',
        "line 4, file.decimal: the decimal mark stands between two cells as well; "
        'change one of the two, such as delimiter = ";"',
    ),
    "encoding that is none": (
        "header_line = 2",
        'encoding = "utf8000"',
        'line 4, file.encoding: there is no encoding "utf8000"; write one such as "utf-8" or "cp1252"',
    ),
    "encoding of no text": (
        "header_line = 2",
        'encoding = "base64"',
        'line 4, file.encoding: there is no encoding "base64"; write one such as "utf-8" or "cp1252"',
    ),
    "missing mark as a number": (
        "header_line = 2",
        "missing = [-999]",
        "line 4, file.missing.0: -999 does not fit; write a valid string",
    ),
    "no TOML": (
        'rows = "daily"',
        "rows: daily",
        "line 1: this is not TOML: Expected '=' after a key in a key/value pair; write key = \"value\" under [tables]",
    ),
}


@pytest.mark.parametrize(("old", "new", "sentence"), MAPPING_CASES.values(), ids=MAPPING_CASES.keys())
def test_bad_mapping(old: str, new: str, sentence: str) -> None:
    with pytest.raises(ColumnsRefused) as caught:
        parse_columns(spoilt(STATION_COLUMNS, old, new), "columns.toml")
    assert str(caught.value) == f"columns.toml, {sentence}."


# The same for HOURLY_COLUMNS.
HOURLY_MAPPING_CASES = {
    "no clock": (
        'clock = "local"\n',
        "\n",
        'line 3, time.clock: it is missing; write "local", "utc" or an offset kept all year, such as "-07:00"',
    ),
    "clock by an abbreviation": (
        '"local"',
        '"MST"',
        'line 6, time.clock: "MST" is no clock; write "local", "utc" or an offset kept all year, such as "-07:00"',
    ),
    "no end of the hour": (
        'stamps = "start"\n',
        "\n",
        'line 3, time.stamps: it is missing; write "start" or "end", whichever of its hour a row bears',
    ),
    "stamps in the middle": (
        '"start"',
        '"middle"',
        'line 5, time.stamps: "middle" is no end of an hour; write "start" or "end"',
    ),
    "format without an hour": (
        'date = "when"',
        'date = "when"\ndate_format = "%Y-%m-%d"',
        'line 5, time.date_format: "%Y-%m-%d" holds no hour; add %H, or name the column of the time',
    ),
    "time format without a column": (
        'date = "when"',
        'date = "when"\ntime_format = "%H%M"',
        "line 5, time.time_format: no column of its own holds the time; put the hour into date_format",
    ),
    "end of the day of an hour": (
        'rain = { column = "rain", unit = "mm" }',
        'rain = { column = "rain", unit = "mm", day_ends_at = 9 }',
        "line 11, columns.rain.day_ends_at: an hour is no day; take it out",
    ),
    "highest temperature of an hour": (
        "temperature = {",
        "tmax = {",
        'line 8, columns: hourly rows need "temperature"; add the table [columns.temperature]',
    ),
}


@pytest.mark.parametrize(("old", "new", "sentence"), HOURLY_MAPPING_CASES.values(), ids=HOURLY_MAPPING_CASES.keys())
def test_bad_hourly_mapping(old: str, new: str, sentence: str) -> None:
    with pytest.raises(ColumnsRefused) as caught:
        parse_columns(spoilt(HOURLY_COLUMNS, old, new), "columns.toml")
    assert str(caught.value).split("\n")[0] == f"columns.toml, {sentence}."


def test_mapping_that_is_not_there(tmp_path: Path) -> None:
    for path in (tmp_path / "absent.toml", tmp_path):
        with pytest.raises(ColumnsRefused) as caught:
            read_columns(path)
        assert str(caught.value) == (
            f"{path}: the file cannot be read; name a column mapping that is there and is text in UTF-8."
        )


def test_mapping_in_another_encoding(tmp_path: Path) -> None:
    path = tmp_path / "columns.toml"
    path.write_bytes('[file]\nmissing = ["\u00b0"]\n'.encode("cp1252"))
    with pytest.raises(ColumnsRefused) as caught:
        read_columns(path)
    assert str(caught.value) == (
        f"{path}: this is no UTF-8 text; name a column mapping that is there and is text in UTF-8."
    )


OWN_HEADINGS_CASES = {
    'rows = "daily"\n': "line 1, rows: no column is named for these rows; add tables such as [columns.tmin]",
    '[time]\ndate = "Day"\n': (
        "line 2, time.date: it means nothing without [columns]; describe the columns, or take it out"
    ),
    '[time]\nclock = "MDT"\n': (
        'line 2, time.clock: "MDT" is no clock; write "local", "utc" or an offset kept all year, such as "-07:00"'
    ),
    "[file]\nheader_line = 1e3\n": (
        "line 2, file.header_line: 1000.0 is not a whole number; write it without quotes and without a point"
    ),
}


@pytest.mark.parametrize(("text", "sentence"), OWN_HEADINGS_CASES.items())
def test_bad_mapping_without_columns(text: str, sentence: str) -> None:
    with pytest.raises(ColumnsRefused) as caught:
        parse_columns(text, "columns.toml")
    assert str(caught.value) == f"columns.toml, {sentence}."


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_spoilt_mappings_are_read_or_refused(data: st.DataObject) -> None:
    columns = data.draw(st.sampled_from([STATION_COLUMNS, HOURLY_COLUMNS]))
    at = data.draw(st.integers(0, len(columns)))
    length = data.draw(st.integers(0, 12))
    text = columns[:at] + data.draw(st.text(max_size=6)) + columns[at + length :]
    found = 1
    try:
        parse_columns(text, "columns.toml")
    except ColumnsRefused as refusal:
        found = len(refusal.problems)
    assert found > 0
