"""What a technician saw and measured on one visit. Everything but the date may be missing; nothing is filled in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time

from etsched.days import day_in_full
from etsched.model.recovery import RecoveryAsk


@dataclass(frozen=True, slots=True)
class Cup:
    """One catch cup: what it held, and where it stood on a grid of the tester's own (east, north)."""

    volume_ml: float | None = None
    depth_mm: float | None = None
    x_m: float | None = None
    y_m: float | None = None


@dataclass(frozen=True, slots=True)
class CupTest:
    """Cups set out under one station, or under several that overlap and ran each for its share."""

    stations: tuple[int, ...]
    minutes_min: tuple[float, ...]  # how long each of the stations ran
    cups: tuple[Cup, ...]
    throat_cm2: float | None = None  # None where depths were read
    capacity_ml: float | None = None
    wind_m_s: float | None = None
    pressure_kpa: float | None = None
    area: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class CoreLayer:
    """One layer of a soil core and how moist it felt: a class of the feel-and-appearance table."""

    top_mm: float
    bottom_mm: float
    feel: str


@dataclass(frozen=True, slots=True)
class Core:
    """One soil core: where, in green or in brown turf, moist to what depth, roots to what depth."""

    area: str = ""
    station: int | None = None
    colour: str = ""  # "green" or "brown"
    moist_mm: float | None = None
    roots_mm: float | None = None
    layers: tuple[CoreLayer, ...] = ()
    stone_mm: float | None = None  # depth at which the probe met a stone
    x_m: float | None = None
    y_m: float | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class StationRun:
    """What happened when a terminal was run: from the controller, by hand at the valve, and what got wet."""

    station: int
    from_controller: bool | None = None
    by_hand: bool | None = None
    wet_areas: tuple[str, ...] | None = None  # None: nobody looked; empty: nothing got wet
    leak: str = ""
    first_runoff_min: float | None = None


@dataclass(frozen=True, slots=True)
class HeadSeen:
    """Heads of a station with one fault."""

    station: int
    fault: str
    count: int = 1
    label: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ElectricalReading:
    """Readings of a station: resistance of coil and wires with the power off, voltage with it on."""

    station: int
    coil_ohm: float | None = None
    volts_v: float | None = None
    volts_at: str = ""  # "terminal" or "valve": where the voltage was read; "": nobody said


@dataclass(frozen=True, slots=True)
class AreaSeen:
    """A patch of ground as it looked: pattern, colour, signs, and the tests that need only hands."""

    name: str
    pattern: str = ""
    colour: str = ""
    signs: tuple[str, ...] = ()
    living_cover_pct: float | None = None
    tug: str = ""  # "holds" or "lifts"
    insects_count: Mapping[str, float] = field(default_factory=dict)  # kind → number in a square foot
    drop_s: float | None = None  # how long a drop of water sat on an air-dry core
    mown_mm: float | None = None
    thatch_mm: float | None = None
    where: str = ""  # the place within the area
    note: str = ""


@dataclass(frozen=True, slots=True)
class Program:
    """One program found in the clock: it runs its stations in order, from each start time, on its days."""

    name: str
    starts: tuple[time, ...]
    days: frozenset[int]  # weekdays, Monday = 0
    minutes_min: Mapping[int, float]  # terminal → minutes, in the order in which they run
    percent_adjust_pct: float = 100.0


@dataclass(frozen=True, slots=True)
class ClockFound:
    """The controller as it was found, or as somebody keyed it in; `source` says which."""

    programs: tuple[Program, ...]
    rain_switch: str = ""  # "on", "bypassed" or "none"
    reads: datetime | None = None  # date and time it showed
    really: datetime | None = None  # date and time it was
    source: str = "the clock as it was found"


@dataclass(frozen=True, slots=True)
class MeterReading:
    """Water through the meter while one station ran; station None: while nothing ran, the static leak test."""

    station: int | None
    volume_l: float
    minutes_min: float


@dataclass(frozen=True, slots=True)
class Salts:
    """Electrical conductivity of the irrigation water and of the soil's saturation extract, dS/m."""

    water_ds_m: float | None = None
    soil_ds_m: float | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit to a property."""

    day: date
    technician: str = ""
    site_name: str = ""
    clock: ClockFound | None = None
    areas: tuple[AreaSeen, ...] = ()
    runs: tuple[StationRun, ...] = ()
    heads: tuple[HeadSeen, ...] = ()
    electrical: tuple[ElectricalReading, ...] = ()
    cup_tests: tuple[CupTest, ...] = ()
    cores: tuple[Core, ...] = ()
    meters: tuple[MeterReading, ...] = ()
    salts: Salts | None = None
    photos: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    recovery: RecoveryAsk = field(default_factory=RecoveryAsk)

    @property
    def name(self) -> str:
        """Name the visit as sources do, which may outlive its year."""
        return f"visit of {day_in_full(self.day)}"
