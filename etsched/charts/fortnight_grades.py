"""Under the panels: how far each day can be trusted, which day it is, and what the looks mean."""

from __future__ import annotations

from dataclasses import dataclass
from xml.etree.ElementTree import Element

from etsched.charts.drawing import Marks, element, moved, width_px, words
from etsched.charts.fortnight_sheet import (
    BLACK,
    LEFT_PX,
    RIGHT_PX,
    TEXT_PX,
    TEXT_SMALL_PX,
    WIDTH_PX,
    Sheet,
    boundary,
    look,
    panel,
)
from etsched.days import day_text
from etsched.tables.weather import Kind, kind_of

_LINE_PX = 34.0
_STRIP_PX = 62.0
_DAY_NAMES_PX = 84.0


@dataclass(frozen=True, slots=True)
class GradeMark:
    """A grade by shape, letter and darkness; the shape lies about its own middle, 20 px across."""

    letter: str
    meaning: str
    shape: str
    fill: str

    @property
    def drawn(self) -> Marks:
        """The attributes of its path."""
        return {"d": self.shape, "fill": self.fill, "stroke": BLACK, "stroke_width": 1.5, "stroke_linejoin": "round"}


GRADE_MARKS = {
    "sound": GradeMark("S", "sound", "M-8 0a8 8 0 1 0 16 0a8 8 0 1 0-16 0Z", "#fff"),
    "filled": GradeMark("F", "filled", "M-8-8H8V8H-8Z", "#c4c4c4"),
    "weak": GradeMark("W", "weak", "M0-9L10 8H-10Z", "#707070"),
    "unfit": GradeMark("U", "unfit", "M-9-6L-6-9L0-3L6-9L9-6L3 0L9 6L6 9L0 3L-6 9L-9 6L-3 0Z", "#000"),
    "": GradeMark("–", "not checked", "M-4 0L0-4L4 0L0 4Z", "#fff"),
}
_KIND_MEANINGS: dict[Kind, str] = {
    "observed": "observed",
    "forecast": "forecast",
    "standing in": "no usable weather: recent mean ET stands in",
}


def grades(sheet: Sheet, top: float) -> float:
    """Draw the strip of grades; give where it ends."""
    bottom = top + _STRIP_PX
    part = panel(sheet, "grades", "Grade of the weather", top, bottom)
    boundary(sheet, part, top, bottom)
    for day in sheet.days:
        x, mark = sheet.axis.middle(day.day), GRADE_MARKS[day.grade]
        element(part, "path", data_day=day.day.isoformat(), transform=moved(x, top + 17), **mark.drawn)
        words(part, mark.letter, x, top + 44, dy="0.35em", text_anchor="middle")
    return bottom


def day_names(sheet: Sheet, top: float) -> float:
    """Name the days in three lines, each where its days have room; give where they end."""
    part = element(sheet.svg, "g", text_anchor="middle", data_panel="days")
    slot = sheet.axis.slot_px
    short = slot < width_px("Wed", TEXT_SMALL_PX)
    last_month = ""
    for at, day in enumerate(sheet.days):
        weekday, month, number = day_text(day.day).split()
        x = sheet.axis.middle(day.day)
        if at % _every(slot, TEXT_PX) == 0:
            hidden = {} if at % _every(slot, TEXT_SMALL_PX) == 0 else {"class_": "desk"}
            words(part, weekday[:1] if short else weekday, x, top + 22, **hidden)
            words(part, number, x, top + 46, font_weight="bold", **hidden)
        if month != last_month:
            words(part, month, x, top + 70)
            last_month = month
    return top + _DAY_NAMES_PX


def _every(slot_px: float, size_px: float) -> int:
    """Say at every how many days a number of two digits has room."""
    return max(1, -(-int(width_px("30", size_px)) // int(max(slot_px, 1.0))))


def legend(sheet: Sheet, top: float) -> float:
    """Say what the looks and marks mean, of those that the sheet shows; give where that ends."""
    part = element(sheet.svg, "g", data_panel="legend")
    kinds = {kind_of(day): day for day in sheet.days}
    swatch: Marks = {"x": -9, "y": -9, "width": 18, "height": 18}
    looks = [
        (meaning, "rect", {**swatch, **look(kinds[kind], "black")})
        for kind, meaning in _KIND_MEANINGS.items()
        if kind in kinds
    ]
    shown = {day.grade for day in sheet.days}
    marks = [
        (f"{mark.letter} {mark.meaning}", "path", mark.drawn) for grade, mark in GRADE_MARKS.items() if grade in shown
    ]
    return _flow(part, looks + marks, top)


def _flow(part: Element, entries: list[tuple[str, str, Marks]], top: float) -> float:
    """Set signs and their meanings one after the other, on a new line where one is full."""
    x, y = LEFT_PX, top + _LINE_PX / 2
    for text, tag, drawn in entries:
        room = 30 + width_px(text, TEXT_SMALL_PX)
        if x > LEFT_PX and x + room > WIDTH_PX - RIGHT_PX:
            x, y = LEFT_PX, y + _LINE_PX
        element(part, tag, transform=moved(x + 10, y), **drawn)
        words(part, text, x + 28, y, dy="0.35em")
        x += room + 16
    return y + _LINE_PX / 2
