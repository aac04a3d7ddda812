"""Findings from what was seen and not measured: valves that do not run, heads at fault, leaks, salts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.core.leaching import leaching_fraction
from etsched.model.finding import Effect, Finding
from etsched.model.site import Basis, Known
from etsched.planning.runs_seen import areas_of, terminals_seen
from etsched.reference import tables
from etsched.reference.faults import head_faults, valve_faults

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from etsched.model.site import Site, Station
    from etsched.model.visit import HeadSeen, Visit
    from etsched.planning.runs_seen import TerminalSeen

# What a terminal showed → key of its fault in reference/faults.toml.
_FAULT_OF = {"by hand": "by hand only", "not on": "not on", "nothing": "waters nothing"}


def blocks_and_frees(site: Site, visit: Visit) -> Iterator[Finding]:
    """Block the stations that were run and gave no water from the controller; free those that watered their area."""
    stations = {station.terminal: station for station in site.stations}
    areas = areas_of(site, visit.runs)
    for seen in terminals_seen(site, visit.runs, areas):
        station = stations.get(seen.terminal)
        if station is None:
            continue
        key = _fault(seen)
        if key:
            why = f"it {valve_faults()[key].words} ({visit.name})"
            said = f"Station {seen.terminal} ({station.area}) gets no minutes: {why}."
            yield Finding(seen.terminal, key, Effect.BLOCKS, said, reason=why)
        elif station.blocked is not None and seen.state == "seen" and areas.index(station.area) in (seen.wet or ()):
            said = f"Station {seen.terminal} ({station.area}) waters again ({visit.name})."
            yield Finding(seen.terminal, "blocked", Effect.FREES, said)


def _fault(seen: TerminalSeen) -> str:
    """Name the fault of a terminal that somebody tried from the controller, or whose valve gave nothing by hand."""
    if seen.came_on is None and seen.state == "by hand":
        return ""  # nobody tried it from the controller
    if seen.came_on is False and (seen.by_hand is False or seen.state == "nothing"):
        return "no water"
    return _FAULT_OF.get(seen.state, "")


def head_findings(site: Site, visit: Visit, measured: Collection[int]) -> Iterator[Finding]:
    """Name the heads at fault. Where no cups were set out since, the water counts as landing as unevenly as it may."""
    stations = {station.terminal: station for station in site.stations}
    for head in visit.heads:
        fault = head_faults().get(head.fault)
        station = stations.get(head.station)
        if fault is None or station is None:
            continue
        repair = fault.repair if head.count == 1 else fault.repair_many
        said = f"Station {head.station}: {_heads(head)} {fault.words}; {repair}."
        yield Finding(head.station, head.fault, Effect(fault.effect), said, many=head.count > 1)
    uneven = {
        head.station for head in visit.heads if (known := head_faults().get(head.fault)) and known.effect == "discounts"
    }
    for terminal in sorted(uneven - set(measured)):
        if terminal in stations:
            yield _discount(stations[terminal], visit)


def _heads(head: HeadSeen) -> str:
    where = f" ({head.label})" if head.label else ""
    return f"1 head{where} is" if head.count == 1 else f"{head.count} heads{where} are"


def _discount(station: Station, visit: Visit) -> Finding:
    poor = tables.uniformity(station.head).low
    taken = min(poor, station.uniformity.value) if station.uniformity is not None else poor
    source = f"heads at fault and no cups since, {visit.name}: taken as poor"
    said = f"Station {station.terminal}: its heads are at fault and no cups were set out, so it counts as uneven."
    return Finding(
        station.terminal, "uniformity", Effect.DISCOUNTS, said, Known(taken, Basis.TYPICAL, source), "fraction"
    )


def leak_findings(visit: Visit) -> Iterator[Finding]:
    """Name the leaks that were seen while a station ran."""
    for run in visit.runs:
        if run.leak:
            yield Finding(run.station, "leak", Effect.WARNS, f"Station {run.station} leaks: {run.leak}.")


def salt_findings(visit: Visit) -> Iterator[Finding]:
    """Say how much of the water must pass the roots so that salts do not stay; the plan does not add it by itself."""
    salts = visit.salts
    if salts is None or salts.water_ds_m is None or salts.soil_ds_m is None:
        return
    share = float(leaching_fraction(np.array(salts.water_ds_m), np.array(salts.soil_ds_m)))
    if np.isnan(share):
        said = "Salts: the water is too salty for any leaching to keep the soil as it was read; have it tested again."
    else:
        said = (
            f"Salts: to keep the soil as salty as it was read, {share:.0%} of the water must pass the roots "
            "(leaching fraction, FAO-29). The week's table does not add it: leach in cool weather, when nights "
            "have room."
        )
    yield Finding(None, "salts", Effect.WARNS, said)
