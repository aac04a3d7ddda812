"""The property as its file describes it: nothing defaulted, every number in its canonical unit."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time
from enum import StrEnum
from zoneinfo import ZoneInfo


class Basis(StrEnum):
    """How a number is known."""

    MEASURED = "measured"
    FROM_FLOW = "from flow"
    STATED = "stated"
    TYPICAL = "typical"


class Head(StrEnum):
    """What kind of heads a station waters with."""

    SPRAY = "spray"
    ROTOR = "rotor"
    MULTI_STREAM = "multi-stream"


class TurfGroup(StrEnum):
    """The two species groups the crop coefficients are published for."""

    COOL = "cool-season"
    WARM = "warm-season"


class Exposure(StrEnum):
    """What stands around an area; each has a microclimate factor in the reference tables."""

    OPEN = "open"
    PART_SHADE = "part shade"
    SHADE = "shade"
    PAVING = "by paving"


class TurfMode(StrEnum):
    """In what state the turf of a station is, where an ordinary week does not fit it."""

    NORMAL = "normal"
    NEW_SEED = "new seed"
    NEW_SOD = "new sod"
    DORMANT = "dormant"


class MultiplierRule(StrEnum):
    """Which rule turns distribution uniformity into a run-time multiplier."""

    SCHEDULING = "scheduling"
    LOWER_HALF = "lower half"
    LOWER_QUARTER = "lower quarter"


class RainRule(StrEnum):
    """Which rule says how much of a day's rain the root zone may count on."""

    EVENT = "event"
    SHARE = "share"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class Known:
    """A number and how it is known."""

    value: float
    basis: Basis
    note: str = ""
    low: float | None = None  # range of a measurement; None where nobody told one
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """Where the property lies."""

    latitude_deg: float
    longitude_deg: float
    elevation_m: float
    zone: ZoneInfo


@dataclass(frozen=True, slots=True)
class WateringRules:
    """When and how much at once water may run. `water_days` holds weekdays, Monday = 0, of the window's opening."""

    opens_at: time
    closes_at: time
    water_days: frozenset[int]
    max_valves_count: int = 1
    max_flow_l_min: float | None = None
    valve_delay_min: int = 0  # between one valve and the next, for pump and master valve


class HoldKind(StrEnum):
    """What keeps valves shut for days."""

    BAN = "ban"
    WIND = "wind"
    FREEZE = "freeze"
    RESTRICTION = "restriction"


@dataclass(frozen=True, slots=True)
class Ban:
    """Days on which no watering may begin, both included; of all stations where none is named.

    The place bans in its site file, the weather as planning sees it coming.
    """

    first: date
    last: date
    reason: str
    terminals: frozenset[int] = frozenset()
    kind: HoldKind = HoldKind.BAN


@dataclass(frozen=True, slots=True)
class HoldLimits:
    """The weather that keeps valves shut for a night; None stands for what nobody said."""

    most_wind_m_s: float | None = None
    freeze_c: float | None = None


@dataclass(frozen=True, slots=True)
class Restriction:
    """Days, both included, on which less water or fewer nights are allowed than the water days give."""

    first: date
    last: date
    reason: str
    cut_pct: float = 0.0  # by so much less than the same week would take without it
    most_nights_count: int | None = None  # nights of a week on which any water may run


@dataclass(frozen=True, slots=True)
class NewTurfHours:
    """Hours by day in which new seed and new sod may have light runs, and what allows them."""

    opens_at: time
    closes_at: time
    permit: str


@dataclass(frozen=True, slots=True)
class Controller:
    """An ordinary clock: so many programs, each with so many start times; minutes are whole."""

    programs_count: int
    starts_count: int
    percent_adjust_low_pct: float = 0.0
    percent_adjust_high_pct: float = 200.0
    percent_adjust_step_pct: float = 1.0


@dataclass(frozen=True, slots=True)
class WaterPrice:
    """What one more cubic metre of water costs, and the price as the site file states it."""

    price_per_m3: float
    currency: str  # three letters
    stated: str  # "4.10 USD/kgal"


@dataclass(frozen=True, slots=True)
class Station:
    """One valve's circuit as described; None stands for what nobody said."""

    terminal: int
    area: str
    head: Head
    turf: TurfGroup
    soil: str
    plan_number: str | None = None
    area_m2: float | None = None
    exposure: Exposure = Exposure.OPEN
    microclimate: Known | None = None
    density: Known | None = None
    crop_factor: Known | None = None
    turf_height_m: float | None = None
    slope_pct: float | None = None
    root_depth: Known | None = None  # mm
    allowable_depletion: Known | None = None  # fraction of available water
    available_water: Known | None = None  # mm of water per mm of soil, a fraction
    intake: Known | None = None  # mm/h
    surface_storage: Known | None = None  # mm
    precip_rate: Known | None = None  # mm/h
    wettest_quarter_rate: Known | None = None  # mm/h
    uniformity: Known | None = None  # DU(lq), fraction
    application_efficiency: Known | None = None  # fraction
    flow: Known | None = None  # L/min
    first_runoff: Known | None = None  # minutes of running
    least_cycle: Known | None = None  # minutes
    depletion: Known | None = None  # mm missing in the root zone on the first morning
    blocked: str | None = None  # why no water arrives; minutes are worthless until it is mended
    priority_count: int | None = None  # who is served first where nights are short: 1 before 2
    most_min: float | None = None  # minutes in a night that it may not exceed
    least_depth: Known | None = None  # mm that one watering brings at least, net
    mode: TurfMode | None = None
    mode_since: date | None = None  # the day it was sown or laid, or fell dormant


# The weather feeds a site may name; a chain of them says who is believed first.
FEEDS = (
    "rain gauge",
    "agronomic station",
    "ghcn daily",
    "open-meteo forecast",
    "open-meteo archive",
    "open-meteo ensemble",
    "nws grid",
    "nasa power",
)
STATION_FEEDS = ("agronomic station", "ghcn daily")
FILE_FEEDS = ("rain gauge", "agronomic station")


@dataclass(frozen=True, slots=True)
class FeedChoice:
    """One link of a site's chain: a feed, and its station or the file beside the site file, where it has one."""

    feed: str
    station: str = ""
    file: str = ""


@dataclass(frozen=True, slots=True)
class Site:
    """One property."""

    name: str
    place: Place
    rules: WateringRules
    stations: tuple[Station, ...]  # sorted by terminal
    units: str = "us"  # "us" or "metric": what its readers read
    target_depth_mm: float | None = None  # moist depth the books follow, below the roots too
    multiplier_rule: MultiplierRule = MultiplierRule.SCHEDULING
    rain_rule: RainRule = RainRule.EVENT
    crop_set: str = "monthly"  # key of reference/turf.toml
    notes: tuple[str, ...] = field(default=())
    feeds: tuple[FeedChoice, ...] = field(default=())  # the chain: the first that has a value is believed
    climate: str = "not stated"  # which filling rules hold: planning.weather_filling.Climate
    controller: Controller | None = None
    bans: tuple[Ban, ...] = field(default=())
    hold_limits: HoldLimits | None = None
    restrictions: tuple[Restriction, ...] = field(default=())
    new_turf: NewTurfHours | None = None
    water_price: WaterPrice | None = None  # None: nobody said, and no cost is shown
    et_formula: str = "fao56"  # planning.et_formulas.FORMULAS; another one is used where its data are known
