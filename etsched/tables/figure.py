"""One number as a table holds it: canonical for machines, and as its reader reads it."""

from __future__ import annotations

import math
import unicodedata
from dataclasses import dataclass

from etsched.model.plan import WeekPlan
from etsched.quantities import QUANTITIES
from etsched.units import UnitSystem, reader_digits, reader_label, to_reader

NOT_KNOWN = "—"
# Things that are counted have no decimals in either system.
_COUNTED = frozenset({"count", "d", "month", "day_of_year"})
# Direction marks could make a line read other than it is stored, so they never reach a reader.
_DIRECTION_MARKS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True, slots=True)
class Figure:
    """A canonical number (None where it is not known) beside its reader's digits and unit label."""

    value: float | None
    suffix: str
    shown: str  # in the reader's unit, rounded, without thousands separators: "1234.5"
    unit: str  # the reader's label: "in/h"

    @property
    def number(self) -> str:
        """The digits with thousands separators, without a unit; a dash where nothing is known."""
        if self.value is None:
            return NOT_KNOWN
        decimals = len(self.shown.partition(".")[2])
        return f"{float(self.shown):,.{decimals}f}"

    @property
    def text(self) -> str:
        """The digits with their unit: `0.42 in/h`, `55%`."""
        return self.number if self.value is None else with_unit(self.number, self.unit)


def figure(value: float | None, suffix: str, system: UnitSystem, *, more_digits: int = 0) -> Figure:
    """Prepare a canonical number for its reader; `more_digits` shows a working finer than a table."""
    if value is None or math.isnan(value):
        return Figure(None, suffix, "", "")
    if suffix == "m" and 0 < abs(value) < 1:  # a mowing height in whole feet would read as nothing
        return figure(value * 1000.0, "mm", system, more_digits=more_digits)
    number, digits, label = _as_read(value, suffix, system)
    digits += 0 if suffix in _COUNTED else more_digits
    rounded = round(number, digits) + 0.0  # the sum turns -0.0 into 0.0
    return Figure(value, suffix, f"{rounded:.{digits}f}", label)


def _as_read(value: float, suffix: str, system: UnitSystem) -> tuple[float, int, str]:
    """Give number, digits and label; a quantity without a reader's unit keeps its canonical one."""
    try:
        return to_reader(value, suffix, system), reader_digits(suffix, system), reader_label(suffix, system)
    except KeyError:
        unit = QUANTITIES[suffix].unit
        return value, 0 if suffix in _COUNTED else 2, "" if unit == "dimensionless" else unit


def with_unit(number: str, unit: str) -> str:
    """Join digits and unit label as people write them."""
    if not unit:
        return number
    return f"{number}{unit}" if unit == "%" else f"{number} {unit}"


def span(low: Figure, high: Figure) -> str:
    """Write two bounds with one unit: `0.30–0.60 in/h`; nothing where a bound is missing."""
    if low.value is None or high.value is None:
        return ""
    if low.unit != high.unit:
        return f"{low.text}–{high.text}"
    return with_unit(f"{low.number}–{high.number}", high.unit)


def count_of(number: int, one: str, many: str) -> str:
    """Write a number of things: `1 cycle`, `3 cycles`."""
    return f"{number:,} {one if number == 1 else many}"


def plain(text: str) -> str:
    """Return a person's text as one line without control characters, which a terminal might obey."""
    if text.isprintable():  # nearly always so: what needs care is not printable to Python
        return " ".join(text.split())
    shown = (" " if _unfit(character) else character for character in text if character not in _DIRECTION_MARKS)
    return " ".join("".join(shown).split())


def _unfit(character: str) -> bool:
    return unicodedata.category(character) in {"Cc", "Cs", "Zl", "Zp"}


def reader_system(plan: WeekPlan, system: UnitSystem | None) -> UnitSystem:
    """Give the units to write in: those asked for, else those the site's readers read."""
    if system is not None:
        return system
    return "metric" if plan.site.units == "metric" else "us"
