"""Findings from the water meter: each station's flow, the rate that follows, and what leaks while nothing runs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.core.runtime import rate_from_flow
from etsched.model.finding import Effect, Finding
from etsched.model.site import Basis, Known

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from etsched.model.site import Site, Station
    from etsched.model.visit import Visit

# Mean rates that heads for turf put down; beyond them a reading is a slip or a fault (common practice, no source).
# The site file takes the same.
LEAST_RATE_MM_H, MOST_RATE_MM_H = 0.508, 152.4
# Rates that a meter over a known area outranks; what cups caught it does not.
_WEAKER = frozenset({Basis.TYPICAL, Basis.FROM_FLOW})


def meter_findings(site: Site, visit: Visit, caught_mm_h: Mapping[int, float]) -> Iterator[Finding]:
    """Set the flow of each metered station, less what leaks while nothing runs, and the rate where none was caught.

    `caught_mm_h` holds the rates that cups caught on the same visit: beside the flow they show what never lands.
    """
    source = f"water meter, {visit.name}"
    leak_l_min = max((m.volume_l / m.minutes_min for m in visit.meters if m.station is None), default=0.0)
    if leak_l_min > 0.0:
        said = "Water runs through the meter while no station is on: find the leak before trusting any flow."
        yield Finding(None, "leak", Effect.WARNS, said, Known(leak_l_min, Basis.MEASURED, source), "l_min")
    stations = {station.terminal: station for station in site.stations}
    for meter in visit.meters:
        station = stations.get(meter.station) if meter.station is not None else None
        if station is None:
            continue
        flow = meter.volume_l / meter.minutes_min - leak_l_min
        taken_off = f"{source}, less what passes with nothing on" if leak_l_min > 0.0 else source
        yield from _metered(station, flow, taken_off, caught_mm_h.get(station.terminal))


def _metered(station: Station, flow_l_min: float, source: str, caught_mm_h: float | None) -> Iterator[Finding]:
    who = f"Station {station.terminal}"
    if flow_l_min <= 0.0:
        said = f"{who}: no more water passed the meter with it on than with nothing on."
        yield Finding(station.terminal, "flow", Effect.WARNS, said)
        return
    known = Known(flow_l_min, Basis.MEASURED, source)
    rate = None
    if station.area_m2 is not None:
        rate = float(rate_from_flow(np.asarray(flow_l_min), np.asarray(station.area_m2)))
    if rate is not None and not LEAST_RATE_MM_H <= rate <= MOST_RATE_MM_H:
        said = (
            f"{who}: the flow ({source}) over its area gives a rate that no heads put down, so the plan does not use "
            "it: read the meter again and measure the area."
        )
        yield Finding(station.terminal, "flow", Effect.WARNS, said, known, "l_min")
        return
    yield Finding(station.terminal, "flow", Effect.SETS, f"{who}: flow measured ({source}).", known, "l_min")
    if rate is not None:
        yield from _rate(station, rate, source, caught_mm_h)


def _rate(station: Station, rate_mm_h: float, source: str, caught_mm_h: float | None) -> Iterator[Finding]:
    who = f"Station {station.terminal}"
    if caught_mm_h is not None:
        share = f"{caught_mm_h / rate_mm_h:.0%}"
        said = (
            f"{who}: {share} of the metered water landed in the cups; the rest is drift, leaks and overspray, or the "
            "area is not as large as filed."
            if caught_mm_h <= rate_mm_h
            else f"{who}: the cups caught {share} of what the meter gives over the filed area: read the meter again "
            "and measure the area."
        )
        yield Finding(station.terminal, "lands", Effect.WARNS, said)
        return
    if station.precip_rate is not None and station.precip_rate.basis not in _WEAKER:
        return
    said = f"{who}: precipitation rate from flow over area ({source})."
    known = Known(rate_mm_h, Basis.FROM_FLOW, f"flow over area, {source}")
    yield Finding(station.terminal, "precip_rate", Effect.SETS, said, known, "mm_h")
