"""The record of a visit as pydantic models: its keys, what each means, and how each becomes part of the visit."""

from __future__ import annotations

import math
from typing import Self

from pydantic import Field, model_validator

from etsched.documents import typed, visit_cups, words
from etsched.documents import visit_words as seen
from etsched.documents.refusals import refuse
from etsched.documents.site_model import Strict
from etsched.documents.visit_recovery import RecoveryIn
from etsched.model import visit as model


class ClockIn(Strict, title="Clock"):
    """The controller as it was found; its programs follow as [[program]]."""

    shows: seen.MomentIn | None = Field(None, description="The date and time it shows.", examples=["2026-07-14 06:10"])
    really: words.ClockTime | None = Field(
        None, description="What time of the visit's day it really was then.", examples=["06:12"]
    )
    rain_switch: seen.RainSwitchIn | None = Field(None, description="The rain switch as found.", examples=["bypassed"])


class ProgramIn(Strict, title="Program"):
    """One program of the clock: it runs its stations in order, from each start time, on its days."""

    name: words.Name = Field(description="The name the clock gives it.", examples=["A"])
    starts: list[words.ClockTime] = Field(
        description="Every start time it holds, also forgotten ones; [] where it has none.", examples=[["22:00"]]
    )
    days: words.WaterDays = Field(description='Its weekdays, or "every day".', examples=[["Mon", "Thu"]])
    minutes: dict[seen.MinutesKeyIn, seen.ProgramMinutes] = Field(
        description="Minutes by terminal, in the order in which they run.", examples=[{"1": 12}]
    )
    percent_adjust: seen.PercentAdjust = Field(100.0, description="What all its minutes are scaled by.")

    def as_program(self) -> model.Program:
        """Give the program as the model holds it; no minutes means that a station is not in it."""
        minutes = {terminal: value for terminal, value in self.minutes.items() if value > 0.0}
        return model.Program(self.name, tuple(self.starts), self.days, minutes, self.percent_adjust)


class AreaIn(Strict, title="Area"):
    """A patch of ground as it looked."""

    name: words.Name = Field(description="The patch as people call it.", examples=["Front lawn"])
    pattern: seen.PatternIn | None = Field(None, description="The shape of what fails.", examples=["wedge by head"])
    colour: seen.ColourIn | None = Field(None, description="Its colour.", examples=["dull grey"])
    signs: list[seen.SignIn] = Field([], description="What else shows.", examples=[["footprints stay"]])
    living_cover: seen.Cover | None = Field(None, description="The share of the ground that living turf covers.")
    tug: seen.TugIn | None = Field(None, description="Whether the turf holds or lifts when tugged.", examples=["holds"])
    insects: dict[seen.InsectIn, seen.InsectCount] = Field(
        {}, description="Insects by kind, counted a square foot.", examples=[{"grubs": 4}]
    )
    drop: seen.Drop | None = Field(None, description="How long a drop of water sat on an air-dry core.")
    mown: seen.Mown | None = Field(None, description="The height it is mown at.")
    thatch: seen.Thatch | None = Field(None, description="The thickness of the thatch.")
    where: words.Name | None = Field(
        None, description="The place within the area.", examples=["south-west corner"]
    )
    note: words.Note | None = Field(None, description="Worth remembering.")

    def as_area(self) -> model.AreaSeen:
        """Give the area as the model holds it."""
        return model.AreaSeen(
            name=self.name,
            pattern=self.pattern or "",
            colour=self.colour or "",
            signs=tuple(self.signs),
            living_cover_pct=self.living_cover,
            tug=self.tug or "",
            insects_count=dict(self.insects),
            drop_s=self.drop,
            mown_mm=self.mown,
            thatch_mm=self.thatch,
            where=self.where or "",
            note=self.note or "",
        )


class RunIn(Strict, title="Run"):
    """What happened when a terminal was run."""

    station: words.Terminal = Field(description="The terminal that was run.", examples=[1])
    from_controller: seen.YesNoIn | None = Field(None, description="Whether it came on from the controller.")
    by_hand: seen.YesNoIn | None = Field(None, description="Whether it came on by hand at the valve.")
    wet: list[words.Name] | None = Field(
        None, description="The areas that got wet; [] where none did.", examples=[["Front lawn"]]
    )
    leak: words.Note | None = Field(None, description="Where water escaped.")
    first_runoff: typed.FirstRunoff | None = Field(None, description="How long until water ran off.")

    def as_run(self) -> model.StationRun:
        """Give the run as the model holds it."""
        wet = None if self.wet is None else tuple(self.wet)
        return model.StationRun(
            self.station, self.from_controller, self.by_hand, wet, self.leak or "", self.first_runoff
        )


class HeadIn(Strict, title="Head"):
    """Heads of a station with one fault."""

    station: words.Terminal = Field(description="The station's terminal.", examples=[1])
    fault: seen.FaultIn = Field(description="What is wrong.", examples=["tilted"])
    count: seen.HeadCount = Field(1, description="How many heads.")
    label: words.Name | None = Field(None, description="Which heads, as people find them.", examples=["by the gate"])
    note: words.Note | None = Field(None, description="Worth remembering.")

    def as_head(self) -> model.HeadSeen:
        """Give the heads as the model holds them."""
        return model.HeadSeen(self.station, self.fault, self.count, self.label or "", self.note or "")


class ElectricalIn(Strict, title="Electrical"):
    """Readings of a station."""

    station: words.Terminal = Field(description="The terminal.", examples=[1])
    coil: seen.Coil | None = Field(None, description='Coil with its wires, power off; "open" for no reading.')
    voltage: seen.Voltage | None = Field(None, description="While the station is on.")
    voltage_at: seen.VoltageAtIn | None = Field(
        None, description="Where the voltage was read.", examples=["terminal", "valve"]
    )

    def as_reading(self) -> model.ElectricalReading:
        """Give the readings as the model holds them."""
        return model.ElectricalReading(self.station, self.coil, self.voltage, self.voltage_at or "")


class CupsIn(Strict, title="Cups"):
    """One catch-cup test."""

    stations: list[words.Terminal] = Field(
        description="The station; several where they overlap and ran each for its share.", examples=[[1]]
    )
    minutes: list[seen.TestMinutes] = Field(description="How long each of them ran.", examples=[[15]])
    unit: seen.CupUnitIn = Field(description="What the cups were read in.", examples=["mL"])
    caught: list[seen.CaughtIn] | None = Field(
        None, description='What each cup caught; "tipped" for one that fell.', examples=[[24, 31, 28, 35]]
    )
    rows: list[list[seen.CaughtIn]] | None = Field(
        None,
        description="The same in rows as they stood, the northern row first.",
        examples=[[[24, 31], [28, 35]]],
    )
    spacing: seen.Spacing | None = Field(None, description="How far apart cups stood in a row.")
    row_spacing: seen.Spacing | None = Field(None, description="How far apart the rows were, where that differs.")
    x: list[seen.PlaceIn] | None = Field(None, description="How far east each cup of `caught` stood.")
    y: list[seen.PlaceIn] | None = Field(None, description="How far north each cup of `caught` stood.")
    xy_unit: seen.GridUnitIn | None = Field(None, description="The unit of x and y.", examples=["ft"])
    throat: seen.Throat | None = Field(None, description="The area of a cup's mouth, where volumes were read.")
    diameter: seen.Diameter | None = Field(None, description="The width of a round cup's mouth, in place of throat.")
    capacity: seen.Capacity | None = Field(None, description="What a cup holds.")
    wind: seen.Wind | None = Field(None, description="The wind during the test.")
    pressure: seen.Pressure | None = Field(None, description="The pressure at a head.")
    area: words.Name | None = Field(None, description="Where the cups stood.")
    note: words.Note | None = Field(None, description="Worth remembering.")

    @property
    def throat_cm2(self) -> float | None:
        """Give the area of a cup's mouth, from its width if that was measured."""
        if self.diameter is None:
            return self.throat
        return math.pi * (self.diameter / 10.0) ** 2 / 4.0

    def as_test(self) -> model.CupTest:
        """Give the test as the model holds it."""
        return model.CupTest(
            stations=tuple(self.stations),
            minutes_min=tuple(self.minutes),
            cups=visit_cups.cups(self),
            throat_cm2=self.throat_cm2,
            capacity_ml=self.capacity,
            wind_m_s=self.wind,
            pressure_kpa=self.pressure,
            area=self.area or "",
            note=self.note or "",
        )


class LayerIn(Strict, title="Layer"):
    """One layer of a core and how moist it felt."""

    top: seen.SoilDepth | None = Field(None, description="Where it begins; left out, where the one before ends.")
    bottom: seen.SoilDepth = Field(description="Where it ends.", examples=["2 in"])
    feel: seen.FeelIn = Field(description="Its class of moisture by feel.", examples=["dry"])


class CoreIn(Strict, title="Core"):
    """One soil core."""

    area: words.Name | None = Field(None, description="Where it was taken.", examples=["Front lawn"])
    station: words.Terminal | None = Field(None, description="The station that waters the place.")
    colour: seen.CoreColourIn | None = Field(None, description="In green or in brown turf.", examples=["brown"])
    depth: seen.SoilDepth | None = Field(None, description="How deep the core reached.")
    moist: seen.SoilDepth | None = Field(None, description="To what depth it was moist.")
    roots: seen.SoilDepth | None = Field(None, description="To what depth most roots reached.")
    stone: seen.SoilDepth | None = Field(None, description="The depth at which a stone or a root stopped the probe.")
    layers: list[LayerIn] = Field([], description="How moist it felt, from the top down.")
    x: seen.Distance | None = Field(None, description="How far east, on the grid of the cups.")
    y: seen.Distance | None = Field(None, description="How far north, on the grid of the cups.")
    note: words.Note | None = Field(None, description="Worth remembering.")

    @model_validator(mode="after")
    def has_a_place(self) -> Self:
        """Refuse a core of which nobody knows where it was taken."""
        if self.area is None and self.station is None:
            raise refuse("tells neither area nor station", "say where the core was taken")
        return self

    @property
    def spans(self) -> list[tuple[float, float, str]]:
        """Give top, bottom and feel of each layer; one without a top begins where the one before it ends."""
        spans: list[tuple[float, float, str]] = []
        for layer in self.layers:
            above = spans[-1][1] if spans else 0.0
            spans.append((above if layer.top is None else layer.top, layer.bottom, layer.feel))
        return spans

    def as_core(self) -> model.Core:
        """Give the core as the model holds it."""
        return model.Core(
            area=self.area or "",
            station=self.station,
            colour=self.colour or "",
            moist_mm=self.moist,
            roots_mm=self.roots,
            layers=tuple(model.CoreLayer(*span) for span in self.spans),
            stone_mm=self.stone,
            x_m=self.x,
            y_m=self.y,
            note=self.note or "",
        )


class MeterIn(Strict, title="Meter"):
    """Water through the meter while one station ran; without a station, while nothing ran."""

    station: words.Terminal | None = Field(None, description="The station that ran; left out for the leak test.")
    volume: seen.MeterVolume = Field(description="What went through.", examples=["42 gal"])
    minutes: seen.MeterMinutes = Field(description="How long it was watched.", examples=[5])

    def as_reading(self) -> model.MeterReading:
        """Give the reading as the model holds it."""
        return model.MeterReading(self.station, self.volume, self.minutes)


class SaltsIn(Strict, title="Salts"):
    """Electrical conductivity, as a meter or a laboratory reads it."""

    water: seen.Salinity | None = Field(None, description="Of the irrigation water.")
    soil: seen.Salinity | None = Field(None, description="Of the soil's saturation extract.")

    def as_salts(self) -> model.Salts:
        """Give the salts as the model holds them."""
        return model.Salts(self.water, self.soil)


class VisitIn(Strict, title="Visit file"):
    """One visit to a property. All but the date may be left out."""

    date: words.DayIn = Field(description="The day of the visit.", examples=["2026-07-14"])
    technician: words.Name | None = Field(None, description="Who was there.")
    site: words.Name | None = Field(None, description="The property, as its site file calls it.")
    photos: list[words.Note] = Field(
        [], description="Photos taken: by file name, or what each shows.", examples=[["gate.jpg"]]
    )
    notes: list[words.Note] = Field([], description="Sentences worth remembering.", examples=[["Gate was locked"]])
    salts: SaltsIn | None = Field(None, description="Salts in water and soil.")
    clock: ClockIn | None = Field(None, description="The controller as it was found.")
    program: list[ProgramIn] = Field([], description="One table for each program of the clock.")
    area: list[AreaIn] = Field([], description="One table for each patch of ground.")
    run: list[RunIn] = Field([], description="One table for each run of a station.")
    head: list[HeadIn] = Field([], description="One table for each fault of a station's heads.")
    electrical: list[ElectricalIn] = Field([], description="One table for each terminal that was measured.")
    cups: list[CupsIn] = Field([], description="One table for each catch-cup test.")
    core: list[CoreIn] = Field([], description="One table for each soil core.")
    meter: list[MeterIn] = Field([], description="One table for each reading of the water meter.")
    recovery: RecoveryIn | None = Field(None, description="What the plan of recovery needs besides.")
