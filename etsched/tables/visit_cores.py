"""What the soil cores of a visit show: each core as it was read, and what they say of each station."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import Figure, figure, plain, span
from etsched.tables.visit_words import areas_by_terminal, texts

if TYPE_CHECKING:
    from etsched.model.visit import Core
    from etsched.planning.core_results import CoreResult
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem


@dataclass(frozen=True, slots=True)
class CoreRow:
    """One core as it was read."""

    number: int
    terminal: int | None
    area: str
    colour: str
    moist: Figure
    roots: Figure
    stone: Figure
    layers: tuple[str, ...]  # "0.00–2.00 in moist"
    note: str


@dataclass(frozen=True, slots=True)
class StationCoresRow:
    """What the cores of one station establish; `missing` is water of the root zone, not known where too few tell."""

    terminal: int
    area: str
    cores: int
    used: int
    roots: Figure
    moist: Figure
    green_moist: Figure
    brown_moist: Figure
    missing: Figure
    missing_likely: str
    sentence: str
    local: tuple[str, ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VisitCores:
    """The cores one by one, and by station."""

    cores: tuple[CoreRow, ...]
    stations: tuple[StationCoresRow, ...]


def visit_cores(outcome: VisitOutcome, system: UnitSystem) -> VisitCores | None:
    """Write the cores; None where none was taken."""
    if not outcome.visit.cores and not outcome.cores:
        return None
    areas = areas_by_terminal(outcome.found)
    return VisitCores(
        tuple(_core(number, core, areas, system) for number, core in enumerate(outcome.visit.cores, 1)),
        tuple(_station(result, areas.get(result.terminal, ""), system) for result in outcome.cores),
    )


def _core(number: int, core: Core, areas: dict[int, str], system: UnitSystem) -> CoreRow:
    at = areas.get(core.station, "") if core.station is not None else ""
    return CoreRow(
        number=number,
        terminal=core.station,
        area=plain(core.area) or at,
        colour=plain(core.colour),
        moist=figure(core.moist_mm, "mm", system),
        roots=figure(core.roots_mm, "mm", system),
        stone=figure(core.stone_mm, "mm", system),
        layers=tuple(
            f"{span(figure(layer.top_mm, 'mm', system), figure(layer.bottom_mm, 'mm', system))} {plain(layer.feel)}"
            for layer in core.layers
        ),
        note=plain(core.note),
    )


def _station(found: CoreResult, area: str, system: UnitSystem) -> StationCoresRow:
    def depth(value_mm: float | None) -> Figure:
        return figure(value_mm, "mm", system)

    def top(layers: tuple[float, ...] | None) -> Figure:
        return depth(layers[0] if layers else None)

    return StationCoresRow(
        terminal=found.terminal,
        area=area,
        cores=found.cores_count,
        used=found.used_count,
        roots=depth(found.root_depth_mm),
        moist=depth(found.moist_mm),
        green_moist=depth(found.green_moist_mm),
        brown_moist=depth(found.brown_moist_mm),
        missing=top(found.deficit_mm),
        missing_likely=span(top(found.deficit_low_mm), top(found.deficit_high_mm)),
        sentence=plain(found.sentence),
        local=texts(found.local),
        remarks=texts(found.remarks),
    )
