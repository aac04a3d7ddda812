"""What the cup tests of a visit say: rate, uniformity, how sure both are, and what tonight lays down there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.clock import night_text
from etsched.tables.figure import Figure, figure, plain, span
from etsched.tables.visit_words import areas_by_terminal, texts
from etsched.tables.week import find_run

if TYPE_CHECKING:
    from etsched.model.plan import WeekPlan
    from etsched.planning.cup_results import CupResult
    from etsched.planning.visit_outcome import CupsRead, VisitOutcome
    from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class CupRow:
    """One cup test; figures are not known where it was refused or its cups are too few."""

    terminals: tuple[int, ...]
    area: str
    name: str  # what stands over its map
    count: int
    minutes: tuple[Figure, ...]  # by station
    wind: Figure
    pressure: Figure
    depth: Figure  # that fell in the test
    depth_likely: str
    rate: Figure  # not known of several stations that ran together
    rate_likely: str
    wettest_rate: Figure  # of the wettest quarter
    du_lq: Figure
    du_lq_likely: str
    du_lh: Figure
    cu: Figure
    sureness: str
    remarks: tuple[str, ...]
    refused: str
    note: str
    tonight: Figure  # mean depth of the first night in which the station runs
    night: str  # which night that is; "" where it does not run

    @property
    def conditions(self) -> str:
        """Wind and pressure as far as they were read."""
        return ", ".join(each.text for each in (self.wind, self.pressure) if each.value is not None)

    @property
    def said(self) -> str:
        """What fell in the test, or why it tells nothing."""
        if self.refused:
            return f"The cups tell nothing: {self.refused}."
        return f"{self.depth.text} fell on average, likely {self.depth_likely}."


def visit_cups(outcome: VisitOutcome, system: UnitSystem) -> tuple[CupRow, ...]:
    """Write every cup test, in the order of the record."""
    return tuple(_row(outcome, read, system) for read in outcome.cups)


def _row(outcome: VisitOutcome, read: CupsRead, system: UnitSystem) -> CupRow:
    test, result = read.test, read.result
    areas = areas_by_terminal(outcome.found)
    area = plain(test.area) or ", ".join(dict.fromkeys(areas[t] for t in test.stations if t in areas))
    tonight_mm, night = first_night(outcome.plan, test.stations)
    even = None if result is None else result.uniformity
    rate, rate_likely = _rate(result, system)
    return CupRow(
        terminals=test.stations,
        area=area,
        name=_name(test.stations, area),
        count=len(test.cups),
        minutes=tuple(figure(minutes, "min", system) for minutes in test.minutes_min),
        wind=figure(test.wind_m_s, "m_s", system),
        pressure=figure(test.pressure_kpa, "water_kpa", system),
        depth=figure(None if result is None else result.depth_mm, "mm", system),
        depth_likely="" if result is None else _likely(result.depth_low_mm, result.depth_high_mm, "mm", system),
        rate=rate,
        rate_likely=rate_likely,
        wettest_rate=figure(None if result is None else result.wettest_quarter_rate_mm_h, "mm_h", system),
        du_lq=figure(None if even is None else even.du_lq_fraction, "fraction", system),
        du_lq_likely=""
        if even is None
        else _likely(even.du_lq_low_fraction, even.du_lq_high_fraction, "fraction", system),
        du_lh=figure(None if even is None else even.du_lh_fraction, "fraction", system),
        cu=figure(None if even is None else even.cu_fraction, "fraction", system),
        sureness="" if result is None else plain(result.sureness),
        remarks=() if result is None else texts(result.remarks),
        refused=plain(read.refused),
        note=plain(test.note),
        tonight=figure(tonight_mm, "mm", system),
        night=night,
    )


def _rate(result: CupResult | None, system: UnitSystem) -> tuple[Figure, str]:
    if result is None:
        return figure(None, "mm_h", system), ""
    return figure(result.rate_mm_h, "mm_h", system), _likely(
        result.rate_low_mm_h, result.rate_high_mm_h, "mm_h", system
    )


def _likely(low: float | None, high: float | None, suffix: str, system: UnitSystem) -> str:
    return span(figure(low, suffix, system), figure(high, suffix, system))


def _name(terminals: tuple[int, ...], area: str) -> str:
    who = f"Station {terminals[0]}" if len(terminals) == 1 else f"Stations {', '.join(map(str, terminals))}"
    return f"{who}, {area}" if area else who


def first_night(plan: WeekPlan, terminals: tuple[int, ...]) -> tuple[float | None, str]:
    """Give the depth, mm, of the first night in which a station runs, and which night that is.

    Of several stations that overlap no depth is known: each one's is a mean over an area of its own.
    """
    if len(terminals) != 1:
        return None, ""
    for night in plan.nights:
        run = find_run(night, terminals[0])
        if run is not None:
            return run.applied_mm, night_text(night.night)
    return None, ""
