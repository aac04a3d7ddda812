"""The panels of a root zone: rain and irrigation that hang from above, and the water that is left below them."""

from __future__ import annotations

from itertools import groupby
from xml.etree.ElementTree import Element

from etsched.charts.axes import Axis, round_axis
from etsched.charts.day_frame import Meaning, flow, kinds_shown
from etsched.charts.day_sheet import (
    BLACK,
    CLAY,
    GREY,
    HEAD_PX,
    INSET_PX,
    PALE,
    Sheet,
    across,
    bar,
    boundary,
    look,
    nothing,
    numbers,
    panel,
    scale,
)
from etsched.charts.drawing import Marks, element, moved, px
from etsched.tables.figure import Figure
from etsched.tables.root_zone import RootZoneRow, RootZoneTable
from etsched.units import reader_label, to_reader

# Scales do not shrink below this, or a drop would look like a flood.
_LEAST_DEPTH_MM = 2.5
_STRIP_PX = 34.0
_PENNANT = "M-6 11V-11L9-5L-6 1"
# Two lines that must stand out from a hatch and from each other: one whole and black, one broken, both on white.
_LEVEL: Marks = {"fill": "none", "stroke": BLACK, "stroke_width": 3, "stroke_linejoin": "round"}
_ALLOWABLE: Marks = {"fill": "none", "stroke": CLAY, "stroke_width": 3, "stroke_dasharray": "11 5"}
_BAND: Marks = {"fill": PALE, "stroke": GREY, "stroke_width": 1.2}

Point = tuple[float, float]


def water_in(sheet: Sheet, table: RootZoneTable, top: float, height: float) -> float:
    """Hang rain and irrigation of each day from the tops of two panels with one scale; give where they end."""
    kinds = (
        ("rain", "Rain that counts", "water", [row.books.rain for row in table.rows]),
        ("irrigation", "Irrigation that counts", "leaf", [row.books.irrigation for row in table.rows]),
    )
    most_mm = max(_LEAST_DEPTH_MM, *(depth.value or 0.0 for *_, depths in kinds for depth in depths))
    for name, words, ink, depths in kinds:
        begin, end = top + HEAD_PX, top + HEAD_PX + height
        part = panel(sheet, name, f"{words} ({reader_label('mm', sheet.system)})", begin, end)
        axis = round_axis(0.0, to_reader(most_mm, "mm", sheet.system), begin, end - INSET_PX)
        if any(depth.value for depth in depths):
            scale(part, axis)
        else:
            nothing(part, f"no {name}", begin, end)
        boundary(sheet, part, begin, end)
        element(part, "path", d=across(begin), stroke=BLACK, stroke_width=1.6)
        _hang(sheet, part, axis, depths, ink)
        top = end
    return top


def _hang(sheet: Sheet, part: Element, axis: Axis, depths: list[Figure], ink: str) -> None:
    labels = []
    for day, depth in zip(sheet.days, depths, strict=True):
        if depth.value:
            tip = axis.y(to_reader(depth.value, "mm", sheet.system))
            bar(sheet, part, day, (axis.first_px, tip), ink)
            labels.append((day, depth.value, tip + 14))
    numbers(sheet, part, labels, "mm")


def water_left(sheet: Sheet, table: RootZoneTable, top: float, height: float) -> float:
    """Draw the water that is left under the line of what is missing; give where the panel ends."""
    begin, end = top + HEAD_PX, top + HEAD_PX + height
    unit = reader_label("mm", sheet.system)
    title = f"Missing from full ({unit}): full at 0, empty at {table.capacity.number}"
    part = panel(sheet, "root-zone", title, begin, end)
    axis = _from_full_to_empty(sheet.read(table.capacity.value, "mm") or 1.0, begin, end)
    courses = [_course(sheet, axis, table.rows, at) for at in range(len(table.rows))]
    scale(part, axis)
    for row, course in zip(table.rows, courses, strict=True):
        outline = _path([*course["high"], (course["high"][-1][0], end), (course["high"][0][0], end)])
        marks = look(row.weather, "water") | {"stroke_width": 1}
        element(part, "path", data_day=row.books.date.isoformat(), d=f"{outline}Z", **marks)
    _band(part, table.rows, courses)
    boundary(sheet, part, begin, end)
    _on_white(part, "allowable", " ".join(_allowable(sheet, axis, row) for row in table.rows), _ALLOWABLE)
    _on_white(part, "level", _path([point for course in courses for point in course["level"]]), _LEVEL)
    for y in (begin, end):
        element(part, "path", d=across(y), stroke=BLACK, stroke_width=1.6)
    return end


def _from_full_to_empty(capacity: float, first_px: float, last_px: float) -> Axis:
    """Lay an axis whose first tick is full and whose end is empty, between two ticks or on the last."""
    whole = round_axis(0.0, capacity, first_px, last_px)
    ticks = tuple(tick for tick in whole.ticks if tick <= capacity)
    return Axis(ticks, whole.decimals, first_px, first_px + (last_px - first_px) * ticks[-1] / capacity)


def _course(sheet: Sheet, axis: Axis, rows: tuple[RootZoneRow, ...], at: int) -> dict[str, list[Point]]:
    """Follow one day from dawn over the night's irrigation to dusk: as expected, and at both ends of its range.

    The night's water falls at the day's left edge. A range begins where that of the day before ends.
    """
    row, books = rows[at], rows[at].books
    before = rows[at - 1] if at and rows[at - 1].likely else None
    dawn = {
        "level": books.start,
        "low": before.low if before else books.start,
        "high": before.high if before else books.start,
    }
    dusk = {"level": books.end, "low": row.low, "high": row.high}
    left = sheet.axis.begin(books.date)
    right = left + sheet.axis.slot_px

    def height(depth: Figure, less_mm: float = 0.0) -> float:
        return axis.y(to_reader(max((depth.value or 0.0) - less_mm, 0.0), "mm", sheet.system))

    return {
        line: [
            (left, height(dawn[line])),
            (left, height(dawn[line], row.by_night.value or 0.0)),
            (right, height(dusk[line])),
        ]
        for line in dawn
    }


def _band(part: Element, rows: tuple[RootZoneRow, ...], courses: list[dict[str, list[Point]]]) -> None:
    """Draw the likely range of days in a row as one band."""
    for known, days in groupby(zip(rows, courses, strict=True), key=lambda pair: bool(pair[0].likely)):
        if known:
            following = list(days)
            high = [point for _, course in following for point in course["high"]]
            low = [point for _, course in following for point in course["low"]]
            first = following[0][0].books.date.isoformat()
            element(part, "path", data_range=first, d=f"{_path([*high, *reversed(low)])}Z", **_BAND)


def _allowable(sheet: Sheet, axis: Axis, row: RootZoneRow) -> str:
    left = sheet.axis.begin(row.books.date)
    y = axis.y(to_reader(row.books.allowable.value or 0.0, "mm", sheet.system))
    return f"M{px(left)} {px(y)}H{px(left + sheet.axis.slot_px)}"


def _path(points: list[Point]) -> str:
    return "M" + "L".join(f"{px(x)} {px(y)}" for x, y in points)


def _on_white(part: Element, name: str, d: str, marks: Marks) -> None:
    element(part, "path", d=d, fill="none", stroke="#fff", stroke_width=6, stroke_linejoin="round")
    element(part, "path", data_line=name, d=d, **marks)


def visits_marked(sheet: Sheet, table: RootZoneTable, top: float) -> float:
    """Put a pennant under each day with a visit; give where the strip ends, which is missing without visits."""
    days = [row.books.date for row in table.rows if row.visited]
    if not days:
        return top
    part = element(sheet.svg, "g", data_panel="visits")
    for day in days:
        place = moved(sheet.axis.middle(day), top + _STRIP_PX / 2)
        element(part, "path", data_day=day.isoformat(), transform=place, d=_PENNANT, fill=BLACK, stroke=BLACK)
    return top + _STRIP_PX


def legend(sheet: Sheet, table: RootZoneTable, top: float) -> float:
    """Say what lines, textures and marks mean, of those that the sheet shows; give where that ends."""
    signs: list[Meaning] = [
        ("missing from full", "path", {"d": "M-10 0H10", **_LEVEL}),
        ("allowable depletion", "path", {"d": "M-10 0H10", **_ALLOWABLE}),
    ]
    if any(row.likely for row in table.rows):
        signs.append(("likely range by the weather, if the plan runs", "path", {"d": "M-10-7H10V7H-10Z", **_BAND}))
    if any(row.visited for row in table.rows):
        signs.append(("visit", "path", {"d": _PENNANT, "fill": BLACK, "stroke": BLACK}))
    return flow(element(sheet.svg, "g", data_panel="legend"), [*signs, *kinds_shown(sheet)], top)
