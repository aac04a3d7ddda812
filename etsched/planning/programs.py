"""The week's plan set for an ordinary clock, which knows only programs: days, starts, and minutes of stations."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.days import wall_time
from etsched.errors import PlanRefused
from etsched.model.clock_table import ClockProgram, ClockTable, ProgramStart
from etsched.planning.outlook import WEEK_D
from etsched.planning.program_choice import Chosen, choose
from etsched.planning.program_figures import Left, run_clock, station_figures
from etsched.planning.program_patterns import most_cycle, nightly_min
from etsched.planning.program_times import DAY_MIN, Hours, hours_of
from etsched.planning.program_wants import wants_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.days import Night
    from etsched.model.plan import WeekPlan
    from etsched.model.site import Controller, Site
    from etsched.planning.outlook import Outlook
    from etsched.planning.program_wants import Wants

_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def clock_table(outlook: Outlook, plan: WeekPlan) -> ClockTable:
    """Group the stations of a week's plan into the programs that a clock has, at the least cost in turf and water.

    Raises PlanRefused where the site does not say what clock it has.
    """
    site = plan.site
    controller = clock_of(site)
    wants = wants_of(outlook, plan)
    rules = site.rules
    hours = hours_of(wants.nights, rules.opens_at, site.place.zone, rules.valve_delay_min)
    chosen = choose(wants, controller, hours)
    first_opens_on = plan.first_day - timedelta(days=int(rules.closes_at <= rules.opens_at))
    programs = tuple(_programs(chosen, hours, first_opens_on))
    openings = run_clock(programs, outlook, first_opens_on)
    return ClockTable(
        site=site,
        controller=controller,
        first_day=plan.first_day,
        nights=tuple(night for night in wants.nights if night is not None),
        programs=programs,
        stations=station_figures(wants, plan, openings, _left(wants, chosen, hours)),
        fullness_fraction=1.0 if chosen.draft is None else chosen.draft.fullness_fraction,
        changing=tuple(each.night.opens_on for each in plan.nights if _changes(each.night, site)),
        weather_source=plan.weather_source,
        attributions=plan.attributions,
    )


def clock_of(site: Site) -> Controller:
    """Give the clock of a site. Raises PlanRefused where the site does not say what clock it has."""
    if site.controller is None:
        raise PlanRefused(
            f"{site.name} does not say what clock it has; add a table [controller] to the site file with the two keys "
            "programs and starts, as programs = 4 and starts = 4: how many programs it has, and how many starts each"
        )
    return site.controller


def _programs(chosen: Chosen, hours: Hours, first_opens_on: date) -> Iterator[ClockProgram]:
    """Name the programs in the order in which they first start."""
    draft = chosen.draft
    if draft is None:
        return
    for place, at in enumerate(sorted(range(len(draft.starts_min)), key=lambda at: (draft.starts_min[at], at))):
        starts, mine = draft.starts_min[at], np.flatnonzero(draft.runs[at])
        cycle = draft.cycle_min[mine].tolist()
        nights = tuple(first_opens_on + timedelta(days=night) for night in draft.patterns[at].nights)
        later = {(hours.opens_at_min + start) // DAY_MIN for start in starts}
        yield ClockProgram(
            letter=_letter(place),
            days=frozenset((night.weekday() + each) % WEEK_D for night in nights for each in later),
            starts=tuple(ProgramStart(_at(hours, start), start) for start in starts),
            minutes_min=dict(zip(chosen.wants.ground.terminal[mine].tolist(), cycle, strict=True)),
            nights=nights,
            length_min=sum(cycle) + hours.delay_min * (len(cycle) - 1),
        )


def _letter(place: int) -> str:
    """Name a program: A to Z, and on with A2."""
    turn, at = divmod(place, len(_LETTERS))
    return _LETTERS[at] + (str(turn + 1) if turn else "")


def _at(hours: Hours, start_min: int) -> time:
    hour, minute = divmod((hours.opens_at_min + start_min) % DAY_MIN, 60)
    return time(hour, minute)


def _left(wants: Wants, chosen: Chosen, hours: Hours) -> dict[int, Left]:
    """Say of each station that lacks minutes for more than rounding how many in the week, and why."""
    window = f"the {hours.length_min} min of the window"
    week = dict(zip(wants.ground.terminal.tolist(), wants.week_min.tolist(), strict=True))
    unfit = "no program can run it: its cycles would run off, or a ban keeps it dry on too many nights"
    late = f"{window} hold no program for it, though all others take half"
    left = {terminal: Left(week[terminal], unfit) for terminal in chosen.unfit}
    left |= {terminal: Left(week[terminal], late) for terminal in chosen.left_out}
    if chosen.draft is None:
        return left
    draft, served = chosen.draft, chosen.wants
    nightly = nightly_min(draft.patterns, draft.runs, draft.cycle_min)
    cycles = nightly.max(axis=0) // draft.cycle_min
    capped = draft.cycle_min >= np.diagonal(most_cycle(served, cycles))
    for at, lacks in enumerate((served.week_min - nightly.sum(axis=0)).tolist()):
        if lacks > 0 and draft.fullness_fraction < 1.0:
            left[int(served.ground.terminal[at])] = Left(lacks, f"{window} do not hold all, so all take less")
        elif lacks > 0 and capped[at]:
            most = f"a cycle may last no longer than {draft.cycle_min[at]} min"
            reason = f"{most}, and its program has no start left for another"
            left[int(served.ground.terminal[at])] = Left(lacks, reason)
    return left


def _changes(night: Night, site: Site) -> bool:
    """Say whether the offset of the place changes between noon and noon around a night."""
    noon = datetime.combine(night.opens_on - timedelta(days=1), time(12), site.place.zone)
    return noon.utcoffset() != wall_time(night.closes, site.place.zone).utcoffset()
