"""The figures under the picture of a root zone, a line a day."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from etsched.charts.day_frame import MARGIN_PX
from etsched.charts.day_sheet import BLACK, NOTE_SMALL_PX, PALE, TEXT_SMALL_PX, TINT, WIDTH_PX, Sheet
from etsched.charts.drawing import element, px, width_px, words
from etsched.days import day_text
from etsched.tables.clock import days_text
from etsched.tables.figure import Figure
from etsched.tables.root_zone import RootZoneRow, RootZoneTable
from etsched.units import reader_label

_LINE_PX = 30.0
_HEADS: tuple[tuple[tuple[str, str], Callable[[RootZoneRow], Figure]], ...] = (
    (("", "dawn"), lambda row: row.books.start),
    (("", "rain"), lambda row: row.books.rain),
    (("", "watered"), lambda row: row.books.irrigation),
    (("", "used"), lambda row: row.books.et),
    (("passed", "roots"), lambda row: row.books.passed),
    (("", "dusk"), lambda row: row.books.end),
)


@dataclass(frozen=True, slots=True)
class _Column:
    """A column: its head in two lines, and a cell a day."""

    head: tuple[str, str]
    cells: list[str]

    def width(self, size_px: float) -> float:
        """Room that the widest of its texts takes."""
        return max(width_px(text, size_px) for text in (*self.head, *self.cells))


def figures(sheet: Sheet, table: RootZoneTable, top: float) -> float:
    """Write the table under the picture; give where it ends."""
    part = element(sheet.svg, "g", data_panel="figures")
    unit = reader_label("mm", sheet.system)
    top = _lines(part, _captions(table, unit), top + MARGIN_PX)
    columns = _columns(table)
    room = WIDTH_PX - 2 * MARGIN_PX
    fits = sum(column.width(TEXT_SMALL_PX) for column in columns) + 8 * len(columns) <= room
    size = TEXT_SMALL_PX if fits else NOTE_SMALL_PX
    gap = (room - sum(column.width(size) for column in columns)) / max(len(columns) - 1, 1)
    _grounds(sheet, part, table, top + 2 * _LINE_PX)
    group = element(part, "g", **({} if fits else {"class_": "note"}))
    right = MARGIN_PX - gap
    for at, column in enumerate(columns):
        right += gap + column.width(size)
        x, anchor = (MARGIN_PX, "start") if at == 0 else (right, "end")
        for line, text in enumerate((*column.head, *column.cells)):
            weight = {"font_weight": "bold"} if line < 2 else {}
            words(group, text, x, top + (line + 0.7) * _LINE_PX, text_anchor=anchor, **weight)
    return top + (2 + len(table.rows)) * _LINE_PX + MARGIN_PX


def _captions(table: RootZoneTable, unit: str) -> list[str]:
    captions = [
        f"Missing from full at dawn and at dusk, and what moved it ({unit}).",
        f"From full to empty: {table.capacity.text}.",
    ]
    visited = sorted([row.books.date for row in table.rows if row.visited] + list(table.visits_elsewhere))
    return [*captions, f"Visited: {days_text(visited)}."] if visited else captions


def _lines(part: Element, lines: list[str], top: float) -> float:
    for at, line in enumerate(lines):
        words(part, line, MARGIN_PX, top + (at + 0.7) * _LINE_PX)
    return top + len(lines) * _LINE_PX


def _columns(table: RootZoneTable) -> list[_Column]:
    """Set the columns; a range and water that passed the roots have one only where there is any."""
    rows = table.rows
    columns = [_Column(("", "day"), [_short(row) for row in rows])]
    for head, pick in _HEADS:
        cells = [pick(row) for row in rows]
        if head[0] != "passed" or any(float(cell.shown or 0.0) for cell in cells):
            columns.append(_Column(head, [cell.number for cell in cells]))
    if any(row.likely for row in rows):
        columns.append(_Column(("likely", "at dusk"), [row.likely.removesuffix(f" {row.low.unit}") for row in rows]))
    return [*columns, _Column(("allow-", "able"), [row.books.allowable.number for row in rows])]


def _short(row: RootZoneRow) -> str:
    weekday, _, number = day_text(row.books.date).split()
    return f"{weekday} {number}"


def _grounds(sheet: Sheet, part: Element, table: RootZoneTable, top: float) -> None:
    """Tint the lines that lie ahead, as the panels are tinted, and rule between the days."""
    for at, row in enumerate(table.rows):
        y = top + at * _LINE_PX
        if row.weather.forecast:
            element(part, "rect", x=0.0, y=y, width=WIDTH_PX, height=_LINE_PX, fill=TINT)
    for at, row in enumerate(table.rows):
        y = top + at * _LINE_PX
        begins = row.books.date == sheet.ahead_from and at > 0
        stroke = {"stroke": BLACK, "stroke_width": 1.6, "stroke_dasharray": "7 4"} if begins else {"stroke": PALE}
        element(part, "path", d=f"M0 {px(y)}H{px(WIDTH_PX)}", **stroke)
