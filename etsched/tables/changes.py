"""The week's minutes beside those of an earlier week, station by station."""

from __future__ import annotations

from dataclasses import dataclass

from etsched.model.plan import WeekPlan
from etsched.tables.totals import totals
from etsched.tables.week import WeekTable, week_table
from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class ChangesRow:
    """One station; minutes are None in a week that does not know it."""

    terminal: int
    area: str
    before_min: int | None
    now_min: int | None
    words: str  # what became of it otherwise: blocked since, runs again; nothing where only minutes changed

    @property
    def change(self) -> str:
        """The difference with its sign: `+12`, `−8`, `0`."""
        if self.before_min is None or self.now_min is None:
            return "—"
        return signed_count(self.now_min - self.before_min)


@dataclass(frozen=True, slots=True)
class ChangesTable:
    """Both weeks by their dates; the figures of the whole property, the earlier week's first."""

    before: str
    now: str
    rows: tuple[ChangesRow, ...]  # by terminal
    whole: tuple[tuple[str, str, str], ...]


def changes_table(before: WeekPlan, now: WeekPlan, system: UnitSystem | None = None) -> ChangesTable:
    """Write what differs between two plans of a property."""
    earlier, later = week_table(before, system), week_table(now, system)
    terminals = sorted({row.terminal for table in (earlier, later) for row in table.rows})
    then, since = totals(before, system), totals(now, system)
    return ChangesTable(
        before=earlier.week,
        now=later.week,
        rows=tuple(_row(terminal, earlier, later) for terminal in terminals),
        whole=(
            ("Reference ET", then.eto.text, since.eto.text),
            ("Rain", then.rain.text, since.rain.text),
            ("Watering minutes", f"{then.minutes:,}", f"{since.minutes:,}"),
            ("Water", then.volume.text, since.volume.text),
        ),
    )


def signed_count(number: int) -> str:
    """Write a whole number with its sign, a true minus: `+12`, `−8`, `0`."""
    return f"{'−' if number < 0 else '+' if number else ''}{abs(number):,}"


def _row(terminal: int, earlier: WeekTable, later: WeekTable) -> ChangesRow:
    was, is_now = (
        next((row for row in table.rows if row.terminal == terminal), None) for table in (earlier, later)
    )
    known = is_now or was
    words = ""
    if was is None or is_now is None:
        words = "new" if was is None else "not in this week's plan"
    elif was.blocked != is_now.blocked:
        words = f"blocked: {is_now.blocked}" if is_now.blocked else "not blocked any more"
    return ChangesRow(
        terminal,
        "" if known is None else known.area,
        None if was is None else was.minutes,
        None if is_now is None else is_now.minutes,
        words,
    )
