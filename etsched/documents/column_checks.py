"""What must fit together in a column mapping beyond the shape of its keys."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from etsched.documents.column_names import KEYS, REQUIRED, in_own_unit
from etsched.documents.refusals import closest, shown, written_out
from etsched.errors import QuantityRefused
from etsched.units import parse

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.documents.column_names import Rows
    from etsched.documents.columns import Column, ColumnMapping, FileLayout, Stamps

# Where the mapping is at fault, what is wrong, what to do about it.
Fault = tuple[tuple[str | int, ...], str, str]

_CLOCK = re.compile(r"local|utc|[+-](0\d|1[0-4]):[0-5]\d")
_CLOCK_REMEDY = 'write "local", "utc" or an offset kept all year, such as "-07:00"'
# FAO-56 Eq. 47 holds above short grass, clear of the blades and no higher than a mast. Own limits.
_LOWEST_M, _HIGHEST_M = 0.5, 200.0
_DATE_PARTS, _TIME_PARTS = frozenset("YymbBdj"), frozenset("HIMSp")


def faults(mapping: ColumnMapping) -> Iterator[Fault]:
    """Give every fault of a mapping that has the right shape."""
    yield from _file(mapping.file)
    if not mapping.columns:
        yield from _own_headings(mapping)
    elif mapping.rows is None:
        yield ("rows",), "it is missing", 'write rows = "daily" or rows = "hourly"'
    else:
        yield from _time(mapping.rows, mapping.time)
        yield from _formats(mapping.rows, mapping.time)
        yield from _columns(mapping.rows, mapping.columns)


def _file(file: FileLayout) -> Iterator[Fault]:
    if len(file.delimiter) != 1 or file.delimiter in '"\r\n' or file.delimiter.isalnum():
        wrong = f"{shown(file.delimiter)} cannot stand between two cells"
        yield ("file", "delimiter"), wrong, 'write one character such as ";"'
    elif file.delimiter == file.decimal:
        wrong = "the decimal mark stands between two cells as well"
        yield ("file", "decimal"), wrong, 'change one of the two, such as delimiter = ";"'
    try:
        "0".encode(file.encoding)  # LookupError too for a codec that makes no text, such as base64
    except (LookupError, ValueError):
        wrong = f"there is no encoding {shown(file.encoding)}"
        yield ("file", "encoding"), wrong, 'write one such as "utf-8" or "cp1252"'


def _own_headings(mapping: ColumnMapping) -> Iterator[Fault]:
    if mapping.rows is not None:
        yield ("rows",), "no column is named for these rows", "add tables such as [columns.tmin]"
    for key in sorted(mapping.time.model_fields_set - {"clock"}):
        yield ("time", key), "it means nothing without [columns]", "describe the columns, or take it out"
    yield from _clock(mapping.time.clock)


def _time(rows: Rows, time: Stamps) -> Iterator[Fault]:
    if rows == "daily":
        for key in sorted(time.model_fields_set & {"time", "time_format", "stamps", "clock"}):
            yield ("time", key), "daily rows have no hour", "take it out"
        return
    if time.stamps is None:
        yield (
            ("time", "stamps"),
            "it is missing",
            'write "start" or "end", whichever of its hour a row bears',
        )
    if time.clock is None:
        yield ("time", "clock"), "it is missing", _CLOCK_REMEDY
    if time.time is None and time.time_format is not None:
        yield ("time", "time_format"), "no column of its own holds the time", "put the hour into date_format"
    yield from _clock(time.clock)


def _clock(clock: str | None) -> Iterator[Fault]:
    if clock is not None and not _CLOCK.fullmatch(clock):
        yield ("time", "clock"), f"{shown(clock)} is no clock", _CLOCK_REMEDY


def _formats(rows: Rows, time: Stamps) -> Iterator[Fault]:
    alone = rows == "hourly" and time.time is None
    if time.date_format is not None:
        parts = set(re.findall("%(.?)", time.date_format))
        whole = bool(parts & {"Y", "y"}) and ("j" in parts or ("d" in parts and bool(parts & {"m", "b", "B"})))
        path = ("time", "date_format")
        yield from _letters(path, parts, _DATE_PARTS | (_TIME_PARTS if time.time is None else frozenset()))
        if not whole:
            yield path, f"{shown(time.date_format)} holds no whole date", 'write one such as "%m/%d/%Y"'
        elif alone and not _holds_hour(parts):
            yield path, f"{shown(time.date_format)} holds no hour", "add %H, or name the column of the time"
    if time.time_format is not None:
        parts = set(re.findall("%(.?)", time.time_format))
        yield from _letters(("time", "time_format"), parts, _TIME_PARTS)
        if not _holds_hour(parts):
            yield ("time", "time_format"), f"{shown(time.time_format)} holds no hour", "add %H, or %I with %p"


def _letters(path: tuple[str, ...], parts: set[str], known: frozenset[str]) -> Iterator[Fault]:
    if odd := sorted(parts - known):
        wrong = f"%{odd[0]} has no place here"
        yield path, wrong, f"use strptime's letters: {', '.join(f'%{each}' for each in sorted(known))}"


def _holds_hour(parts: set[str]) -> bool:
    return "H" in parts or {"I", "p"} <= parts


def _columns(rows: Rows, columns: dict[str, Column]) -> Iterator[Fault]:
    for key in REQUIRED[rows]:
        if key not in columns:
            yield ("columns",), f'{rows} rows need "{key}"', f"add the table [columns.{key}]"
    readers: dict[str | int, str] = {}
    for key, column in columns.items():
        reader = readers.setdefault(column.column, key)
        if key not in KEYS[rows]:
            meant = closest(key, KEYS[rows])
            hint = f'perhaps you meant "{meant}"' if meant else f"known are {written_out(list(KEYS[rows]))}"
            yield ("columns", key), f"{rows} rows have no such quantity", hint
            continue
        if reader != key:
            wrong = f"{reader} is read from {shown(column.column)} already"
            yield ("columns", key, "column"), wrong, "name a column of its own"
        yield from _unit_and_day(rows, key, column)
        yield from _height(key, column.height)


def _unit_and_day(rows: Rows, key: str, column: Column) -> Iterator[Fault]:
    try:
        in_own_unit(np.zeros(1), column.unit, KEYS[rows][key])
    except QuantityRefused as error:
        yield ("columns", key, "unit"), str(error), f"write the unit that the file gives {key} in"
    if rows == "hourly" and "day_ends_at" in column.model_fields_set:
        yield ("columns", key, "day_ends_at"), "an hour is no day", "take it out"


def _height(key: str, height: str | None) -> Iterator[Fault]:
    path = ("columns", key, "height")
    if key != "wind":
        if height is not None:
            yield path, "only wind has a height", "take it out"
        return
    if height is None:
        yield path, "it is missing", 'add the height of the anemometer, such as height = "10 m"'
        return
    try:
        height_m = parse(height, "m")
    except QuantityRefused as error:
        yield path, str(error), 'write one such as "10 m" or "33 ft"'
        return
    if not _LOWEST_M <= height_m <= _HIGHEST_M:
        wrong = f"{shown(height)} lies outside {_LOWEST_M:g} to {_HIGHEST_M:g} m"
        yield path, wrong, "write the height of the anemometer above the ground"
