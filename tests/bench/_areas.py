"""Six virtual areas with books of their own, after a controller test draft of 2008 as remembered.

An independent re-implementation from memory: its results are no pass of any standard and must not be called one.
Nothing of the program's water books is used here. Marks: memory = from memory, to be verified; choice = own choice,
because memory does not say.

- Areas (texture, slope, exposure, working storage, planting, rate, efficiency): memory.
- Intake and allowable surface accumulation by texture and slope: the project's table (0-3 % second-hand, rest memory).
- The factor of shade: choice, a straight line from 1 without shade to 0.5 in full shade, on the two factors of turf;
  the factors of ground cover, shrubs and trees are taken as the whole of theirs (choice).
- Crop factors of turf: the University of California monthly set (second-hand).
- Storage starts half full, net rain is 80 % of rain, rain enters before irrigation within a day: memory, parameters.
- Working storage is what turf may use without harm; below it there is a deficit, and ET goes on at its full rate from
  water that the books do not hold: memory. To the planner it is half of the available water (choice).
- Water on the surface is reckoned with the gross rate; what runs off is lost at the efficiency's share, so that all
  losses are net water (choice). Runoff of a cycle that would run off on dry ground too is direct, the rest is from
  soaks too short (choice).
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import time

import numpy as np

from etsched.model.site import (
    Basis,
    Head,
    HoldLimits,
    Known,
    MultiplierRule,
    RainRule,
    Site,
    Station,
    TurfGroup,
    WateringRules,
)
from etsched.reference import tables
from tests.bench._seasons import Season, known

INCH_MM = 25.4
NET_RAIN_SHARE = 0.8
START_SHARE = 0.5
HALF_IS_WORKING = 0.5
AVAILABLE_FRACTION = 0.15  # of the soil as the planner is told it; only its product with the roots matters


@dataclass(frozen=True, slots=True)
class Area:
    """One area; depths in mm, rates in mm/h. Where `factor` is None the monthly set of the turf holds."""

    name: str
    texture: str
    slope_pct: float
    shade_factor: float
    storage_mm: float
    turf: TurfGroup
    factor: float | None
    rate_mm_h: float
    efficiency: float
    intake_mm_h: float
    surface_mm: float

    def crop_factor(self, month: int) -> float:
        """Use of the planting over reference ET in a month (1-12)."""
        if self.factor is not None:
            return self.factor
        return tables.crop_factors("monthly", self.turf)[month - 1].value * self.shade_factor


def _area(ground: tuple[str, str, float], inches: tuple[float, ...], efficiency: float, **over: object) -> Area:
    """`inches`: working storage, rate an hour, intake an hour, allowable surface accumulation."""
    storage, rate, intake, surface = (INCH_MM * value for value in inches)
    values = {"shade_factor": 1.0, "turf": TurfGroup.COOL, "factor": None} | over
    return Area(
        *ground,
        storage_mm=storage,
        rate_mm_h=rate,
        efficiency=efficiency,
        intake_mm_h=intake,
        surface_mm=surface,
        **values,  # type: ignore[arg-type]
    )


AREAS = (
    _area(("cool turf, 75 % shade", "loam", 6.0), (0.85, 1.60, 0.35, 0.25), 0.55, shade_factor=0.625),
    _area(("warm turf", "silty clay", 10.0), (0.55, 1.60, 0.15, 0.16), 0.60, turf=TurfGroup.WARM),
    _area(("ground cover", "loamy sand", 8.0), (0.90, 1.40, 0.50, 0.26), 0.70, factor=0.55),
    _area(("shrubs, 50 % shade", "sandy loam", 12.0), (2.00, 1.40, 0.40, 0.24), 0.75, factor=0.40),
    _area(("trees and cover", "clay loam", 2.0), (2.25, 0.20, 0.20, 0.26), 0.80, factor=0.61),
    _area(("warm turf, steep", "clay", 20.0), (0.55, 0.35, 0.10, 0.10), 0.65, turf=TurfGroup.WARM),
)


@dataclass(frozen=True, slots=True)
class AreaDay:
    """What a day did to one area, net mm."""

    etc_mm: float
    net_rain_mm: float
    rain_surplus_mm: float
    net_mm: float
    direct_mm: float
    soak_mm: float
    surplus_mm: float
    deficit_mm: float
    storage_mm: float  # at the end of the day


def pass_day(
    area: Area, storage_mm: float, net_rain_mm: float, cycles: list[tuple[int, int]], etc_mm: float
) -> AreaDay:
    """Let rain in, then the night's cycles (start and length in minutes), then take the day's use."""
    rained = storage_mm + net_rain_mm
    rain_surplus = max(rained - area.storage_mm, 0.0)
    net = sum(length for _, length in cycles) * area.rate_mm_h / 60.0 * area.efficiency
    direct, soak = (area.efficiency * part for part in runoff(area, cycles))
    watered = rained - rain_surplus + net - direct - soak
    surplus = max(watered - area.storage_mm, 0.0)
    left = watered - surplus - etc_mm
    return AreaDay(etc_mm, net_rain_mm, rain_surplus, net, direct, soak, surplus, max(-left, 0.0), max(left, 0.0))


def runoff(area: Area, cycles: list[tuple[int, int]]) -> tuple[float, float]:
    """What runs off in a night, gross mm: from cycles too long, and from soaks too short."""
    gain, loss = (area.rate_mm_h - area.intake_mm_h) / 60.0, area.intake_mm_h / 60.0
    standing, closed, direct, both = 0.0, 0, 0.0, 0.0
    for start, length in sorted(cycles):
        standing = max(standing - (start - closed) * loss, 0.0)
        standing = max(standing + length * gain, 0.0)
        over = max(standing - area.surface_mm, 0.0)
        standing, closed, both = standing - over, start + length, both + over
        direct += max(length * gain - area.surface_mm, 0.0)
    return direct, both - direct


def site_of(season: Season) -> Site:
    """The areas as the planner is told of them, in Cobble Ferry, moved to where the weather was measured.

    They share nothing: six valves may run at once, in a window of 15 hours, since the driest soil takes 14 to fill.
    """
    return Site(
        name="Six plots at Cobble Ferry",
        place=season.place,
        rules=WateringRules(time(19), time(10), frozenset(range(7)), max_valves_count=len(AREAS)),
        stations=tuple(_station(n, area) for n, area in enumerate(AREAS, 1)),
        multiplier_rule=MultiplierRule.SCHEDULING,
        rain_rule=RainRule.SHARE,
        crop_set="monthly",
        climate=season.climate,
        # The test on paper knows no frost and no wind.
        hold_limits=HoldLimits(most_wind_m_s=1000.0, freeze_c=-90.0),
    )


def _station(terminal: int, area: Area) -> Station:
    return Station(
        terminal,
        area.name,
        Head.SPRAY if area.rate_mm_h > INCH_MM else Head.ROTOR,
        area.turf,
        area.texture,
        slope_pct=area.slope_pct,
        microclimate=known(area.shade_factor),
        density=known(1.0),
        crop_factor=None if area.factor is None else known(area.factor),
        root_depth=known(area.storage_mm / HALF_IS_WORKING / AVAILABLE_FRACTION),
        available_water=known(AVAILABLE_FRACTION),
        allowable_depletion=known(HALF_IS_WORKING),
        precip_rate=Known(area.rate_mm_h, Basis.STATED, "the area's gross rate"),
        application_efficiency=known(area.efficiency),
        # The ground must take in the gross rate, whatever is lost on the way to the roots.
        wettest_quarter_rate=known(area.rate_mm_h),
        uniformity=known(1.0),
        intake=known(area.intake_mm_h),
        surface_storage=known(area.surface_mm),
    )


def columns(days: list[list[AreaDay]]) -> dict[str, np.ndarray]:
    """The books as arrays (D, A) by name."""
    return {
        each.name: np.array([[getattr(area, each.name) for area in day] for day in days]) for each in fields(AreaDay)
    }
