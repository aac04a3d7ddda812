"""What stands round the panels of a sheet of days: its name, where a forecast begins, day names, meanings, credits."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from etsched.charts.day_sheet import (
    GREY,
    LEFT_PX,
    NAME_PX,
    NAME_SMALL_PX,
    NOTE_PX,
    NOTE_SMALL_PX,
    RIGHT_PX,
    SMALL_SCREEN_PX,
    TEXT_PX,
    TEXT_SMALL_PX,
    WIDTH_PX,
    Sheet,
    look,
)
from etsched.charts.drawing import Marks, element, moved, width_px, words, wrapped
from etsched.days import day_text
from etsched.tables.weather import Kind, kind_of

# The sizes stand on the root too, for readers that ignore a style.
STYLE = (
    f".days text{{font-size:{TEXT_PX}px}}"
    f".days .name{{font-size:{NAME_PX}px}}"
    f".days .figures text,.days .note{{font-size:{NOTE_PX}px}}"
    f"@media (max-width:{SMALL_SCREEN_PX}px){{"
    f".days text{{font-size:{TEXT_SMALL_PX}px}}"
    f".days .name{{font-size:{NAME_SMALL_PX}px}}"
    f".days .note{{font-size:{NOTE_SMALL_PX}px}}"
    ".days .desk{display:none}}"
)
MARGIN_PX = 12.0
_NAME_LINES = 3  # of a longer title the rest is told, not drawn
_LINE_PX = 34.0
_DAY_NAMES_PX = 84.0
# A sign's words, the element that draws it about its own middle, and its attributes.
Meaning = tuple[str, str, Marks]
_KIND_MEANINGS: dict[Kind, str] = {
    "observed": "observed",
    "forecast": "forecast",
    "standing in": "no usable weather: recent mean ET stands in",
}


def headline(sheet: Sheet, title: str) -> float:
    """Set the title over everything; give where it ends."""
    lines = wrapped(title, NAME_SMALL_PX, WIDTH_PX - 2 * MARGIN_PX)
    if len(lines) > _NAME_LINES:
        lines = [*lines[: _NAME_LINES - 1], lines[_NAME_LINES - 1][:-1] + "…"]
    for at, line in enumerate(lines, 1):
        words(sheet.svg, line, MARGIN_PX, at * (NAME_SMALL_PX + 6), font_weight="bold", class_="name")
    return len(lines) * (NAME_SMALL_PX + 6) + MARGIN_PX


def forecast_flag(sheet: Sheet, top: float) -> float:
    """Write over the panels where the forecast begins, on the side that has room."""
    ahead = sheet.ahead_from
    if ahead is None:
        return top
    x = sheet.axis.begin(ahead)
    text = f"forecast from {day_text(ahead)} →"
    late = x + width_px(text, TEXT_SMALL_PX) > WIDTH_PX
    words(sheet.svg, text, x, top + 20, text_anchor="end" if late else "start", data_forecast=ahead.isoformat())
    return top + 24


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


def kinds_shown(sheet: Sheet) -> list[Meaning]:
    """Say what the looks of a sheet's days mean."""
    kinds = {kind_of(day): day for day in sheet.days}
    swatch: Marks = {"x": -9, "y": -9, "width": 18, "height": 18}
    return [
        (meaning, "rect", {**swatch, **look(kinds[kind], "black")})
        for kind, meaning in _KIND_MEANINGS.items()
        if kind in kinds
    ]


def flow(part: Element, entries: list[Meaning], top: float) -> float:
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


def credits_of(sheet: Sheet, attributions: tuple[str, ...], top: float) -> float:
    """Write the words that must stand with the weather; give where they end."""
    y = top + 4
    for attribution in attributions:
        for line in wrapped(attribution, NOTE_SMALL_PX, WIDTH_PX - 2 * MARGIN_PX):
            y += NOTE_SMALL_PX + 3
            words(sheet.svg, line, MARGIN_PX, y, class_="note", fill=GREY)
    return y + MARGIN_PX
