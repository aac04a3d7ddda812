"""Dormant turf: one run now and then that keeps its crowns alive, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import cycle_soak, runtime
from etsched.days import day_text
from etsched.planning import choice, water
from etsched.planning.modes import dormant_on
from etsched.planning.outlook import ground_tonight
from etsched.reference.modes import dormant

if TYPE_CHECKING:
    from datetime import date

    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.planning.outlook import Outlook


def last_wetted(outlook: Outlook, at: int, before: date) -> date:
    """Give the last day before another on which rain or a known run wetted a dormant station, else since when it is.

    Rain of the plan's own days counts as the books count it. Of a run no more is asked than the station's own cap on
    its minutes lets it bring.
    """
    station, least = outlook.site.stations[at], dormant("depth").low
    of_run = least if station.most_min is None else min(least, _credited(outlook, at, int(station.most_min)))
    since = station.mode_since or before
    rained = [
        record.day
        for record, pulses in zip(outlook.days.records, outlook.days.pulse_mm, strict=True)
        if since <= record.day < before and pulses.sum() >= least
    ]
    ran = [
        day
        for (terminal, day), minutes in outlook.watered_min.items()
        if terminal == station.terminal and since <= day < before and _credited(outlook, at, minutes) >= of_run
    ]
    return max([since, *rained, *ran])


def due(outlook: Outlook, window: Night) -> NDArray[np.bool_]:
    """Name the dormant stations (S,) whose crowns want water on the day that a night serves."""
    ground, day = ground_tonight(outlook, window), window.serves
    rest = timedelta(days=round(dormant("interval").value))
    stations = outlook.site.stations
    rested = [dormant_on(each, day) and day - last_wetted(outlook, at, day) >= rest for at, each in enumerate(stations)]
    return np.asarray(ground.works & np.array(rested))


def asked(outlook: Outlook, window: Night, need: choice.Need) -> choice.Need:
    """Add to a night's needs what dormant turf is due: always the same depth, and never because it must."""
    wants = due(outlook, window)
    if not wants.any():
        return need
    ground = outlook.ground
    net = np.where(wants, dormant("depth").value, need.net_mm)
    gross = runtime.gross_depth(net, ground.multiplier_factor)
    exact = runtime.run_minutes(gross, ground.landing_rate_mm_h)
    count, cycle = cycle_soak.split_run(exact, ground.longest_cycle_min, ground.least_cycle_min)
    count, cycle = choice.capped(ground, count, cycle)
    soak = cycle_soak.least_soak(cycle.astype(np.float64), ground.wet_rate_mm_h, ground.intake_mm_h)
    return replace(
        need,
        wanted=need.wanted | wants,
        must=need.must & ~wants,
        net_mm=net,
        gross_mm=np.where(wants, gross, need.gross_mm),
        exact_min=np.where(wants, exact, need.exact_min),
        cycles_count=np.where(wants, count, need.cycles_count),
        cycle_min=np.where(wants, cycle, need.cycle_min),
        soak_min=np.where(wants, soak, need.soak_min).astype(np.int64),
    )


def reason(outlook: Outlook, window: Night, at: int) -> str:
    """Say why a dormant station waters on a night; "" for other turf."""
    if not dormant_on(outlook.site.stations[at], window.serves):
        return ""
    wetted = day_text(last_wetted(outlook, at, window.serves))
    return f"is dormant and counts as dry since {wetted}: one run keeps its crowns alive and does not green it up"


def watered_before(outlook: Outlook) -> tuple[tuple[int, date, int], ...]:
    """Name the last run before the plan that wetted each dormant station: terminal, day served, minutes.

    Whoever plans the weeks after this one must know it, for the rest is longer than a week.
    """
    found = []
    for at, station in enumerate(outlook.site.stations):
        last = last_wetted(outlook, at, outlook.first_day)
        minutes = outlook.watered_min.get((station.terminal, last), 0)
        if dormant_on(station, outlook.first_day) and minutes:
            found.append((station.terminal, last, minutes))
    return tuple(found)


def _credited(outlook: Outlook, at: int, minutes: int) -> float:
    every = np.full(len(outlook.ground.terminal), minutes, dtype=np.int64)
    return float(water.credited(outlook.ground, every)[1][at])
