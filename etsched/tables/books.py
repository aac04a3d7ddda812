"""The water books, station by station and day by day: every millimetre that came and went."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from etsched.days import day_text
from etsched.model.plan import StationDay, WeekPlan
from etsched.tables.figure import Figure, figure, reader_system
from etsched.units import UnitSystem

_ROUNDING_MM = 1e-9  # two sums of the same depths may differ by this much without meaning anything


@dataclass(frozen=True, slots=True)
class BooksRow:
    """One station's day: depletion of the root zone in the morning and evening, and what moved it."""

    terminal: int
    date: date
    day: str
    start: Figure
    irrigation: Figure  # credited to the drier part
    rain: Figure  # effective
    et: Figure
    passed: Figure  # below the roots
    end: Figure
    allowable: Figure

    @property
    def thirsty(self) -> bool:
        """Whether the day ended drier than the turf stands without suffering."""
        return (self.end.value or 0.0) > (self.allowable.value or 0.0) + _ROUNDING_MM


def books_table(plan: WeekPlan, system: UnitSystem | None = None) -> tuple[BooksRow, ...]:
    """Write the books, sorted by terminal and day."""
    return books_rows(plan.books, reader_system(plan, system))


def books_rows(books: Iterable[StationDay], system: UnitSystem) -> tuple[BooksRow, ...]:
    """Write any lines of books, sorted by terminal and day."""
    return tuple(_row(line, system) for line in sorted(books, key=lambda line: (line.terminal, line.day)))


def _row(line: StationDay, system: UnitSystem) -> BooksRow:
    def depth(value_mm: float) -> Figure:
        return figure(value_mm, "mm", system)

    return BooksRow(
        terminal=line.terminal,
        date=line.day,
        day=day_text(line.day),
        start=depth(line.start_mm),
        irrigation=depth(line.irrigation_mm),
        rain=depth(line.rain_mm),
        et=depth(line.et_mm),
        passed=depth(line.passed_mm),
        end=depth(line.end_mm),
        allowable=depth(line.allowable_mm),
    )
