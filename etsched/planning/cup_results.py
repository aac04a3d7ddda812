"""What a test with catch cups says: a rate, how evenly the water lands, how sure both are, which rules it broke."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import catch_cups
from etsched.errors import PlanRefused
from etsched.reference import cups as known

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from etsched.model.visit import CupTest
    from etsched.reference.cups import Pivots


@dataclass(frozen=True, slots=True)
class CupResult:
    """One cup test, judged. A range holds the ground in the stated share of tests.

    Of several stations that ran together, each for its share, the cups tell the depth of the area and no station's
    rate: `of_area` is then true and all rates are None.
    """

    stations: tuple[int, ...]
    area: str
    count: int
    of_area: bool
    depth_mm: float
    depth_low_mm: float
    depth_high_mm: float
    rate_mm_h: float | None
    rate_low_mm_h: float | None
    rate_high_mm_h: float | None
    wettest_quarter_rate_mm_h: float | None
    rate_covered_fraction: float
    uniformity: Uniformity | None  # None: too few cups
    sureness: str  # how often such ranges hold, in a sentence
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Uniformity:
    """How evenly the water lands. DU(lq) is of the ground, the bias of few cups taken off; the rest is of the cups."""

    du_lq_fraction: float
    du_lq_low_fraction: float
    du_lq_high_fraction: float
    du_lq_caught_fraction: float
    du_lh_fraction: float
    cu_fraction: float
    wettest_quarter_factor: float
    covered_fraction: float  # by the range, on fields as lawns usually are
    covered_least_fraction: float  # by the range, on the hardest of them


def cup_depths(test: CupTest) -> NDArray[np.float64]:
    """Give the depth in each cup, mm, in the order of the test."""
    depths = [
        cup.depth_mm if cup.depth_mm is not None else _of_volume(cup.volume_ml, test.throat_cm2) for cup in test.cups
    ]
    return np.array(depths, dtype=float)


def cup_result(test: CupTest, heads: Sequence[str] = ()) -> CupResult:
    """Judge a cup test.

    Parameters
    ----------
    test : CupTest
    heads : sequence of str
        What the stations of the test water with, in the words of the site file; the run of a single station is held
        against them.

    Returns
    -------
    CupResult

    Raises
    ------
    PlanRefused
        Where the cups tell nothing: too few, all empty, no time, or volumes without the throat of the cups.
    """
    depth, count = cup_depths(test), len(test.cups)
    _refuse_worthless(test, depth)
    of_area = len(test.stations) > 1
    mean, pivots = np.asarray(depth.mean()), known.rate_pivots(count)
    low, high = catch_cups.rate_range(mean, catch_cups.rate_spread(depth), pivots.less_factor, pivots.more_factor)

    def hourly(depth_mm: NDArray[np.float64]) -> float | None:
        return None if of_area else float(depth_mm) * 60.0 / test.minutes_min[0]

    evenness = _uniformity(depth) if count >= known.least_for_uniformity() else None
    return CupResult(
        stations=test.stations,
        area=test.area,
        count=count,
        of_area=of_area,
        depth_mm=float(mean),
        depth_low_mm=float(low),
        depth_high_mm=float(high),
        rate_mm_h=hourly(mean),
        rate_low_mm_h=hourly(low),
        rate_high_mm_h=hourly(high),
        wettest_quarter_rate_mm_h=hourly(mean * catch_cups.wettest_quarter_ratio(depth)),
        rate_covered_fraction=pivots.usual_fraction,
        uniformity=evenness,
        sureness=_sureness(count, pivots.usual_fraction, evenness),
        remarks=(*_of_count(count), *_of_conditions(test, heads), *_of_catch(test, depth)),
    )


def _of_volume(volume_ml: float | None, throat_cm2: float | None) -> float:
    if volume_ml is None:
        raise PlanRefused("a cup has neither a volume nor a depth")
    if throat_cm2 is None or throat_cm2 <= 0.0:
        raise PlanRefused("the cups were read as volumes, and without the area of their throat that is no depth")
    return float(catch_cups.depth_from_volume(np.array([volume_ml]), throat_cm2)[0])


def _refuse_worthless(test: CupTest, depth: NDArray[np.float64]) -> None:
    if len(depth) < known.least_for_rate():
        tell = "one cup tells" if len(depth) == 1 else f"{len(depth)} cups tell"
        raise PlanRefused(f"{tell} nothing; {known.least_for_rate()} tell a rate")
    if not test.stations or any(minutes <= 0.0 for minutes in test.minutes_min) or not test.minutes_min:
        raise PlanRefused("the cup test does not say which stations ran and for how long")
    if not np.isfinite(depth).all() or np.any(depth < 0.0):
        raise PlanRefused("a cup holds less than nothing")
    if not np.any(depth > 0.0):
        raise PlanRefused("no cup caught anything, so there is no rate and no uniformity")


def _uniformity(depth: NDArray[np.float64]) -> Uniformity:
    pivots: Pivots = known.uniformity_pivots(len(depth))
    caught = catch_cups.lower_quarter_uniformity(depth)
    corrected = catch_cups.without_bias(caught, known.uniformity_correction(len(depth)))
    low, high = catch_cups.uniformity_range(depth, pivots.less_factor, pivots.more_factor)
    return Uniformity(
        float(corrected),
        float(min(low, corrected)),
        float(max(high, corrected)),
        float(caught),
        float(catch_cups.lower_half_uniformity(depth)),
        float(catch_cups.christiansen_uniformity(depth)),
        float(catch_cups.wettest_quarter_ratio(depth)),
        pivots.usual_fraction,
        pivots.hardest_fraction,
    )


def _sureness(count: int, rate_covered: float, found: Uniformity | None) -> str:
    tried = known.tried_with(count)
    text = f"Tried on made lawns with {tried} cups, the range of the rate held the truth in {rate_covered:.0%} of tests"
    if found is None:
        return f"{text}."
    return (
        f"{text}, that of DU(lq) in {found.covered_fraction:.0%} ({found.covered_least_fraction:.0%} on the hardest)."
    )


def _of_count(count: int) -> Iterator[str]:
    least, multiple = known.rule("least_cups"), known.rule("multiple")
    if count < known.least_for_uniformity():
        yield (
            f"{count} cups tell a rate and no uniformity: fewer than {known.least_for_uniformity()} stray too far from "
            f"the ground. An audit asks for {least.value:.0f} ({least.source})."
        )
        return
    if count < least.value:
        yield (
            f"{count} cups, and an audit asks for {least.value:.0f} ({least.source}): the ranges are wider for it. A "
            "dry corner of an eighth of the ground may have no cup at all; there the range of DU(lq) holds in "
            f"{known.missed_corner(count):.0%} of tests."
        )
    if count % multiple.value:
        yield (
            f"{count} cups are no multiple of {multiple.value:.0f} ({multiple.source}): the cup at the boundary of a "
            "quarter counts in part."
        )


def _of_conditions(test: CupTest, heads: Sequence[str]) -> Iterator[str]:
    most = known.rule("most_wind")
    if test.wind_m_s is not None and test.wind_m_s > most.value:
        yield (
            f"Wind was {_wind(test.wind_m_s)}, and an audit stops at {_wind(most.value)} ({most.source}): in still air "
            "the water may land more evenly."
        )
    # Stations that overlap fill the cups together, so that each may run less than the rule of its heads.
    bounds = known.run_minutes(heads[0]) if heads and len(test.stations) == 1 else None
    if bounds is not None and not bounds[0] <= test.minutes_min[0] <= bounds[1]:
        yield (
            f"Station {test.stations[0]} ran {test.minutes_min[0]:g} min; a {heads[0]} runs {bounds[0]:g} to "
            f"{bounds[1]:g} min for a test, long enough for what starts late and not longer than cups hold."
        )
    if len(test.stations) > 1:
        together = ", ".join(map(str, test.stations))
        yield (
            f"Stations {together} ran together, each for its share: the cups tell the depth of the area, not a "
            "station's rate."
        )


def _of_catch(test: CupTest, depth: NDArray[np.float64]) -> Iterator[str]:
    least = known.rule("least_catch")
    volumes = [cup.volume_ml for cup in test.cups if cup.volume_ml is not None]
    if volumes and float(np.mean(volumes)) < least.value:
        yield (
            f"The cups caught {np.mean(volumes):.0f} mL on average, and {least.value:.0f} mL can be read surely "
            f"({least.source}): run longer next time."
        )
    if len(depth) >= known.least_for_uniformity():
        moved = 1.0 - catch_cups.mean_without_each(depth)
        worst = int(np.argmax(np.abs(moved)))
        if abs(moved[worst]) > known.rule("one_cup").value:
            yield (
                f"Cup {worst + 1} alone {'raises' if moved[worst] > 0.0 else 'lowers'} the mean by "
                f"{abs(moved[worst]):.0%}: look for a leak beside it, or a slip of the pen, and test again."
            )


def _wind(m_s: float) -> str:
    return f"{m_s / known.MPH_M_S:.0f} mph ({m_s:.1f} m/s)"
