"""The week as planned: runs, the reasons that led to each, and the books behind them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from etsched.days import Night
from etsched.model.light_runs import LightDay
from etsched.model.site import Basis, Site


@dataclass(frozen=True, slots=True)
class Assumption:
    """A number nobody measured: what was taken, where it comes from, what other values would do.

    `low` and `high` are the plausible bounds of the figure; `minutes_low` and `minutes_high` the station's
    minutes of the week if the figure stood there instead, everything else unchanged.
    """

    terminal: int | None  # None: it holds for the whole property
    field: str
    suffix: str
    value: float
    basis: Basis
    source: str
    low: float | None = None
    high: float | None = None
    minutes_now: int | None = None
    minutes_low: int | None = None
    minutes_high: int | None = None
    measure: str = ""  # what would turn the guess into knowledge


@dataclass(frozen=True, slots=True)
class MinutesRange:
    """Between which minutes a station's week likely lies, before the window is looked at.

    `widest` is the number that moves it most, `narrows` the one that a measurement on site would narrow most.
    """

    terminal: int
    wanted_min: int
    low_min: int
    high_min: int
    widest: str
    narrows: str
    measure: str


@dataclass(frozen=True, slots=True)
class WeekBound:
    """The week beside what no plan on the same nights could better; depths summed over the working stations.

    `past_mm` is depletion past allowable, over the days too; `credited_mm` the water that the books credit.
    """

    past_mm: float
    least_past_mm: float
    credited_mm: float
    least_credited_mm: float


@dataclass(frozen=True, slots=True)
class Remedy:
    """One thing that would let the nights hold more, and what would then still be missing."""

    words: str
    missing_min: int
    past_mm: float  # depletion past allowable, summed over stations and days
    dry_stations_count: int | None = None  # stations that end a day past it; None in documents of earlier versions
    dry_evenings_count: int | None = None  # on which they do, each station's own, added up


@dataclass(frozen=True, slots=True)
class Saving:
    """What a station would save of the week as planned if it watered as evenly as a good one of its kind."""

    terminal: int
    found_fraction: float | None  # DU(lq) by cups; None where nobody set any, and nothing is known then
    even_fraction: float
    saved_l: float | None  # None where the flow is not known either


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a station's working: the result, the formula in words, its inputs and its source."""

    name: str
    value: float
    suffix: str
    formula: str
    source: str


@dataclass(frozen=True, slots=True)
class Cycle:
    """One run of a valve within a night, in minutes after the window opens."""

    start_min: int
    length_min: int

    @property
    def end_min(self) -> int:
        """Minute after opening at which the valve closes."""
        return self.start_min + self.length_min


@dataclass(frozen=True, slots=True)
class Run:
    """What one station does in one night, and why."""

    terminal: int
    cycles: tuple[Cycle, ...]
    soak_min: int  # the least pause between two cycles of this station
    wanted_min: int  # minutes asked for before the window was looked at
    depletion_mm: float
    allowable_mm: float
    net_mm: float  # what the root zone lacks
    gross_mm: float  # what must be applied for it
    applied_mm: float  # what the whole minutes put down
    credited_mm: float  # what the books of the drier part credit
    flow_l: float | None
    reason: str
    working: tuple[Step, ...]

    @property
    def length_min(self) -> int:
        """Minutes of water in the night, all cycles together."""
        return sum(cycle.length_min for cycle in self.cycles)


@dataclass(frozen=True, slots=True)
class Shortfall:
    """Minutes a station needed and the night could not hold."""

    terminal: int
    missing_min: int
    reason: str


class RestKind(StrEnum):
    """Why a station does not water on a night."""

    ENOUGH = "enough"  # it can wait
    RAIN = "rain"
    FULL = "saturated"
    BLOCKED = "blocked"
    BAN = "ban"
    WIND = "wind"
    FREEZE = "freeze"
    RESTRICTION = "restriction"
    DORMANT = "dormant"
    LIGHT = "runs by day"
    DAY = "no water day"
    SHORT = "does not fit"


@dataclass(frozen=True, slots=True)
class Rest:
    """A night on which a station does not water, and why; `until` is the day that its next run serves."""

    terminal: int
    opens_on: date
    serves: date
    kind: RestKind
    reason: str
    depletion_mm: float  # at dusk
    peak_mm: float  # that it reaches before the next chance
    allowable_mm: float
    until: date | None = None  # None: not in this week


@dataclass(frozen=True, slots=True)
class NightPlan:
    """One watering night: its window, its runs in order of terminal, and how tightly they are packed."""

    night: Night
    runs: tuple[Run, ...]
    used_min: int  # minute after opening at which the last valve closes
    bound_min: int  # no order of the same cycles and soaks can end earlier
    shortfalls: tuple[Shortfall, ...] = ()


@dataclass(frozen=True, slots=True)
class DayWeather:
    """What the plan took one day's weather to be."""

    day: date
    forecast: bool
    tmin_c: float
    tmax_c: float
    eto_mm: float
    rain_mm: float
    filled: tuple[str, ...]  # which variables were filled, and how, in words
    standing_in: bool = False  # no usable weather for the day: mean ETo of the last days, no rain
    eto_low_mm: float | None = None  # likely range of ETo: what was filled, how far an ensemble's members lie apart
    eto_high_mm: float | None = None
    rain_low_mm: float | None = None  # likely range of rain, where an ensemble gives one
    rain_high_mm: float | None = None
    rain_chance_pct: float | None = None  # highest of the day, where the forecast gives one
    grade: str = ""  # sound, filled, weak or unfit; "" where nobody looked
    reasons: tuple[str, ...] = ()  # behind the grade
    sources: tuple[str, ...] = ()  # which feed each value comes from


@dataclass(frozen=True, slots=True)
class StationDay:
    """One line of the water books: station × day, mm. Depletion is that of the root zone."""

    terminal: int
    day: date
    start_mm: float
    irrigation_mm: float
    rain_mm: float  # effective
    et_mm: float
    passed_mm: float  # went below the roots
    drained_mm: float  # left the deepest layer
    end_mm: float
    allowable_mm: float
    capacity_mm: float  # total available water of the root zone


@dataclass(frozen=True, slots=True)
class BooksBefore:
    """The days before a plan as far as their books are known: last week's document, what ran, soil that was read."""

    days: tuple[DayWeather, ...] = ()
    books: tuple[StationDay, ...] = ()


@dataclass(frozen=True, slots=True)
class DepletionRange:
    """Between which depletions a station's evening likely lies, if what is planned runs."""

    terminal: int
    day: date
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True)
class WaterState:
    """Water by layer on a morning: mm missing from field capacity, per terminal, roots first.

    `thickness_mm` holds the layers' thickness, same shape.
    """

    morning: date
    deficit_mm: dict[int, tuple[float, ...]]
    thickness_mm: dict[int, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class WeekPlan:
    """The week's plan with everything that led to it."""

    site: Site
    first_day: date
    days: tuple[DayWeather, ...]
    nights: tuple[NightPlan, ...]
    books: tuple[StationDay, ...]
    start: WaterState
    end: WaterState
    assumptions: tuple[Assumption, ...]
    notes: tuple[str, ...]
    weather_source: str
    attributions: tuple[str, ...] = ()  # words that must stand with every output
    light: tuple[LightDay, ...] = ()  # runs by day of new seed and new sod
    watered: tuple[tuple[int, date, int], ...] = ()  # last run of dormant turf before: terminal, day served, minutes
    observed_through: date | None = None  # last day whose weather was observed; None where none was
    forecast_from: date | None = None  # first day after it whose weather is a forecast, today mostly
    rests: tuple[Rest, ...] = ()  # by day served, then terminal
    ranges: tuple[MinutesRange, ...] = ()  # by terminal
    bound: WeekBound | None = None  # None where nobody asked
    before: BooksBefore = BooksBefore()
    depletion_ranges: tuple[DepletionRange, ...] = ()  # by day, then terminal
    remedies: tuple[Remedy, ...] = ()  # the one worth most first; none where everything fits
    savings: tuple[Saving, ...] = ()  # by terminal; of stations that water, where more evenness is to be had or found
