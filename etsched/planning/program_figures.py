"""What a table of programs brings every station: read off the clock as it would run, not off how it was made."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import chain, pairwise
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak
from etsched.model.clock_table import ClockProgram, StationClock
from etsched.model.visit import ClockFound, Program
from etsched.planning import water
from etsched.planning.clock_passes import DAY_MIN, passes
from etsched.planning.outlook import WEEK_D
from etsched.planning.program_wants import followed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from etsched.model.plan import WeekPlan
    from etsched.planning.outlook import Outlook
    from etsched.planning.program_wants import Wants


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening of one valve: on which of the seven nights, and from when to when after the window's opening."""

    night: int
    program: str
    terminal: int
    opens_min: int
    closes_min: int


@dataclass(frozen=True, slots=True)
class Left:
    """What a station lacks of the minutes the plan wants, and why."""

    missing_min: int
    reason: str


def as_found(program: ClockProgram) -> Program:
    """Give a program of the table as a visit would find it in the clock."""
    return Program(
        program.letter,
        tuple(start.at for start in program.starts),
        program.days,
        {terminal: float(minutes) for terminal, minutes in program.minutes_min.items()},
    )


def run_clock(programs: Sequence[ClockProgram], outlook: Outlook, first_opens_on: date) -> tuple[Opening, ...]:
    """Run the programs for the week that begins with the night opening on a date, one start waiting for another."""
    rules = outlook.site.rules
    opens_at = rules.opens_at.hour * 60 + rules.opens_at.minute
    clock = ClockFound(tuple(as_found(each) for each in programs))
    found = []
    for each in passes(clock, first_opens_on, rules.valve_delay_min):
        night = int((each.set_for_min - opens_at) // DAY_MIN)
        if not 0 <= night < WEEK_D:
            continue
        opens = np.rint(each.opens_min - opens_at - night * DAY_MIN).astype(np.int64)
        closes = opens + np.rint(each.length_min).astype(np.int64)
        rows = zip(each.terminal.tolist(), opens.tolist(), closes.tolist(), strict=True)
        found += [Opening(night, each.program, *row) for row in rows]
    return tuple(found)


def station_figures(
    wants: Wants, plan: WeekPlan, openings: Sequence[Opening], left: Mapping[int, Left]
) -> tuple[StationClock, ...]:
    """Say what every station of the site gets, and hold it against what the plan wants."""
    outlook, here = wants.outlook, wants.outlook.ground
    terminals = here.terminal.tolist()
    opened = _by_station(openings, terminals)
    minutes = np.array([[sum(map(_length, night)) for night in opened[each]] for each in terminals], dtype=np.int64).T
    cycle = np.array([max(map(_length, chain(*opened[each])), default=0) for each in terminals], dtype=np.int64)
    week = minutes.sum(axis=0)
    applied, credited = water.credited(here, week)
    past, _ = followed(outlook, here, water.deficit_from(here, plan.start), minutes)
    wanted, wanted_min = np.zeros(len(terminals)), np.zeros(len(terminals))
    served = np.isin(here.terminal, wants.ground.terminal)
    wanted[served], wanted_min[served] = wants.wanted_mm, wants.week_min
    soak = cycle_soak.least_soak(cycle.astype(np.float64), here.wet_rate_mm_h, here.intake_mm_h)
    figures = []
    for at, terminal in enumerate(terminals):
        pauses = [b.opens_min - a.closes_min for night in opened[terminal] for a, b in pairwise(night)]
        figures.append(
            StationClock(
                terminal=terminal,
                letters=tuple(sorted({each.program for each in chain(*opened[terminal])})),
                nights_count=int((minutes[:, at] > 0).sum()),
                cycles_count=max(map(len, opened[terminal])),
                cycle_min=int(cycle[at]),
                week_min=int(week[at]),
                least_soak_min=int(soak[at]) if pauses else 0,
                soak_min=min(pauses, default=None),
                wanted_mm=float(wanted[at]),
                applied_mm=float(applied[at]),
                credited_mm=float(credited[at]),
                past_mm=float(past[at]),
                plan_past_mm=_plan_past(plan, terminal),
                volume_l=_litres(float(here.flow_l_min[at]), float(week[at])),
                over_l=_litres(float(here.flow_l_min[at]), float(week[at] - wanted_min[at])),
                missing_min=left[terminal].missing_min if terminal in left else 0,
                reason=left[terminal].reason if terminal in left else "",
            )
        )
    return tuple(figures)


def _by_station(openings: Sequence[Opening], terminals: Sequence[int]) -> dict[int, tuple[list[Opening], ...]]:
    """Sort the openings by station and night, each night's in the order of time."""
    found: dict[int, tuple[list[Opening], ...]] = {each: tuple([] for _ in range(WEEK_D)) for each in terminals}
    for each in sorted(openings, key=lambda each: (each.night, each.opens_min)):
        found[each.terminal][each.night].append(each)
    return found


def _length(opening: Opening) -> int:
    return opening.closes_min - opening.opens_min


def _plan_past(plan: WeekPlan, terminal: int) -> float:
    return sum(max(line.end_mm - line.allowable_mm, 0.0) for line in plan.books if line.terminal == terminal)


def _litres(flow_l_min: float, minutes: float) -> float | None:
    return None if np.isnan(flow_l_min) else flow_l_min * minutes
