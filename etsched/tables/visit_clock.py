"""What the clock delivers today and which programs make it do so: the first thing a customer is shown of a visit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.days import time_text
from etsched.tables.clock import weekdays_text
from etsched.tables.clock_delivers import ClockDeliversRow, clock_delivers_table
from etsched.tables.figure import Figure, figure, plain
from etsched.tables.visit_words import Day, texts

if TYPE_CHECKING:
    from etsched.model.visit import Program
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class ProgramRow:
    """One program as it was found."""

    name: str
    starts: tuple[str, ...]  # as readers of the site's units write times
    days: str
    minutes: str  # terminal: minutes, in the order in which they run
    adjust: Figure


@dataclass(frozen=True, slots=True)
class VisitClock:
    """The week that the clock makes, and the programs behind it; `rows` is empty where that was not reckoned."""

    first_day: Day
    sentences: tuple[str, ...]  # a station each
    rows: tuple[ClockDeliversRow, ...]
    programs: tuple[ProgramRow, ...]
    rain_switch: str
    ahead: Figure  # how far the clock is ahead of the true time
    remarks: tuple[str, ...]  # about the clock as a whole


def visit_clock(outcome: VisitOutcome, system: UnitSystem) -> VisitClock | None:
    """Write what was found in the clock; None where nobody read it."""
    found, delivers = outcome.visit.clock, outcome.clock
    if found is None and delivers is None:
        return None
    rows = () if delivers is None else clock_delivers_table(delivers, outcome.found, system)
    return VisitClock(
        first_day=Day(None if delivers is None else delivers.first_day),
        sentences=tuple(row.sentence for row in rows),
        rows=rows,
        programs=() if found is None else tuple(_program(each, outcome.filed.units, system) for each in found.programs),
        rain_switch="" if found is None else plain(found.rain_switch),
        ahead=figure(None if delivers is None else delivers.ahead_min, "min", system),
        remarks=() if delivers is None else texts(delivers.remarks),
    )


def _program(program: Program, units: str, system: UnitSystem) -> ProgramRow:
    return ProgramRow(
        name=plain(program.name),
        starts=tuple(time_text(start, units) for start in program.starts),
        days=weekdays_text(program.days),
        minutes=", ".join(f"{terminal}: {minutes:g}" for terminal, minutes in program.minutes_min.items()),
        adjust=figure(program.percent_adjust_pct, "pct", system),
    )
