"""What was seen and read on a visit, as it was written down: areas, runs, heads, readings, notes."""

from __future__ import annotations

from dataclasses import dataclass
from math import isinf
from typing import TYPE_CHECKING

from etsched.reference.faults import head_faults
from etsched.tables.figure import NOT_KNOWN, Figure, figure, plain
from etsched.tables.visit_words import areas_by_terminal, seen_text, small_figure, texts, yes_no

if TYPE_CHECKING:
    from collections.abc import Mapping

    from etsched.model.visit import AreaSeen, HeadSeen, MeterReading, Salts, StationRun
    from etsched.planning.visit_outcome import CoilRead, VisitOutcome
    from etsched.units import UnitSystem

    Areas = Mapping[int, str]


@dataclass(frozen=True, slots=True)
class AreaRow:
    """How one area looked, and what hands and a ruler found there."""

    name: str
    pattern: str
    colour: str
    signs: tuple[str, ...]
    living_cover: Figure
    tug: str
    insects: tuple[str, ...]
    drop: Figure
    mown: Figure
    thatch: Figure
    where: str  # the place within the area
    note: str

    @property
    def readings(self) -> str:
        """What was tried and measured, in one line."""
        measured = (
            ("living cover", self.living_cover),
            ("a drop sat", self.drop),
            ("mown at", self.mown),
            ("thatch", self.thatch),
        )
        said = [f"{name} {each.text}" for name, each in measured if each.value is not None]
        tug = [f"tugged: {self.tug}"] if self.tug else []
        return "; ".join([*said, *tug, *self.insects, *([self.note] if self.note else [])])


@dataclass(frozen=True, slots=True)
class RunRow:
    """What happened when a terminal was run."""

    terminal: int
    area: str
    from_controller: str
    by_hand: str
    wet: str
    leak: str
    first_runoff: Figure


@dataclass(frozen=True, slots=True)
class HeadRow:
    """Heads of a station with one fault."""

    terminal: int
    area: str
    count: int
    fault: str
    label: str
    note: str


@dataclass(frozen=True, slots=True)
class CoilRow:
    """One electrical reading and what it says."""

    terminal: int
    area: str
    coil: str  # "34 Ω", or "open" where the meter showed no reading
    volts: Figure
    kind: str
    sentence: str
    source: str


@dataclass(frozen=True, slots=True)
class MeterRow:
    """Water through the meter; `terminal` None is the leak test, while nothing ran."""

    terminal: int | None
    area: str
    volume: Figure
    minutes: Figure
    flow: Figure


@dataclass(frozen=True, slots=True)
class VisitSeen:
    """All that was written down beside the clock, the cups and the cores."""

    areas: tuple[AreaRow, ...]
    runs: tuple[RunRow, ...]
    heads: tuple[HeadRow, ...]
    coils: tuple[CoilRow, ...]
    meters: tuple[MeterRow, ...]
    water_salts: Figure
    soil_salts: Figure
    notes: tuple[str, ...]
    photos: tuple[str, ...]

    @property
    def creeps(self) -> bool:
        """Whether water passed the meter while nothing ran."""
        return any(row.terminal is None and row.volume.value for row in self.meters)

    @property
    def anything(self) -> bool:
        """Whether there is anything to show."""
        salts = (self.water_salts.value, self.soil_salts.value) != (None, None)
        lists = (self.areas, self.runs, self.heads, self.coils, self.meters, self.notes, self.photos)
        return salts or any(lists)


def visit_seen(outcome: VisitOutcome, system: UnitSystem) -> VisitSeen:
    """Write what was seen, in the order in which it was written down."""
    visit, areas = outcome.visit, areas_by_terminal(outcome.found)
    water, soil = _salts(visit.salts, system)
    return VisitSeen(
        areas=tuple(_area(each, system) for each in visit.areas),
        runs=tuple(_run(each, areas, system) for each in visit.runs),
        heads=tuple(_head(each, areas) for each in visit.heads),
        coils=tuple(_coil(each, areas, system) for each in outcome.coils),
        meters=tuple(_meter(each, areas, system) for each in visit.meters),
        water_salts=water,
        soil_salts=soil,
        notes=texts(visit.notes),
        photos=texts(visit.photos),
    )


def _area(seen: AreaSeen, system: UnitSystem) -> AreaRow:
    return AreaRow(
        name=plain(seen.name),
        pattern=seen_text(seen.pattern),
        colour=seen_text(seen.colour),
        signs=tuple(seen_text(sign) for sign in seen.signs),
        living_cover=figure(seen.living_cover_pct, "pct", system),
        tug=plain(seen.tug),
        insects=tuple(f"{plain(kind)}: {count:g} a square foot" for kind, count in seen.insects_count.items()),
        drop=figure(seen.drop_s, "s", system),
        mown=figure(seen.mown_mm, "mm", system),
        thatch=figure(seen.thatch_mm, "mm", system),
        where=plain(seen.where),
        note=plain(seen.note),
    )


def _run(run: StationRun, areas: Areas, system: UnitSystem) -> RunRow:
    wet = NOT_KNOWN if run.wet_areas is None else ", ".join(texts(run.wet_areas)) or "nothing"
    return RunRow(
        run.station,
        areas.get(run.station, ""),
        yes_no(run.from_controller),
        yes_no(run.by_hand),
        wet,
        plain(run.leak),
        figure(run.first_runoff_min, "min", system),
    )


def _head(seen: HeadSeen, areas: Areas) -> HeadRow:
    known = head_faults().get(seen.fault)
    fault = plain(seen.fault if known is None else known.words)
    return HeadRow(seen.station, areas.get(seen.station, ""), seen.count, fault, plain(seen.label), plain(seen.note))


def _coil(read: CoilRead, areas: Areas, system: UnitSystem) -> CoilRow:
    ohm, says = read.reading.coil_ohm, read.says
    return CoilRow(
        read.reading.station,
        areas.get(read.reading.station, ""),
        "open" if ohm is not None and isinf(ohm) else figure(ohm, "ohm", system).text,
        figure(read.reading.volts_v, "v", system),
        says.kind,
        plain(says.sentence),
        says.source,
    )


def _meter(read: MeterReading, areas: Areas, system: UnitSystem) -> MeterRow:
    flow = read.volume_l / read.minutes_min if read.minutes_min > 0.0 else None
    return MeterRow(
        read.station,
        "nothing ran: the leak test" if read.station is None else areas.get(read.station, ""),
        small_figure(read.volume_l, "l", system),
        figure(read.minutes_min, "min", system),
        small_figure(flow, "l_min", system),
    )


def _salts(salts: Salts | None, system: UnitSystem) -> tuple[Figure, Figure]:
    water, soil = (None, None) if salts is None else (salts.water_ds_m, salts.soil_ds_m)
    return figure(water, "ds_m", system), figure(soil, "ds_m", system)
