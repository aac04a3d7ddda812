"""The working behind one run, step by step, as a person would do it with a pencil: each number with its source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.model.plan import Step
from etsched.model.site import Basis, MultiplierRule, Site, Station, TurfMode
from etsched.planning.choice import SHOWN_MM
from etsched.planning.ground import REPAIR_BELOW_FRACTION
from etsched.reference.modes import dormant

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.planning.choice import Need
    from etsched.planning.facts import Fact
    from etsched.planning.ground import Ground

LONGEST_CYCLE = "longest cycle"
FIRST_RUNOFF = "minutes to first runoff, as seen on site"
_FAO = "FAO-56 (Allen et al. 1998)"
_MULTIPLIER = {
    MultiplierRule.SCHEDULING: (
        "1 ÷ (0.4 + 0.6 × DU(lq))",
        "Irrigation Association practice, from memory, to be verified",
    ),
    MultiplierRule.LOWER_HALF: (
        "1 ÷ DU(lh), DU(lh) = 0.386 + 0.614 × DU(lq)",
        "von Bernuth & Mecham (second-hand)",
    ),
    MultiplierRule.LOWER_QUARTER: ("1 ÷ DU(lq)", "older practice, from memory, to be verified"),
}


@dataclass(frozen=True, slots=True)
class StationNight:
    """All that a station's working is written from: the station, its place in the arrays, and its night."""

    site: Site
    station: Station
    facts: dict[str, Fact]
    ground: Ground
    need: Need
    at: int
    eto_mm: float
    crop_factor: float
    etc_mm: float
    fraction: float
    depletion_source: str
    nights_until_chance: int
    minutes: int
    applied_mm: float
    credited_mm: float


def working(case: StationNight) -> tuple[Step, ...]:
    """Write the steps from depletion to whole minutes in the order in which they were taken."""
    depth = _crowns(case) if case.station.mode is TurfMode.DORMANT and not case.need.must[case.at] else _depth(case)
    return (*_use(case), *_store(case), *depth, *_gross(case), *_minutes(case), *_cycles(case))


def _use(case: StationNight) -> Iterator[Step]:
    yield Step("reference ET of the day", case.eto_mm, "mm_d", "ETo from the day's weather", f"{_FAO} Eq. 6")
    yield _fact(case, "crop_factor")
    if abs(case.crop_factor - case.facts["crop_factor"].value) > 1e-12:
        yield Step(
            "crop factor of the day",
            case.crop_factor,
            "factor",
            "the month's factor of the day, moved with wind, dryness and mowing height where the set asks for it",
            f"{_FAO} Eq. 62",
        )
    yield _fact(case, "density")
    yield _fact(case, "microclimate")
    yield Step(
        "turf use of the day",
        case.etc_mm,
        "mm_d",
        "reference ET × crop factor × density × microclimate",
        f"{_FAO} Eq. 56",
    )


def _store(case: StationNight) -> Iterator[Step]:
    yield _fact(case, "root_depth")
    yield _fact(case, "available_water")
    total = float(case.ground.total_available_mm[case.at])
    yield Step("water the roots can reach", total, "mm", "available water × root depth", f"{_FAO} Eq. 82")
    yield _fact(case, "depletion_fraction")
    if case.station.allowable_depletion is None:
        yield Step(
            "share that may go on this day",
            case.fraction,
            "fraction",
            "tabled share + 0.04 × (5 − turf use in mm/day), held to 10–80 %",
            f"{_FAO} p.162",
        )
    yield Step(
        "allowable depletion",
        float(case.need.allowable_mm[case.at]),
        "mm",
        "water the roots can reach × share that may go, on the driest day before the next chance to water",
        f"{_FAO} Eq. 83",
    )


def _depth(case: StationNight) -> Iterator[Step]:
    need, at = case.need, case.at
    yield Step(
        "depletion at dusk",
        float(need.depletion_mm[at]),
        "mm",
        "last depletion + turf use − water and rain",
        case.depletion_source,
    )
    until = (
        "the next night" if case.nights_until_chance == 1 else f"the next chance, {case.nights_until_chance} nights on"
    )
    yield Step(
        f"depletion before {until}, if nothing ran",
        float(need.peak_mm[at]),
        "mm",
        "depletion at dusk + turf use until then − rain counted on",
        f"{_FAO} Eq. 85; above the allowable depletion, so the station waters",
    )
    yield Step(
        "net depth",
        float(need.net_mm[at]),
        "mm",
        _net_formula(need, at),
        "refill to field capacity",
    )


def _crowns(case: StationNight) -> Iterator[Step]:
    formula = "always the same: what keeps the crowns of dormant turf alive"
    yield Step("net depth", float(case.need.net_mm[case.at]), "mm", formula, dormant("depth").source)


def _gross(case: StationNight) -> Iterator[Step]:
    need, at = case.need, case.at
    yield _fact(case, "uniformity")
    formula, source = _multiplier(case)
    yield Step("run-time multiplier", float(case.ground.multiplier_factor[at]), "factor", formula, source)
    yield Step("gross depth", float(need.gross_mm[at]), "mm", "net depth × run-time multiplier", "definition")


def _net_formula(need: Need, at: int) -> str:
    if need.cut_mm[at] >= SHOWN_MM:
        return "less than the root zone lacks at dusk, because the night is too short for full waterings"
    if need.room_mm[at] >= SHOWN_MM:
        return "what the root zone lacks at dusk, less the room left for rain that may come"
    return "all that the root zone lacks at dusk"


def _multiplier(case: StationNight) -> tuple[str, str]:
    formula, source = _MULTIPLIER[case.site.multiplier_rule]
    if case.facts["uniformity"].value >= REPAIR_BELOW_FRACTION:
        return formula, source
    counted = f"DU(lq) counted as {REPAIR_BELOW_FRACTION:.0%}: below that repair, don't lengthen"
    return f"{formula}, {counted}", f"{source}; the limit is common practice, no source"


def _minutes(case: StationNight) -> Iterator[Step]:
    yield _fact(case, "precip_rate")
    if case.facts["precip_rate"].basis is not Basis.MEASURED:
        yield _fact(case, "application_efficiency")
        yield Step(
            "rate that lands",
            float(case.ground.landing_rate_mm_h[case.at]),
            "mm_h",
            "precipitation rate × application efficiency",
            "definition",
        )
    yield Step(
        "minutes before rounding",
        float(case.need.exact_min[case.at]),
        "min",
        "60 × gross depth ÷ rate that lands",
        "arithmetic",
    )


def _cycles(case: StationNight) -> Iterator[Step]:
    ground, need, at = case.ground, case.need, case.at
    if case.station.wettest_quarter_rate is not None:
        wet = case.station.wettest_quarter_rate
        yield Step("rate of the wettest quarter", wet.value, "mm_h", f"{wet.basis}", wet.note or "site file")
    yield _fact(case, "intake")
    if case.station.first_runoff is not None:
        seen = case.station.first_runoff
        yield Step(
            LONGEST_CYCLE,
            seen.value,
            "min",
            FIRST_RUNOFF,
            seen.note or "site file",
        )
    elif ground.wet_rate_mm_h[at] > ground.intake_mm_h[at]:
        yield _fact(case, "slope")
        yield _fact(case, "surface_storage")
        yield Step(
            LONGEST_CYCLE,
            float(ground.longest_cycle_min[at]),
            "min",
            "60 × surface storage ÷ (rate − intake)",
            "arithmetic",
        )
    yield Step(
        "cycles",
        float(need.cycles_count[at]),
        "count",
        "fewest equal cycles that run off nowhere",
        "arithmetic",
    )
    yield Step(
        "minutes a cycle",
        float(need.cycle_min[at]),
        "min",
        "minutes ÷ cycles in whole minutes: up, or down where up would overfill the roots",
        "a clock",
    )
    yield Step(
        "soak between cycles",
        float(need.soak_min[at]),
        "min",
        "minutes a cycle × (rate ÷ intake − 1), rounded up",
        "arithmetic",
    )
    yield Step(
        "minutes that run",
        float(case.minutes),
        "min",
        "cycles that fit the night × minutes a cycle",
        "the night's order",
    )
    yield Step("depth applied", case.applied_mm, "mm", "minutes that run × rate that lands ÷ 60", "arithmetic")
    yield Step("depth credited", case.credited_mm, "mm", "depth applied ÷ run-time multiplier", "water books")


_NAMES = {
    "crop_factor": "crop factor of the month",
    "density": "density factor",
    "microclimate": "microclimate factor",
    "root_depth": "root depth",
    "available_water": "water the soil holds, by depth",
    "depletion_fraction": "share of it that may go before the turf suffers",
    "uniformity": "uniformity, DU(lq)",
    "precip_rate": "precipitation rate",
    "application_efficiency": "application efficiency",
    "intake": "intake rate of the soil",
    "slope": "slope",
    "surface_storage": "water the surface holds back",
}


def _fact(case: StationNight, name: str) -> Step:
    fact = case.facts[name]
    return Step(_NAMES[name], fact.value, fact.suffix, "assumed" if fact.assumed else str(fact.basis), fact.source)
