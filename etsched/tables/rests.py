"""Nights on which a station does not water: the reason of each, and what holds stations for nights in a row."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby

from etsched.days import day_text
from etsched.model.plan import Rest, RestKind, WeekPlan
from etsched.tables.assumptions import terminals_text
from etsched.tables.figure import figure, plain
from etsched.units import UnitSystem

# What keeps a valve shut whether or not the turf asks for water; the rest is the ordinary course of a week.
_OF_DATES = frozenset({RestKind.BAN, RestKind.WIND, RestKind.FREEZE, RestKind.RESTRICTION})
_HOLDS = _OF_DATES | {RestKind.BLOCKED, RestKind.FULL, RestKind.RAIN}


@dataclass(frozen=True, slots=True)
class HoldRow:
    """Stations that the same thing keeps shut over the same nights."""

    kind: str
    stations: str
    first: date
    last: date
    nights: str  # "Mon Jul 13–Wed Jul 15", by the day on which they begin
    ends: str
    reason: str


def rest_text(rest: Rest, system: UnitSystem) -> str:
    """Say in one sentence why a station does not water, with what it lacks and when it waters again."""
    dry = figure(rest.peak_mm, "mm", system)
    may = figure(rest.allowable_mm, "mm", system)
    measured = (
        f" (it would lack {dry.text} by then and may lack {may.text})"
        if rest.kind in (RestKind.ENOUGH, RestKind.RAIN)
        else ""
    )
    return f"{plain(rest.reason)}{measured}; {_again(rest)}"


def find_rest(plan: WeekPlan, terminal: int, serves: date) -> Rest | None:
    """Give the rest of a station on the night that serves a day; None where it waters."""
    return next((rest for rest in plan.rests if rest.terminal == terminal and rest.serves == serves), None)


def hold_table(plan: WeekPlan) -> tuple[HoldRow, ...]:
    """Write what holds stations this week: one row for those that share reason and nights, the widest first."""
    spans: dict[tuple[RestKind, str, date, date, date | None], list[int]] = {}
    for terminal in sorted({rest.terminal for rest in plan.rests}):
        own = [rest for rest in plan.rests if rest.terminal == terminal]
        for kind, run in groupby(own, key=lambda rest: rest.kind):
            nights = list(run)
            if kind in _HOLDS:
                key = (kind, nights[0].reason, nights[0].opens_on, nights[-1].opens_on, nights[-1].until)
                spans.setdefault(key, []).append(terminal)
    rows = [
        HoldRow(
            kind=kind.value,
            stations=terminals_text(tuple(terminals)),
            first=first,
            last=last,
            nights=day_text(first) if first == last else f"{day_text(first)}–{day_text(last)}",
            ends=_end(kind, last, until),
            reason=plain(reason),
        )
        for (kind, reason, first, last, until), terminals in spans.items()
    ]
    return tuple(sorted(rows, key=lambda row: (row.first, -len(row.stations), row.stations)))


def _again(rest: Rest) -> str:
    if rest.kind is RestKind.BLOCKED:
        return "it gets no minutes until it is repaired"
    if rest.until is None:
        return "it does not water again this week"
    return f"it waters next for {day_text(rest.until)}"


def _end(kind: RestKind, last: date, until: date | None) -> str:
    """Say when a hold is over: a fault with its repair, rules and weather after their last night, rain by the books."""
    if kind is RestKind.BLOCKED:
        return "when it is repaired"
    if kind in _OF_DATES:
        return day_text(last + timedelta(days=1))
    return "not this week" if until is None else f"waters for {day_text(until)}"
