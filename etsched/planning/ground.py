"""The stations of a site as arrays: what each delivers, holds and may be asked for, one station an element (S,)."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Literal

import numpy as np

from etsched.core import cycle_soak, root_zone, runtime, soil, uniformity
from etsched.model.site import MultiplierRule, Site
from etsched.planning.facts import Fact, station_facts
from etsched.reference import tables

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

LAYERS_COUNT = 3  # the root zone and two layers between it and the target depth
# DU(lq) under about 0.4–0.5: repair, don't lengthen (common practice, no source). Runs are those of this share.
REPAIR_BELOW_FRACTION = 0.4


@dataclass(frozen=True, slots=True)
class Shift:
    """Every uncertain number of one field moved to its plausible bound, to see what it would change."""

    field: str
    side: Literal["low", "high"]


@dataclass(frozen=True, slots=True)
class Ground:
    """Arrays over the stations of a site, in order of terminal."""

    terminal: NDArray[np.int64]
    works: NDArray[np.bool_]  # no fault blocks the station
    crop_factor: NDArray[np.float64]  # (12, S) Kc by month
    turf_height_m: NDArray[np.float64]  # NaN where the crop factor is not moved with wind and dryness
    area_factor: NDArray[np.float64]  # density × microclimate
    total_available_mm: NDArray[np.float64]  # of the root zone
    layer_available_mm: NDArray[np.float64]  # (S, L)
    thickness_mm: NDArray[np.float64]  # (S, L)
    depletion_fraction: NDArray[np.float64]
    moves_with_demand: NDArray[np.bool_]  # a stated allowable depletion stays as it is stated
    multiplier_factor: NDArray[np.float64]
    landing_rate_mm_h: NDArray[np.float64]  # mean rate that lands
    wet_rate_mm_h: NDArray[np.float64]  # rate that the surface must take in: the wet quarter's where known
    intake_mm_h: NDArray[np.float64]
    longest_cycle_min: NDArray[np.float64]
    least_cycle_min: NDArray[np.float64]
    flow_l_min: NDArray[np.float64]  # NaN where nobody knows
    most_min: NDArray[np.float64]  # minutes in a night that the station may not exceed; inf: any
    least_depth_mm: NDArray[np.float64]  # net depth of a watering at least; NaN where nobody said
    priority_count: NDArray[np.int64]  # who is served first: 1 before 2


def facts_by_station(site: Site, month: int) -> list[dict[str, Fact]]:
    """Collect the facts of every station, in order of terminal."""
    return [station_facts(site, station, month) for station in site.stations]


def ground(site: Site, facts: Sequence[dict[str, Fact]], shift: Shift | None = None) -> Ground:
    """Turn the facts of a site's stations into arrays; `shift` moves those of one field to a bound."""

    def column(name: str) -> NDArray[np.float64]:
        return np.array([_value(fact[name], name, shift) for fact in facts])

    root_depth = column("root_depth")
    available = column("available_water")
    thickness = soil.layers_below_roots(root_depth, target_depth_mm(site), LAYERS_COUNT)
    landing = runtime.landing_rate(column("precip_rate"), column("application_efficiency"))
    wet = np.array([s.wettest_quarter_rate.value if s.wettest_quarter_rate else np.nan for s in site.stations])
    wet = np.where(np.isnan(wet), landing, wet)
    intake = column("intake")
    seen = np.array([s.first_runoff.value if s.first_runoff else np.nan for s in site.stations])
    longest = cycle_soak.longest_cycle(wet, intake, column("surface_storage"))
    crop = np.array([_monthly_crop_factors(site, index, shift) for index in range(len(site.stations))]).T
    return Ground(
        terminal=np.array([station.terminal for station in site.stations]),
        works=np.array([station.blocked is None for station in site.stations]),
        crop_factor=crop,
        turf_height_m=_turf_height(site),
        area_factor=column("density") * column("microclimate"),
        total_available_mm=root_zone.total_available_water(available, root_depth),
        layer_available_mm=available[:, None] * thickness,
        thickness_mm=thickness,
        depletion_fraction=column("depletion_fraction"),
        moves_with_demand=np.array([station.allowable_depletion is None for station in site.stations]),
        multiplier_factor=_multiplier(site.multiplier_rule, column("uniformity")),
        landing_rate_mm_h=landing,
        wet_rate_mm_h=wet,
        intake_mm_h=intake,
        longest_cycle_min=np.where(np.isnan(seen), longest, seen),
        least_cycle_min=column("least_cycle"),
        flow_l_min=_flow(site, column("precip_rate")),
        most_min=np.array([s.most_min if s.most_min else np.inf for s in site.stations]),
        least_depth_mm=np.array([s.least_depth.value if s.least_depth else np.nan for s in site.stations]),
        priority_count=np.array([station.priority_count or 1 for station in site.stations]),
    )


def joined(grounds: Sequence[Ground]) -> Ground:
    """Lay several grounds side by side, station after station, so that one pass of the books serves them all."""
    return Ground(
        **{
            each.name: np.concatenate(
                [getattr(one, each.name) for one in grounds], axis=int(each.name == "crop_factor")
            )
            for each in fields(Ground)
        }
    )


def taken(one: Ground, at: NDArray[np.int64]) -> Ground:
    """Pick stations by their place, as often as each is named, so that the books can try several things with one."""
    return Ground(
        **{
            each.name: np.take(getattr(one, each.name), at, axis=int(each.name == "crop_factor"))
            for each in fields(Ground)
        }
    )


def target_depth_mm(site: Site) -> float:
    """Depth down to which the books follow the water."""
    return site.target_depth_mm if site.target_depth_mm is not None else tables.target_depth().value


def _value(fact: Fact, name: str, shift: Shift | None) -> float:
    if shift is None or shift.field != name:
        return fact.value
    return fact.low if shift.side == "low" else fact.high


def _monthly_crop_factors(site: Site, index: int, shift: Shift | None) -> list[float]:
    station = site.stations[index]
    if station.crop_factor is not None:
        return [station.crop_factor.value] * 12
    figures = tables.crop_factors(site.crop_set, station.turf)
    if shift is None or shift.field != "crop_factor":
        return [figure.value for figure in figures]
    return [figure.low if shift.side == "low" else figure.high for figure in figures]


def _turf_height(site: Site) -> NDArray[np.float64]:
    """Height by which Eq. 62 moves the FAO-56 factors; a monthly set or a stated factor is local and stays."""
    moves = site.crop_set == "flat"
    return np.array(
        [s.turf_height_m if moves and s.turf_height_m and not s.crop_factor else np.nan for s in site.stations]
    )


def _multiplier(rule: MultiplierRule, lower_quarter: NDArray[np.float64]) -> NDArray[np.float64]:
    """Run-time multiplier, which grows no more below the uniformity that asks for repair."""
    lower_quarter = np.maximum(lower_quarter, REPAIR_BELOW_FRACTION)
    match rule:
        case MultiplierRule.SCHEDULING:
            return uniformity.scheduling_multiplier(lower_quarter)
        case MultiplierRule.LOWER_QUARTER:
            return uniformity.lower_quarter_multiplier(lower_quarter)
        case MultiplierRule.LOWER_HALF:
            return uniformity.lower_half_multiplier(uniformity.lower_half_from_lower_quarter(lower_quarter))


def _flow(site: Site, precip_rate_mm_h: NDArray[np.float64]) -> NDArray[np.float64]:
    """Flow of each station: metered, else what its rate puts on its area, else unknown."""
    metered = np.array([s.flow.value if s.flow else np.nan for s in site.stations])
    area = np.array([s.area_m2 if s.area_m2 else np.nan for s in site.stations])
    return np.where(np.isnan(metered), precip_rate_mm_h * area / 60.0, metered)
