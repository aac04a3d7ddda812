"""The return visit: what the books predicted at each core's own place against what the core shows, and what follows."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone, runtime, soil_cores
from etsched.errors import PlanRefused
from etsched.planning import water
from etsched.planning.core_results import LEAST_CORES_COUNT, cores_of, place_factor, readings_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.plan import WaterState
    from etsched.model.visit import Core, CupTest, Visit
    from etsched.planning.core_results import FeelShares
    from etsched.planning.ground import Ground
    from etsched.planning.outlook import Outlook

# A probe tells the depth of moist soil to about an inch (common practice, no source).
PROBE_WITHIN_MM = 25.4
# Roots found at less than this share of the depth planned with are shallower (common practice, no source).
SHALLOWER_BELOW_FACTOR = 0.8
# Shares of the reckoned water that are tried, to see which one explains a core.
_TRIED = np.linspace(0.0, 2.0, 41)
_AS_RECKONED = int(np.searchsorted(_TRIED, 1.0))


@dataclass(frozen=True, slots=True)
class Between:
    """What happened since the first visit: the plan it led to, its water, and the minutes that ran."""

    outlook: Outlook
    start: WaterState
    applied_min: Mapping[tuple[int, date], int]
    cup_tests: tuple[CupTest, ...]


@dataclass(frozen=True, slots=True)
class CoreProof:
    """One core against the books at its own place. Deficits are of the root zone on the morning of the visit."""

    area: str
    terminal: int
    colour: str
    place_factor: float | None  # nearest cup against the mean; None: taken as the drier part that the books follow
    predicted_moist_mm: float
    found_moist_mm: float | None
    predicted_deficit_mm: float
    found_low_mm: float | None  # wet end of the feel class
    found_high_mm: float | None  # dry end
    arrived_low_factor: float | None  # least and most share of the reckoned water that explains the core
    arrived_high_factor: float | None
    planned_roots_mm: float
    found_roots_mm: float | None
    drier: int | None  # +1 drier than predicted by more than the reading's width, −1 wetter, 0 as predicted


@dataclass(frozen=True, slots=True)
class Cause:
    """What a difference speaks for, and what to change."""

    kind: str  # "delivers less", "roots shallower", "soil holds less", "uses more", "wetter"
    sentence: str
    change: str
    value: float | None = None
    suffix: str = ""


@dataclass(frozen=True, slots=True)
class StationProof:
    """What the cores of the return visit say of one station's plan."""

    terminal: int
    area: str
    verdict: str  # "proved", "refuted" or "open"
    surely: str
    cores: tuple[CoreProof, ...]
    causes: tuple[Cause, ...]
    sentence: str


def return_visit(between: Between, visit: Visit, feel: FeelShares) -> tuple[StationProof, ...]:
    """Hold the cores of a return visit against the books, core by core and then station by station.

    Raises PlanRefused where the visit comes before the books begin or after the weather ends.
    """
    outlook = between.outlook
    if not between.start.morning <= visit.day <= outlook.days.records[-1].day:
        raise PlanRefused(
            f"the return visit of {visit.day} is not within the books, which run from {between.start.morning} to "
            f"{outlook.days.records[-1].day}; give the weather up to the visit and the plan before it"
        )
    pairs = [(at, c) for at, s in enumerate(outlook.site.stations) for c in cores_of(outlook.site, visit, s)]
    if not pairs:
        return ()
    tests = between.cup_tests or visit.cup_tests
    rows = np.array([at for at, _ in pairs])
    factors = [place_factor(core, tests, int(outlook.ground.terminal[at])) for at, core in pairs]
    predicted = _predicted(between, visit.day, rows, factors)
    proofs = [
        _core(outlook.ground, at, core, factor, predicted[n], feel)
        for n, ((at, core), factor) in enumerate(zip(pairs, factors, strict=True))
    ]
    return tuple(
        _station(station.terminal, station.area, [p for p in proofs if p.terminal == station.terminal])
        for station in outlook.site.stations
        if any(p.terminal == station.terminal for p in proofs)
    )


def proof_statement(proofs: Sequence[StationProof]) -> str:
    """Say in plain words, for the customer, what the return visit proved and what it did not."""
    groups = {verdict: [p.area for p in proofs if p.verdict == verdict] for verdict in ("proved", "refuted", "open")}
    said = {
        "proved": "The soil is as wet as the plan said",
        "refuted": "The soil is not as the plan said, and the water books begin anew from what was found",
        "open": "Too little was read to say",
    }
    told = [f"{said[verdict]}: {', '.join(areas)}." for verdict, areas in groups.items() if areas]
    return " ".join(told) or "No core was taken, so nothing is proved."


def _rows(ground: Ground, rows: NDArray[np.int64]) -> Ground:
    """Take stations of a ground as rows, as often as they are named."""
    taken = {each.name: getattr(ground, each.name)[rows] for each in fields(ground) if each.name != "crop_factor"}
    return replace(ground, crop_factor=ground.crop_factor[:, rows], **taken)


def _predicted(
    between: Between, day: date, rows: NDArray[np.int64], factors: Sequence[float | None]
) -> NDArray[np.float64]:
    """Deficit by layer on the morning of a day for each core and each share of the water tried, (C, K, L)."""
    outlook, tried = between.outlook, len(_TRIED)
    begin = water.deficit_from(outlook.ground, between.start)
    taken = np.repeat(rows, tried)
    ground = _rows(outlook.ground, taken)
    deficit = begin[taken]
    # Where no cup stood near, the place counts as the drier part that the books follow.
    lands = np.array(
        [1.0 / outlook.ground.multiplier_factor[at] if f is None else f for at, f in zip(rows, factors, strict=True)]
    )
    share = np.repeat(lands, tried) * np.tile(_TRIED, len(rows))
    serves = between.start.morning
    while True:
        minutes = [float(between.applied_min.get((int(t), serves), 0)) for t in ground.terminal]
        arrived = runtime.applied_depth(np.array(minutes), ground.landing_rate_mm_h) * share
        arrived = np.where(ground.works, arrived, 0.0)
        if serves == day:  # the cores are taken after the night's water and before the day's ET
            return root_zone.wet_from_above(deficit, arrived)[0].reshape(len(rows), tried, -1)
        deficit = water.pass_day(ground, outlook.days, outlook.index(serves), deficit, arrived)[1].deficit_mm
        serves += timedelta(days=1)


def _core(
    ground: Ground, at: int, core: Core, factor: float | None, deficit: NDArray[np.float64], feel: FeelShares
) -> CoreProof:
    thickness, available = ground.thickness_mm[at], ground.layer_available_mm[at]
    moist = float(soil_cores.moist_depth(deficit[_AS_RECKONED][None], available[None], thickness[None])[0])
    predicted = float(deficit[_AS_RECKONED, 0])
    low = high = arrived_low = arrived_high = None
    if core.layers:
        least, _, most = soil_cores.shares_by_layer(readings_of(core, feel), thickness)
        if not np.isnan(least[0]):
            low, high = float((1.0 - most[0]) * available[0]), float((1.0 - least[0]) * available[0])
            arrived_low, arrived_high = _explains(deficit[:, 0], low, high)
    return CoreProof(
        area=core.area,
        terminal=int(ground.terminal[at]),
        colour=core.colour,
        place_factor=factor,
        predicted_moist_mm=moist,
        found_moist_mm=core.moist_mm,
        predicted_deficit_mm=predicted,
        found_low_mm=low,
        found_high_mm=high,
        arrived_low_factor=arrived_low,
        arrived_high_factor=arrived_high,
        planned_roots_mm=float(thickness[0]),
        found_roots_mm=core.roots_mm,
        drier=_drier(predicted, (low, high), moist, core),
    )


def _explains(deficit_mm: NDArray[np.float64], low_mm: float, high_mm: float) -> tuple[float, float]:
    """Give the least and the most share of the reckoned water that leaves a deficit within the class."""
    wet_enough = np.flatnonzero(deficit_mm <= high_mm + 1e-9)
    dry_enough = np.flatnonzero(deficit_mm >= low_mm - 1e-9)
    least = float(_TRIED[wet_enough[0]] if wet_enough.size else _TRIED[-1])
    most = float(_TRIED[dry_enough[-1]] if dry_enough.size else _TRIED[0])
    return least, most


def _drier(predicted_mm: float, found: tuple[float | None, float | None], moist_mm: float, core: Core) -> int | None:
    """Compare by feel where the core was felt, else by moist depth; within a reading's width nothing differs."""
    low, high = found
    if low is not None and high is not None:
        return int(low > predicted_mm + 1e-9) - int(high < predicted_mm - 1e-9)
    if core.moist_mm is None:
        return None
    if core.stone_mm is not None and core.moist_mm >= core.stone_mm:
        return 0 if core.moist_mm >= moist_mm - PROBE_WITHIN_MM else None  # a stone hides how deep it would have gone
    # Moist to below the books' depth is no difference: they do not look there.
    return int(core.moist_mm < moist_mm - PROBE_WITHIN_MM)


def _station(terminal: int, area: str, cores: Sequence[CoreProof]) -> StationProof:
    judged = [core.drier for core in cores if core.drier is not None]
    middle = float(np.median(judged)) if judged else 0.0
    if len(judged) < LEAST_CORES_COUNT or middle not in {-1.0, 0.0, 1.0}:
        verdict = "open"
    else:
        verdict = "proved" if middle == 0.0 else "refuted"
    causes = () if not judged or middle == 0.0 else _wetter(cores) if middle < 0.0 else tuple(_causes(cores))
    surely = _surely(judged, middle)
    return StationProof(
        terminal, area, verdict, surely, tuple(cores), causes, _sentence(terminal, verdict, surely, middle)
    )


def _surely(judged: Sequence[int], middle: float) -> str:
    if not judged:
        return "no core was read by feel or probed for its moist depth"
    if middle not in {-1.0, 0.0, 1.0}:
        return f"{len(judged)} cores that disagree"
    same = sum(each == middle for each in judged)
    beyond = "by more than the width of its class" if middle else "within the width of its class"
    return f"{same} of {len(judged)} core{'' if len(judged) == 1 else 's'}, each {beyond}"


def _sentence(terminal: int, verdict: str, surely: str, middle: float) -> str:
    found = {-1: "wetter than predicted", 0: "as predicted", 1: "drier than predicted"}.get(int(np.sign(middle)), "")
    match verdict:
        case "proved":
            return f"Station {terminal}: proved: the soil is as predicted ({surely})."
        case "refuted":
            return f"Station {terminal}: refuted: the soil is {found} ({surely})."
        case _:
            return f"Station {terminal}: open ({surely}); {LEAST_CORES_COUNT} cores or more that agree would settle it."


def _middle(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return float(np.median(known)) if known else None


def _causes(cores: Sequence[CoreProof]) -> list[Cause]:
    """Say what drier soil speaks for: roots first, then how deep the water went, then how much arrived."""
    found: list[Cause] = []
    roots, planned = _middle([core.found_roots_mm for core in cores]), cores[0].planned_roots_mm
    if roots is not None and 0.0 < roots < SHALLOWER_BELOW_FACTOR * planned:
        found.append(
            Cause(
                "roots shallower",
                "The roots end above the depth that the plan counted on.",
                "Plan with the roots that were found: less water at a time, more often.",
                roots,
                "mm",
            )
        )
    depths = [c.found_moist_mm - c.predicted_moist_mm for c in cores if c.found_moist_mm is not None]
    as_deep = bool(depths) and float(np.median(depths)) >= -PROBE_WITHIN_MM
    least, most = _middle([c.arrived_low_factor for c in cores]), _middle([c.arrived_high_factor for c in cores])
    if as_deep:
        found.append(
            Cause(
                "soil holds less",
                "The water went as deep as predicted and yet less is left: the soil holds less than the plan thought.",
                "Test the texture, and plan with less available water until that is known.",
            )
        )
    elif least is not None and most is not None and most <= 0.0:
        found.append(
            Cause(
                "uses more",
                "The soil is drier than it would be without any watering: the turf uses more than reckoned, or the "
                "soil was drier at the first visit than read.",
                "Look at shade, paving and wind around the area, and start the books from today's cores.",
            )
        )
    elif most is None or most < 1.0:
        found.append(_delivers_less(least, most))
    return found


def _delivers_less(least: float | None, most: float | None) -> Cause:
    if least is None or most is None:
        said, share = "The water did not get as deep as predicted: less lands than was measured.", None
    else:
        said = f"Less lands than was measured: {least:.0%} to {most:.0%} of it would explain the cores."
        share = (least + most) / 2.0
    change = "See that the station ran its minutes, then set cups out again; until then plan with what the cores say."
    return Cause("delivers less", said, change, share, "" if share is None else "factor")


def _wetter(cores: Sequence[CoreProof]) -> tuple[Cause, ...]:
    least = _middle([core.arrived_low_factor for core in cores])
    return (
        Cause(
            "wetter",
            "The soil is wetter than predicted: more lands than was measured, or the turf uses less.",
            "Start the books from today's cores and set cups out again; do not run longer.",
            least,
            "" if least is None else "factor",
        ),
    )
