"""The site file as pydantic models: its keys, what each means, and how each becomes part of the property."""

from __future__ import annotations

from typing import Annotated, Any, Generic, Self, TypeVar

from pydantic import BaseModel, ConfigDict, Field, GetJsonSchemaHandler, model_validator
from pydantic_core import CoreSchema

from etsched.documents import typed, words
from etsched.documents.price import PriceIn
from etsched.documents.reader import Json
from etsched.documents.refusals import refuse, shown, written_out
from etsched.documents.words import OneOf
from etsched.model.site import (
    FEEDS,
    FILE_FEEDS,
    STATION_FEEDS,
    Ban,
    Basis,
    Controller,
    Exposure,
    Head,
    HoldLimits,
    Known,
    MultiplierRule,
    NewTurfHours,
    Place,
    RainRule,
    Restriction,
    Station,
    TurfGroup,
    TurfMode,
    WateringRules,
)
from etsched.planning.et_formulas import FORMULAS
from etsched.planning.weather_filling import Climate
from etsched.reference.tables import crop_sets, soil_textures
from etsched.units import UnitSystem

V = TypeVar("V", bound=float)

BasisIn = Annotated[Basis, OneOf("way of knowing", lambda: [*Basis], Basis)]
HeadIn = Annotated[Head, OneOf("kind of head", lambda: [*Head], Head)]
TurfIn = Annotated[TurfGroup, OneOf("turf group", lambda: [*TurfGroup], TurfGroup)]
ExposureIn = Annotated[Exposure, OneOf("exposure", lambda: [*Exposure], Exposure)]
ModeIn = Annotated[TurfMode, OneOf("mode of turf", lambda: [*TurfMode], TurfMode)]
SoilIn = Annotated[str, OneOf("soil texture", soil_textures)]
UnitsIn = Annotated[UnitSystem, OneOf("unit system", lambda: ("us", "metric"))]
CropSetIn = Annotated[str, OneOf("set of crop factors", crop_sets)]
ClimateIn = Annotated[Climate, OneOf("climate", lambda: [*Climate], Climate)]
FormulaIn = Annotated[str, OneOf("formula of reference ET", lambda: FORMULAS)]
FeedNameIn = Annotated[str, OneOf("weather feed", lambda: FEEDS)]
MultiplierIn = Annotated[MultiplierRule, OneOf("multiplier rule", lambda: [*MultiplierRule], MultiplierRule)]
RainRuleIn = Annotated[RainRule, OneOf("rain rule", lambda: [*RainRule], RainRule)]

_HOW_KNOWN = (
    "measured: on this ground, with cups, cores or a meter. from flow: a rate worked out from flow and area. "
    "stated: someone's word or a catalogue. typical: a usual value."
)


class Strict(BaseModel):
    """A table of a file: nothing is guessed into shape and no unknown key is passed over."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class KnownValue(Strict, Generic[V]):
    """A value with how it is known; a value alone counts as stated."""

    value: V
    known: BasisIn = Field(Basis.STATED, description=_HOW_KNOWN)
    note: words.Note = Field("", description="Worth remembering about it: how many cups, which day.")

    @model_validator(mode="before")
    @classmethod
    def take_alone(cls, raw: object) -> object:
        """Take a value that stands alone as one that somebody stated."""
        return raw if isinstance(raw, dict) else {"value": raw}

    @model_validator(mode="after")
    def flow_tells_rates_only(self) -> Self:
        """Refuse `from flow` for what no flow can tell."""
        if self.known is Basis.FROM_FLOW and not isinstance(self, KnownRate):
            raise refuse('cannot be known "from flow"', 'write "measured", "stated" or "typical"')
        return self

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: CoreSchema, handler: GetJsonSchemaHandler) -> Json:
        table = handler.resolve_ref_schema(handler(schema))
        value = table["properties"]["value"]
        table["title"] = f"{value['title']} and how it is known"
        return table if issubclass(cls, KnownRate) else {"title": value["title"], "anyOf": [value, table]}

    @property
    def as_known(self) -> Known:
        """Give the value as the model holds it."""
        return Known(self.value, self.known, self.note)


class KnownRate(KnownValue[typed.PrecipRate]):
    """A precipitation rate: how it is known decides whether an application efficiency is applied."""

    known: BasisIn = Field(description=_HOW_KNOWN, examples=["measured"])

    @model_validator(mode="before")
    @classmethod
    def take_alone(cls, raw: object) -> object:
        """Refuse a rate that does not say how it is known."""
        if isinstance(raw, dict):
            return raw
        raise refuse(
            f"{shown(raw)} does not say how it is known, and only a rate caught in cups is free of drift",
            f'write {{ value = {shown(raw)}, known = "measured" }}, or "from flow", "stated" or "typical"',
        )


class PlaceIn(Strict, title="Place"):
    """Where the property lies."""

    latitude: typed.Latitude = Field(description="Degrees north; south is negative.", examples=[37.4])
    longitude: typed.Longitude = Field(description="Degrees east; west is negative.", examples=[-119.9])
    elevation: typed.Elevation = Field(description="Height above the sea.", examples=["1200 ft"])
    time_zone: words.TimeZone = Field(
        description="Name of the time zone as the IANA database writes it.", examples=["America/Los_Angeles"]
    )

    def as_place(self) -> Place:
        """Give the place as the model holds it."""
        return Place(self.latitude, self.longitude, self.elevation, self.time_zone)


class WateringIn(Strict, title="Watering"):
    """When water may run, and how much at once."""

    opens: words.ClockTime = Field(description="Local time at which water may begin.", examples=["22:00"])
    closes: words.ClockTime = Field(
        description="Local time by which every valve is shut; a time before `opens` is next morning's.",
        examples=["06:00"],
    )
    water_days: words.WaterDays = Field(
        description='Weekdays on which the window opens, or "every day".', examples=[["Mon", "Thu"]]
    )
    max_valves: words.ValveCount = Field(1, description="How many valves may be open at once.")
    max_flow: typed.Flow | None = Field(None, description="How much the supply gives at once.")
    valve_delay: words.Delay = Field(
        0, description="Minutes between valves, for pump and master valve."
    )

    def as_rules(self) -> WateringRules:
        """Give the rules as the model holds them."""
        return WateringRules(self.opens, self.closes, self.water_days, self.max_valves, self.max_flow, self.valve_delay)


class StationIn(Strict, title="Station"):
    """One valve's circuit. What is left out is taken from tables and shown as an assumption."""

    terminal: words.Terminal = Field(description="The terminal its valve is wired to.", examples=[1])
    area: words.Name = Field(description="The patch of ground as people call it.", examples=["Front lawn"])
    head: HeadIn = Field(description="What waters it.", examples=["spray"])
    turf: TurfIn = Field(
        description="Cool-season: fescue, rye, bluegrass. Warm-season: bermuda, zoysia.",
        examples=["warm-season"],
    )
    soil: SoilIn = Field(description="Texture of the root zone.", examples=["sandy loam"])
    plan_number: words.PlanNumber | None = Field(None, description="The number it bears on the drawing.")
    size: typed.Area | None = Field(None, description="How much ground it waters.")
    exposure: ExposureIn = Field(Exposure.OPEN, description="What stands around it.")
    slope: typed.Slope | None = Field(None, description="How steep the ground is: rise over run.")
    turf_height: typed.TurfHeight | None = Field(None, description="The height the turf is mown at.")
    microclimate: KnownValue[typed.Microclimate] | None = Field(
        None, description="A factor in place of the one of the exposure."
    )
    density: KnownValue[typed.Density] | None = Field(None, description="A factor for thin turf; a full stand is 1.")
    crop_factor: KnownValue[typed.CropFactor] | None = Field(
        None, description="One factor on reference ET in place of the published monthly ones."
    )
    root_depth: KnownValue[typed.RootDepth] | None = Field(None, description="The depth most roots reach.")
    allowable_depletion: KnownValue[typed.AllowableDepletion] | None = Field(
        None, description="The share of the available water that may go before the turf suffers."
    )
    available_water: KnownValue[typed.AvailableWater] | None = Field(
        None, description="The depth of water held for plants in a depth of soil."
    )
    intake: KnownValue[typed.Intake] | None = Field(
        None, description="The steady rate at which the soil takes water in."
    )
    surface_storage: KnownValue[typed.SurfaceStorage] | None = Field(
        None, description="The depth that may stand on the ground before it runs off."
    )
    precip_rate: KnownRate | None = Field(None, description="The depth an hour over the whole area.")
    wettest_quarter_rate: KnownValue[typed.WettestRate] | None = Field(
        None, description="The depth an hour in the fullest quarter of the cups."
    )
    uniformity: KnownValue[typed.Uniformity] | None = Field(None, description="Lower-quarter distribution uniformity.")
    application_efficiency: KnownValue[typed.Efficiency] | None = Field(
        None, description="The share of what leaves the nozzles that lands; never with a measured rate."
    )
    flow: KnownValue[typed.Flow] | None = Field(None, description="The flow while its valve is open.")
    first_runoff: KnownValue[typed.FirstRunoff] | None = Field(
        None, description="Minutes of running until water was first seen to run off."
    )
    least_cycle: KnownValue[typed.LeastCycle] | None = Field(None, description="The shortest useful run.")
    depletion: KnownValue[typed.Depletion] | None = Field(
        None, description="The depth missing in the root zone on the first morning."
    )
    blocked: words.Note | None = Field(None, description="Why no water arrives, until it is mended.")
    priority: words.Priority | None = Field(None, description="Who is served first where a night is short: 1 before 2.")
    most_minutes: typed.MostMinutes | None = Field(None, description="The minutes in a night that it may not exceed.")
    least_depth: KnownValue[typed.LeastDepth] | None = Field(
        None, description="The depth that one watering brings at least."
    )
    mode: ModeIn | None = Field(None, description="What state the turf is in, where an ordinary week does not fit it.")
    mode_since: words.DayIn | None = Field(None, description="The day it was sown or laid, or fell dormant.")

    def as_station(self) -> Station:
        """Give the station as the model holds it."""
        known: dict[str, Any] = {
            name: value.as_known
            for name in type(self).model_fields
            if isinstance(value := getattr(self, name), KnownValue)
        }
        return Station(
            terminal=self.terminal,
            area=self.area,
            head=self.head,
            turf=self.turf,
            soil=self.soil,
            plan_number=self.plan_number,
            area_m2=self.size,
            exposure=self.exposure,
            turf_height_m=self.turf_height,
            slope_pct=self.slope,
            blocked=self.blocked,
            priority_count=self.priority,
            most_min=self.most_minutes,
            mode=self.mode,
            mode_since=self.mode_since,
            **known,
        )


class BanIn(Strict, title="Ban"):
    """Days on which no watering may begin."""

    first: words.DayIn = Field(description="Its first day.", examples=["2026-07-15"])
    last: words.DayIn = Field(description="Its last day.", examples=["2026-08-31"])
    reason: words.Note = Field(description="Who says so.", examples=["Town ordinance"])
    stations: list[words.Terminal] = Field([], description="The terminals it is for; none named means all.")

    @model_validator(mode="after")
    def ends_after_it_begins(self) -> Self:
        """Refuse a ban that ends before it begins."""
        if self.last < self.first:
            raise refuse("ends before it begins", "correct its first or its last day")
        return self

    def as_ban(self) -> Ban:
        """Give the ban as the model holds it."""
        return Ban(self.first, self.last, self.reason, frozenset(self.stations))


class HoldIn(Strict, title="Holds"):
    """The weather that keeps every valve shut for a night."""

    wind: typed.HoldWind | None = Field(None, description="The mean wind of a day above which its night waits.")
    freeze: typed.HoldFreeze | None = Field(None, description="The lowest temperature at which valves stay shut.")

    def as_limits(self) -> HoldLimits:
        """Give the limits as the model holds them."""
        return HoldLimits(self.wind, self.freeze)


class RestrictionIn(Strict, title="Restriction"):
    """Days on which less water or fewer nights are allowed."""

    first: words.DayIn = Field(description="Its first day.", examples=["2026-07-15"])
    last: words.DayIn = Field(description="Its last day.", examples=["2026-08-31"])
    reason: words.Note = Field(description="Who says so.", examples=["Water district"])
    cut: typed.Cut | None = Field(None, description="By how much less than the same week would take without it.")
    most_nights: words.NightCount | None = Field(None, description="Nights of a week on which any water may run.")

    @model_validator(mode="after")
    def restricts(self) -> Self:
        """Refuse one that ends before it begins, restricts nothing, or is a ban by another name."""
        if self.last < self.first:
            raise refuse("ends before it begins", "correct its first or its last day")
        if self.most_nights == 0:
            raise refuse("leaves no night", "write a [[ban]] with the same days instead")
        if self.cut is None and self.most_nights is None:
            raise refuse("restricts nothing", 'add cut = "20 %", most_nights = 2, or both')
        return self

    def as_restriction(self) -> Restriction:
        """Give the restriction as the model holds it."""
        return Restriction(self.first, self.last, self.reason, self.cut or 0.0, self.most_nights)


class NewTurfIn(Strict, title="New turf"):
    """Hours by day in which new seed and new sod may have light runs."""

    opens: words.ClockTime = Field(description="Local time at which light runs may begin.", examples=["09:00"])
    closes: words.ClockTime = Field(
        description="Local time of the same day by which every valve is shut.", examples=["17:00"]
    )
    permit: words.Note = Field(
        description="What allows watering by day: a permit, or a rule of the place.", examples=["Permit for new lawns"]
    )

    @model_validator(mode="after")
    def lies_in_one_day(self) -> Self:
        """Refuse hours that end before they begin."""
        if self.closes <= self.opens:
            raise refuse("closes before it opens", "let both lie in one day, the opening first")
        return self

    def as_hours(self) -> NewTurfHours:
        """Give the hours as the model holds them."""
        return NewTurfHours(self.opens, self.closes, self.permit)


class WaterIn(Strict, title="Water"):
    """What the water costs; without it no cost is shown."""

    price: PriceIn = Field(description="What one more volume of water costs.", examples=["4.10 USD/kgal"])


class ControllerIn(Strict, title="Controller"):
    """An ordinary clock as it can be keyed; its minutes are whole."""

    programs: words.ProgramCount = Field(description="How many programs it has.", examples=[4])
    starts: words.ProgramCount = Field(description="How many start times each of them has.", examples=[4])
    percent_adjust_least: typed.PercentBound = Field(0.0, description="The least percent adjust it takes.")
    percent_adjust_most: typed.PercentBound = Field(200.0, description="The most percent adjust it takes.")
    percent_adjust_step: typed.PercentStep = Field(1.0, description="The step of its percent adjust.")

    @model_validator(mode="after")
    def has_bounds_in_order(self) -> Self:
        """Refuse a percent adjust whose bounds do not hold 100 % between them."""
        if not self.percent_adjust_least <= 100.0 <= self.percent_adjust_most:
            raise refuse("takes no percent adjust of 100 %", "let 100 % lie between its least and its most")
        return self

    def as_controller(self) -> Controller:
        """Give the clock as the model holds it."""
        return Controller(
            self.programs,
            self.starts,
            self.percent_adjust_least,
            self.percent_adjust_most,
            self.percent_adjust_step,
        )


class FeedIn(Strict, title="Weather feed"):
    """One link of the chain a site's weather comes from; the first link that has a value is believed."""

    feed: FeedNameIn = Field(description="What kind of feed it is.", examples=["open-meteo forecast"])
    station: words.PlanNumber | None = Field(None, description="The station's id, where the feed has stations.")
    file: words.Note | None = Field(None, description="A file beside the site file, in place of the network.")

    @model_validator(mode="after")
    def has_what_it_needs(self) -> Self:
        """Refuse a station or a file where the feed knows none, and the lack of a station where it needs one."""
        if self.feed == "ghcn daily" and not self.station:
            raise refuse("names no station, and this feed is a network of stations", 'add station = "USW00000000"')
        if self.station and self.feed not in STATION_FEEDS:
            raise refuse(f"has no stations, so {shown(self.station)} means nothing to it", "take the station out")
        if self.file and self.feed not in FILE_FEEDS:
            may = written_out(FILE_FEEDS, "and")
            raise refuse("is not read from a file", f"take the file out; only {may} may have one")
        return self


class SiteIn(Strict, title="Site file"):
    """A property and its stations."""

    name: words.Name = Field(description="The property as people call it.", examples=["Our property"])
    units: UnitsIn = Field("us", description="What its readers read; typed values may have any unit.")
    target_depth: typed.TargetDepth | None = Field(None, description="The depth to keep moist, below the roots too.")
    multiplier_rule: MultiplierIn = Field(
        MultiplierRule.SCHEDULING, description="How uneven water lengthens the run times."
    )
    rain_rule: RainRuleIn = Field(RainRule.EVENT, description="How much of a day's rain counts.")
    crop_set: CropSetIn = Field("monthly", description="Which published crop factors are used.")
    notes: list[words.Note] = Field([], description="Sentences that are printed with the plan.")
    place: PlaceIn = Field(description="Where the property lies.")
    watering: WateringIn = Field(description="When water may run, and how much at once.")
    climate: ClimateIn = Field(Climate.NOT_STATED, description="Which rules fill what the weather lacks.")
    et_formula: FormulaIn = Field("fao56", description="Formula of reference ET, used on days that have its data.")
    weather: list[FeedIn] = Field([], description="The chain of weather feeds, the one to believe first at the top.")
    ban: list[BanIn] = Field([], description="Days on which no watering may begin.")
    hold: HoldIn | None = Field(None, description="The weather that keeps valves shut.")
    restriction: list[RestrictionIn] = Field([], description="Days on which less water or fewer nights are allowed.")
    new_turf: NewTurfIn | None = Field(None, description="Hours by day for light runs of new seed and new sod.")
    controller: ControllerIn | None = Field(None, description="The clock that runs the valves.")
    water: WaterIn | None = Field(None, description="What the water costs.")
    station: list[StationIn] = Field(min_length=1, description="One table for each valve.")
