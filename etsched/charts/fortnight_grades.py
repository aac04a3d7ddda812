"""Under the panels: how far each day can be trusted, and what the looks and marks mean."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.charts.day_frame import Meaning, flow, kinds_shown
from etsched.charts.day_sheet import BLACK, Sheet, boundary, panel
from etsched.charts.drawing import Marks, element, moved, words

_STRIP_PX = 62.0


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


def legend(sheet: Sheet, top: float) -> float:
    """Say what the looks and marks mean, of those that the sheet shows; give where that ends."""
    part = element(sheet.svg, "g", data_panel="legend")
    shown = {day.grade for day in sheet.days}
    marks: list[Meaning] = [
        (f"{mark.letter} {mark.meaning}", "path", mark.drawn) for grade, mark in GRADE_MARKS.items() if grade in shown
    ]
    return flow(part, kinds_shown(sheet) + marks, top)
