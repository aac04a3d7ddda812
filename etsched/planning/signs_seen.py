"""What a visit says of one area, as signs: what a person saw, and what the readings, runs and cores there leave."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from etsched.planning.runs_seen import same_name
from etsched.reference.causes import signs_of_readings
from etsched.reference.faults import head_faults

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from etsched.model.clock_delivers import ClockDelivers
    from etsched.model.site import Site, Station
    from etsched.model.visit import AreaSeen, Core, Visit

# Kinds of insects are words of people: whatever begins so is counted under it.
_INSECTS = {"grub": "grubs_count", "chinch": "chinch_bugs_count", "webworm": "webworms_count"}


def signs_seen(
    site: Site,
    visit: Visit,
    area: str,
    clock: ClockDelivers | None = None,
    uniformity: Mapping[int, float] | None = None,
) -> frozenset[str]:
    """Collect the signs of an area; `uniformity` holds the measured DU(lq) by terminal, as a fraction."""
    stations = [station for station in site.stations if same_name(station.area, area)]
    seen = [each for each in visit.areas if same_name(each.name, area)]
    signs = {sign for each in seen for sign in (*each.signs, each.pattern, each.colour) if sign}
    signs.update(_tugged(seen), _of_water(visit, area, stations))
    readings = {**_by_hand(seen), **_of_cores(visit, area, stations), **_of_soil(visit)}
    terminals = {station.terminal for station in stations}
    measured = [value for terminal, value in (uniformity or {}).items() if terminal in terminals]
    if measured:
        readings["uniformity_fraction"] = min(measured)
    if clock is not None and "no_water_arrives" not in signs:
        shares = [each.of_use_pct for each in clock.stations if each.terminal in terminals]
        known = [share for share in shares if share is not None]
        # Several stations of one area make up its water together only where they overlap, so the driest speaks.
        readings |= {"of_use_pct": min(known)} if known else {}
    return frozenset(signs) | signs_of_readings(readings)


def _tugged(seen: Sequence[AreaSeen]) -> Iterator[str]:
    for each in seen:
        if each.tug:
            yield "lifts_like_carpet" if each.tug == "lifts" else "tug_holds"


def _of_water(visit: Visit, area: str, stations: Sequence[Station]) -> Iterator[str]:
    """Say whether water arrives from the controller, and whether heads are at fault."""
    terminals = {station.terminal for station in stations}
    blocked = {station.terminal for station in stations if station.blocked is not None}
    if any(run.from_controller and same_name(wet, area) for run in visit.runs for wet in run.wet_areas or ()):
        yield "area_gets_wet"
    elif terminals and terminals <= blocked | _dead(visit):
        yield "no_water_arrives"
    faults = head_faults()
    for head in visit.heads:
        if head.station in terminals and head.fault in faults and faults[head.fault].effect == "discounts":
            yield "heads_at_fault"


def _dead(visit: Visit) -> set[int]:
    """Give the terminals of which no run brought water from the controller, though one was tried."""
    came = {run.station for run in visit.runs if run.from_controller and run.wet_areas != ()}
    failed = {run.station for run in visit.runs if run.from_controller is False or run.wet_areas == ()}
    return failed - came


def _by_hand(seen: Sequence[AreaSeen]) -> dict[str, float]:
    readings: dict[str, float] = {}
    for each in seen:
        if each.drop_s is not None:
            readings["drop_s"] = max(each.drop_s, readings.get("drop_s", 0.0))
        if each.thatch_mm is not None:
            readings["thatch_mm"] = max(each.thatch_mm, readings.get("thatch_mm", 0.0))
        for kind, count in each.insects_count.items():
            for begins, name in _INSECTS.items():
                if begins in kind.casefold():
                    readings[name] = max(count, readings.get(name, 0.0))
    return readings


def _of_cores(visit: Visit, area: str, stations: Sequence[Station]) -> dict[str, float]:
    terminals = {station.terminal for station in stations}
    cores = [
        core
        for core in visit.cores
        if (same_name(core.area, area) if core.area else core.station in terminals) and _told(core)
    ]
    brown, green = (
        [core.moist_mm for core in cores if core.colour == colour and core.moist_mm is not None]
        for colour in ("brown", "green")
    )
    readings = {"brown_moist_mm": median(brown)} if brown else {}
    if brown and green and median(green) > 0.0:
        readings["brown_of_green_factor"] = median(brown) / median(green)
    return readings


def _told(core: Core) -> bool:
    """Say whether the probe found the moist depth by itself: one that ended on a stone is only a least depth."""
    return core.moist_mm is not None and (core.stone_mm is None or core.moist_mm < core.stone_mm)


def _of_soil(visit: Visit) -> dict[str, float]:
    if visit.salts is None or visit.salts.soil_ds_m is None:
        return {}
    return {"soil_ds_m": visit.salts.soil_ds_m}
