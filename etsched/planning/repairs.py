"""Repairs in order of what they are worth: minutes, water, and the depth that the driest quarter gains in a week."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import runtime
from etsched.model.finding import Effect, Repair
from etsched.model.site import Basis
from etsched.planning import start
from etsched.planning.savings import even_again
from etsched.planning.tried import wanted_minutes
from etsched.planning.week import outlook_of
from etsched.reference.faults import head_faults, valve_faults

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.finding import Finding
    from etsched.model.site import Site, Station
    from etsched.planning.outlook import Outlook
    from etsched.planning.weather_days import Days


def rank_repairs(site: Site, days: Days, first_day: date, findings: tuple[Finding, ...]) -> tuple[Repair, ...]:
    """Reckon every faulty station's repair in the plan's week, the one worth most at the front.

    A repaired station is taken to water as evenly as a good one of its kind, or as it does now if that is better; a
    dead one to come on. Worth goes by the depth that the driest quarter gains, then by the minutes saved.
    """
    faulty = {f.terminal for f in findings if f.terminal is not None and f.effect in {Effect.BLOCKS, Effect.DISCOUNTS}}
    if not faulty:
        return ()
    now = outlook_of(site, days, first_day)
    mended = outlook_of(_mended(site, faulty), days, first_day)
    before, after = _minutes(now), _minutes(mended)
    repairs = [
        _repair(now, mended, at, (int(before[at]), int(after[at])), findings)
        for at, station in enumerate(site.stations)
        if station.terminal in faulty
    ]
    return tuple(
        sorted(
            repairs,
            key=lambda each: (
                -each.driest_quarter_mm,
                each.minutes_repaired_min - each.minutes_found_min,
                each.terminal,
            ),
        )
    )


def _minutes(outlook: Outlook) -> NDArray[np.int64]:
    deficit = start.assumed_deficit(outlook.site, outlook.ground, outlook.days, outlook.index(outlook.first_day))
    return wanted_minutes(outlook, outlook.ground, deficit)


def _mended(site: Site, faulty: set[int]) -> Site:
    def mend(station: Station) -> Station:
        if station.terminal not in faulty:
            return station
        return replace(even_again(station), blocked=None)

    return replace(site, stations=tuple(mend(station) for station in site.stations))


def _repair(now: Outlook, mended: Outlook, at: int, minutes: tuple[int, int], findings: tuple[Finding, ...]) -> Repair:
    station, dead = now.site.stations[at], now.site.stations[at].blocked is not None
    found = now.facts[at]["uniformity"].value
    even = mended.facts[at]["uniformity"].value
    rate = mended.ground.landing_rate_mm_h[at]
    # What the repaired station's week puts down, at its driest quarter, against the same minutes as they land today.
    applied = float(runtime.applied_depth(np.asarray(float(minutes[1])), rate))
    gained = applied * (even if dead else even - found)
    flow = float(mended.ground.flow_l_min[at])
    # What a dead station begins to take is known without cups; what an uneven one would save is not.
    measured = dead or now.facts[at]["uniformity"].basis is Basis.MEASURED
    return Repair(
        terminal=station.terminal,
        what=_what(station.terminal, findings),
        found_fraction=None if dead else found,
        repaired_fraction=even,
        minutes_found_min=minutes[0],
        minutes_repaired_min=minutes[1],
        volume_saved_l=None if np.isnan(flow) or not measured else flow * (minutes[0] - minutes[1]),
        measured=measured,
        driest_quarter_mm=gained,
        reckoning="depth of the repaired week × (DU(lq) repaired − DU(lq) found)"
        if not dead
        else "depth of the repaired week × DU(lq) repaired; today nothing lands",
    )


def _what(terminal: int, findings: tuple[Finding, ...]) -> tuple[str, ...]:
    """What to do at a station: valves before heads, in the order in which they were found."""
    faults = valve_faults() | head_faults()
    mine = [f for f in findings if f.terminal == terminal and f.field in faults]
    ordered = sorted(mine, key=lambda f: f.effect is not Effect.BLOCKS)
    fields = [f.field for f in mine]
    many = {f.field for f in mine if f.many or fields.count(f.field) > 1}
    return tuple(
        dict.fromkeys(faults[f.field].repair_many if f.field in many else faults[f.field].repair for f in ordered)
    )
