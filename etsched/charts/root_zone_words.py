"""What the picture of a root zone shows, in words: for those who do not see it, and for one day under a pointer."""

from __future__ import annotations

import math
from collections.abc import Iterator

from etsched.charts.fortnight_words import days_counted
from etsched.days import day_text
from etsched.model.plan import WeekPlan
from etsched.tables.clock import days_text
from etsched.tables.figure import Figure, count_of, plain
from etsched.tables.root_zone import RootZoneRow, RootZoneTable
from etsched.tables.weather import kind_of


def title(plan: WeekPlan, table: RootZoneTable) -> str:
    """Name the picture."""
    area = f", {table.area}" if table.area else ""
    return f"{plain(plan.site.name)}: water in the root zone of station {table.terminal}{area}"


def described(table: RootZoneTable) -> str:
    """Tell the days, how dry the station gets beside what is allowable, what fills it, and how sure that is."""
    parts = (days_counted([row.weather for row in table.rows]), _dryness(table), _water(table), _range(table))
    sentences = [sentence for part in (*parts, _visits(table)) for sentence in part]
    return " ".join(f"{sentence}." for sentence in sentences)


def day_in_words(row: RootZoneRow) -> str:
    """Tell all that is known of one day."""
    books = row.books
    parts = [
        f"{books.day}, {kind_of(row.weather)}",
        f"missing from full {books.start.text} at dawn, {books.end.text} at dusk"
        + (f", likely {row.likely}" if row.likely else ""),
        f"allowable {books.allowable.text}",
        f"rain that counts {books.rain.text}",
        f"irrigation that counts {books.irrigation.text}",
        f"used {books.et.text}",
        f"passed the roots {books.passed.text}",
        "visit" if row.visited else "",
    ]
    return "; ".join(part for part in parts if part)


def _dryness(table: RootZoneTable) -> Iterator[str]:
    yield f"From full to empty the root zone holds {table.capacity.text}"
    driest = max((row.books for row in table.rows), key=lambda books: books.end.value or 0.0)
    yield f"Driest at dusk of {driest.day}: {driest.end.text} missing, {driest.allowable.text} allowable"
    thirsty = [row.books.date for row in table.rows if row.books.thirsty]
    yield f"Past its allowable depletion on {days_text(thirsty)}" if thirsty else "Never past its allowable depletion"


def _water(table: RootZoneTable) -> Iterator[str]:
    rows = [row.books for row in table.rows]
    for what, depths in (
        ("Irrigation", {row.date: row.irrigation for row in rows if row.irrigation.value}),
        ("Rain that counts", {row.date: row.rain for row in rows if row.rain.value}),
    ):
        each = ", ".join(f"{day_text(day)} {depth.text}" for day, depth in depths.items())
        yield f"{what} on {count_of(len(depths), 'day', 'days')}: {each}" if each else f"No {what.lower()}"


def _range(table: RootZoneTable) -> Iterator[str]:
    ranged = [row for row in table.rows if row.likely]
    if ranged:
        widest = max(ranged, key=lambda row: _width(row.low, row.high))
        yield (
            f"A likely range by the weather of what is missing at dusk, if the plan runs, for "
            f"{count_of(len(ranged), 'day', 'days')}, widest {widest.likely} on {widest.books.day}"
        )


def _width(low: Figure, high: Figure) -> float:
    return math.fsum((high.value or 0.0, -(low.value or 0.0)))


def _visits(table: RootZoneTable) -> Iterator[str]:
    shown = [row.books.date for row in table.rows if row.visited]
    if shown:
        yield f"Visited on {days_text(shown)}"
    if table.visits_elsewhere:
        yield f"Visited on {days_text(table.visits_elsewhere)}, which the picture does not show"
