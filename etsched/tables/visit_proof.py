"""What a return visit proves of the visit before it: predicted against found, core by core, then station by station."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.tables.figure import NOT_KNOWN, Figure, figure, plain, span
from etsched.tables.visit_words import Day

if TYPE_CHECKING:
    from etsched.planning.return_visit import Cause, CoreProof, StationProof
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem

_AGAINST = {1: "drier than predicted", 0: "as predicted", -1: "wetter than predicted", None: "not read"}


@dataclass(frozen=True, slots=True)
class CoreProofRow:
    """One core against the books at its own place; `missing` is of the root zone on the visit's morning."""

    terminal: int
    area: str
    colour: str
    place: Figure  # what lands there against the mean, by the nearest cup
    moist_predicted: Figure
    moist_found: Figure
    missing_predicted: Figure
    missing_found: str  # between the ends of the feel class
    arrived: str  # share of the reckoned water that would explain the core
    roots_planned: Figure
    roots_found: Figure
    verdict: str


@dataclass(frozen=True, slots=True)
class ProofCauseRow:
    """What a difference speaks for, and what to change."""

    kind: str
    sentence: str
    change: str
    value: Figure


@dataclass(frozen=True, slots=True)
class StationProofRow:
    """The verdict on one station's plan."""

    terminal: int
    area: str
    verdict: str
    surely: str
    sentence: str
    causes: tuple[ProofCauseRow, ...]


@dataclass(frozen=True, slots=True)
class VisitProof:
    """The proof: its statement for the customer, the cores and the stations."""

    since: Day
    statement: str
    cores: tuple[CoreProofRow, ...]
    stations: tuple[StationProofRow, ...]


def visit_proof(outcome: VisitOutcome, system: UnitSystem) -> VisitProof | None:
    """Write the proof; None where this is no return visit."""
    proof = outcome.proof
    if proof is None:
        return None
    return VisitProof(
        since=Day(proof.since.day),
        statement=plain(proof.statement),
        cores=tuple(_core(core, station, system) for station in proof.stations for core in station.cores),
        stations=tuple(_station(station, system) for station in proof.stations),
    )


def _core(core: CoreProof, station: StationProof, system: UnitSystem) -> CoreProofRow:
    def depth(value_mm: float | None) -> Figure:
        return figure(value_mm, "mm", system)

    def share(value: float | None) -> Figure:
        return figure(value, "fraction", system)

    return CoreProofRow(
        terminal=core.terminal,
        area=plain(core.area) or plain(station.area),
        colour=plain(core.colour),
        place=share(core.place_factor),
        moist_predicted=depth(core.predicted_moist_mm),
        moist_found=depth(core.found_moist_mm),
        missing_predicted=depth(core.predicted_deficit_mm),
        missing_found=span(depth(core.found_low_mm), depth(core.found_high_mm)) or NOT_KNOWN,
        arrived=span(share(core.arrived_low_factor), share(core.arrived_high_factor)) or NOT_KNOWN,
        roots_planned=depth(core.planned_roots_mm),
        roots_found=depth(core.found_roots_mm),
        verdict=_AGAINST[core.drier],
    )


def _station(station: StationProof, system: UnitSystem) -> StationProofRow:
    return StationProofRow(
        terminal=station.terminal,
        area=plain(station.area),
        verdict=station.verdict,
        surely=plain(station.surely),
        sentence=plain(station.sentence),
        causes=tuple(_cause(cause, system) for cause in station.causes),
    )


def _cause(cause: Cause, system: UnitSystem) -> ProofCauseRow:
    # A share of the water reads best in percent.
    suffix = "fraction" if cause.suffix == "factor" else cause.suffix
    value = figure(cause.value if suffix else None, suffix, system)
    return ProofCauseRow(plain(cause.kind), plain(cause.sentence), plain(cause.change), value)
