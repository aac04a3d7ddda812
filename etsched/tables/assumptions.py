"""What nobody measured: each figure, how it is known, and what measuring it would do to the minutes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from etsched.model.plan import Assumption, WeekPlan
from etsched.model.site import Basis
from etsched.tables.figure import Figure, figure, plain, reader_system, span
from etsched.units import UnitSystem

_GUESSED = frozenset({Basis.TYPICAL.value, Basis.STATED.value})


@dataclass(frozen=True, slots=True)
class AssumptionRow:
    """One figure, for one station or (`terminals` empty) for the whole property; or one shared by several."""

    terminals: tuple[int, ...]
    field: str
    value: Figure
    basis: str
    source: str
    bounds: str  # plausible: "0.30–0.60 in/h"
    minutes_now: int | None
    minutes_low: int | None
    minutes_high: int | None
    measure: str  # what would turn the guess into knowledge

    @property
    def guessed(self) -> bool:
        """Whether nobody measured it in any way."""
        return self.basis in _GUESSED

    @property
    def stations(self) -> str:
        """Whom it concerns: `all`, `1, 4–7`."""
        return terminals_text(self.terminals) if self.terminals else "all"

    @property
    def change(self) -> str:
        """The week's minutes now, then with the figure at its low and at its high bound."""
        if self.minutes_now is None:
            return ""
        if self.minutes_low is None or self.minutes_high is None:
            return f"{self.minutes_now} min"
        return f"{self.minutes_now} → {self.minutes_low} / {self.minutes_high} min"

    @property
    def swing(self) -> int:
        """How many minutes lie between the least and the most of the three."""
        known = [m for m in (self.minutes_now, self.minutes_low, self.minutes_high) if m is not None]
        return max(known) - min(known) if known else 0


def assumption_table(plan: WeekPlan, system: UnitSystem | None = None) -> tuple[AssumptionRow, ...]:
    """Write every assumption: those of the whole property first, then by terminal, the weightiest first."""
    read = reader_system(plan, system)
    rows = (_row(assumption, read) for assumption in plan.assumptions)
    return tuple(sorted(rows, key=lambda row: (row.terminals, -row.swing, row.field)))


def _row(assumption: Assumption, system: UnitSystem) -> AssumptionRow:
    low = figure(assumption.low, assumption.suffix, system)
    high = figure(assumption.high, assumption.suffix, system)
    return AssumptionRow(
        terminals=() if assumption.terminal is None else (assumption.terminal,),
        field=plain(assumption.field.replace("precip_", "precipitation_").replace("_", " ")),
        value=figure(assumption.value, assumption.suffix, system),
        basis=assumption.basis.value,
        source=plain(assumption.source),
        bounds=span(low, high),
        minutes_now=assumption.minutes_now,
        minutes_low=assumption.minutes_low,
        minutes_high=assumption.minutes_high,
        measure=plain(assumption.measure),
    )


def assumption_groups(plan: WeekPlan, system: UnitSystem | None = None) -> tuple[AssumptionRow, ...]:
    """Write each figure shared by several stations once, with their minutes added up; the weightiest first.

    The sums say what happens if the figure is off at all of these stations in the same direction.
    """
    groups: dict[tuple[object, ...], list[AssumptionRow]] = {}
    for row in assumption_table(plan, system):
        key = (bool(row.terminals), row.field, row.value.text, row.basis, row.source, row.bounds, row.measure)
        groups.setdefault(key, []).append(row)
    merged = (_merged(rows) for rows in groups.values())
    return tuple(sorted(merged, key=lambda row: (-row.swing, row.terminals, row.field)))


def first_to_measure(groups: Iterable[AssumptionRow]) -> str:
    """Name the measurement that would change most, on which stations, and how it is taken; nothing where none would.

    `groups` are in order of weight. What cannot be measured on site says so by how its words begin.
    """
    row = next((each for each in groups if each.swing and not each.measure.startswith("nothing")), None)
    if row is None or row.minutes_now is None:
        return ""
    known = [row.minutes_now, *(each for each in (row.minutes_low, row.minutes_high) if each is not None)]
    where = f"on station{'s' if len(row.terminals) > 1 else ''} {row.stations}" if row.terminals else "on any station"
    return (
        f"If you measure one thing, measure the {row.field} {where}, by {row.measure}: the {row.minutes_now:,} min "
        f"wanted there this week could become anything from {min(known):,} to {max(known):,}."
    )


def _merged(rows: list[AssumptionRow]) -> AssumptionRow:
    first = rows[0]
    return AssumptionRow(
        terminals=tuple(sorted({terminal for row in rows for terminal in row.terminals})),
        field=first.field,
        value=first.value,
        basis=first.basis,
        source=first.source,
        bounds=first.bounds,
        minutes_now=_total(row.minutes_now for row in rows),
        minutes_low=_total(row.minutes_low for row in rows),
        minutes_high=_total(row.minutes_high for row in rows),
        measure=first.measure,
    )


def _total(minutes: Iterable[int | None]) -> int | None:
    total = 0
    for each in minutes:
        if each is None:
            return None
        total += each
    return total


def terminals_text(terminals: tuple[int, ...]) -> str:
    """Write sorted terminal numbers, three or more neighbours as a span: `1, 4–7`."""
    spans: list[list[int]] = []
    for terminal in terminals:
        if spans and terminal - spans[-1][-1] == 1:
            spans[-1].append(terminal)
        else:
            spans.append([terminal])
    return ", ".join(
        f"{run[0]}–{run[-1]}" if len(run) > 2 else ", ".join(str(terminal) for terminal in run) for run in spans
    )
