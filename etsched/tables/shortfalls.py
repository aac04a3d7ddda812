"""Minutes a station needs and no night could hold: said aloud, never dropped."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.plan import WeekPlan
from etsched.tables.clock import night_text
from etsched.tables.figure import plain


@dataclass(frozen=True, slots=True)
class ShortfallRow:
    """What one night could not hold for one station."""

    night: str
    terminal: int
    area: str
    missing_min: int
    reason: str


def shortfall_table(plan: WeekPlan) -> tuple[ShortfallRow, ...]:
    """Write every shortfall by night and terminal."""
    areas = {station.terminal: plain(station.area) for station in plan.site.stations}
    return tuple(
        ShortfallRow(
            night=night_text(night.night),
            terminal=short.terminal,
            area=areas[short.terminal],
            missing_min=short.missing_min,
            reason=plain(short.reason),
        )
        for night in plan.nights
        for short in sorted(night.shortfalls, key=lambda short: short.terminal)
    )
