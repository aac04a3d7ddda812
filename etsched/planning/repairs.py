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
from etsched.reference.coils import read_coil
from etsched.reference.faults import head_faults, valve_faults

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.finding import Finding
    from etsched.model.site import Site, Station
    from etsched.model.visit import ElectricalReading
    from etsched.planning.outlook import Outlook
    from etsched.planning.weather_days import Days

# Faults of reference/faults.toml whose repair begins with readings at the terminal.
_ASKS_FOR_READINGS = frozenset({"by hand only", "not on"})


def rank_repairs(
    site: Site,
    days: Days,
    first_day: date,
    findings: tuple[Finding, ...],
    electrical: Sequence[ElectricalReading] = (),
) -> tuple[Repair, ...]:
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
        _repair(now, mended, at, (int(before[at]), int(after[at])), what_to_do(station.terminal, findings, electrical))
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


def _repair(now: Outlook, mended: Outlook, at: int, minutes: tuple[int, int], what: tuple[str, ...]) -> Repair:
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
        what=what,
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


def what_to_do(
    terminal: int, findings: Sequence[Finding], electrical: Sequence[ElectricalReading] = ()
) -> tuple[str, ...]:
    """What to do at a station: valves before heads, in the order in which they were found.

    Where its coil or voltage was read, nobody is sent to read them again: what the reading leaves to do is said.
    """
    faults = valve_faults() | head_faults()
    mine = [f for f in findings if f.terminal == terminal and f.field in faults and f.effect is not Effect.FREES]
    ordered = sorted(mine, key=lambda f: f.effect is not Effect.BLOCKS)
    fields = [f.field for f in mine]
    many = {f.field for f in mine if f.many or fields.count(f.field) > 1}
    mine_read = [each for each in electrical if each.station == terminal]
    read = [read_coil(each.coil_ohm, each.volts_v, each.volts_at).mend for each in mine_read]

    def repair(key: str) -> str:
        if key in _ASKS_FOR_READINGS and any(read):
            return next(filter(None, reversed(read)))
        return faults[key].repair_many if key in many else faults[key].repair

    return tuple(dict.fromkeys(repair(f.field) for f in ordered))
