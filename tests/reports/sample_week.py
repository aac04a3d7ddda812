"""A week's plan made by hand, small enough to check every figure of it with a pencil.

Larkmoor Green is an invented place. Station 1 puts down 38.1 mm/h and takes 40 L/min, station 4 12.7 mm/h
with no flow known, station 7 25.4 mm/h and 20 L/min; so 24 min of station 1 put down 15.24 mm and 960 L.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

from etsched.days import night
from etsched.model.plan import (
    Assumption,
    Cycle,
    DayWeather,
    MinutesRange,
    NightPlan,
    Rest,
    RestKind,
    Run,
    Saving,
    Shortfall,
    StationDay,
    Step,
    WaterState,
    WeekPlan,
)
from etsched.model.site import Basis, Head, Place, Site, Station, TurfGroup, WateringRules, WaterPrice

ZONE = ZoneInfo("America/New_York")
MONDAY = date(2026, 7, 13)
THURSDAY = date(2026, 7, 16)
RATES_MM_H = {1: 38.1, 4: 12.7, 7: 25.4}
FLOWS_L_MIN = {1: 40.0, 7: 20.0}
OPENS, CLOSES = time(22), time(0, 30)

WORKING_7 = (
    Step("Depletion", 9.0, "mm", "water missing from the root zone at dawn", "the water books"),
    Step("Gross depth", 14.4, "mm", "net × multiplier = 9.0 mm × 1.6", "lower-quarter rule"),
    Step("Minutes", 34.016, "min", "gross ÷ rate × 60", "arithmetic"),
    Step("Cycles", 3.0, "count", "minutes ÷ longest cycle, rounded up", "arithmetic"),
)


def sample_site(units: str = "us") -> Site:
    def station(terminal: int, area: str, head: Head, **more: object) -> Station:
        return Station(terminal, area, head, TurfGroup.COOL, "clay loam", **more)  # type: ignore[arg-type]

    return Site(
        name="Larkmoor Green",
        place=Place(39.1, -77.2, 140.0, ZONE),
        rules=WateringRules(OPENS, CLOSES, frozenset({0, 3})),
        stations=(
            station(1, "Front lawn", Head.SPRAY, plan_number="A1"),
            station(4, "Ball field", Head.ROTOR),
            station(7, "Clay bank by the steps", Head.SPRAY, plan_number="B2"),
            station(12, "Well house strip", Head.SPRAY, blocked="valve does not open by hand"),
            station(15, "Under the beeches", Head.ROTOR),
        ),
        units=units,
    )


def run(terminal: int, cycles: tuple[tuple[int, int], ...], soak_min: int, working: tuple[Step, ...] = ()) -> Run:
    minutes = sum(length for _, length in cycles)
    applied_mm = RATES_MM_H[terminal] * minutes / 60
    flow = FLOWS_L_MIN.get(terminal)
    return Run(
        terminal=terminal,
        cycles=tuple(Cycle(*cycle) for cycle in cycles),
        soak_min=soak_min,
        wanted_min=minutes,
        depletion_mm=9.0,
        allowable_mm=12.0,
        net_mm=9.0,
        gross_mm=14.4,
        applied_mm=applied_mm,
        credited_mm=applied_mm / 1.2,
        flow_l=None if flow is None else flow * minutes,
        reason="the root zone would pass its allowable depletion before the next night",
        working=working,
    )


def sample_nights() -> tuple[NightPlan, ...]:
    first = (
        run(1, ((0, 8), (63, 8), (126, 8)), 55),
        run(4, ((8, 34),), 0),
        run(7, ((42, 12), (84, 11), (134, 11)), 30, WORKING_7),
    )
    second = (
        run(1, ((0, 8), (63, 8)), 55),
        run(4, ((8, 30),), 0),
        run(7, ((71, 11), (112, 11)), 30),
    )
    short = Shortfall(7, 11, "its third cycle could start only after the window closes")
    return (
        NightPlan(night(MONDAY, OPENS, CLOSES, ZONE), first, used_min=145, bound_min=134),
        NightPlan(night(THURSDAY, OPENS, CLOSES, ZONE), second, used_min=123, bound_min=71, shortfalls=(short,)),
    )


def sample_days() -> tuple[DayWeather, ...]:
    eto = (5.0, 5.5, 6.0, 6.5, 5.0, 5.6, 5.6)  # 39.2 mm together
    days = []
    for ahead, eto_mm in enumerate(eto):
        days.append(
            DayWeather(
                day=MONDAY + timedelta(days=ahead),
                forecast=1 <= ahead <= 4,
                tmin_c=20.0,
                tmax_c=30.0,
                eto_mm=eto_mm,
                rain_mm=2.54 if ahead == 0 else 0.0,
                filled=("wind: 2 m/s taken, none was given",) if ahead == 0 else (),
                standing_in=ahead >= 5,
            )
        )
    return tuple(days)


def sample_assumptions() -> tuple[Assumption, ...]:
    def roots(terminal: int, now: int, low: int, high: int) -> Assumption:
        return Assumption(
            terminal, "root_depth", "mm", 152.4, Basis.TYPICAL, "common practice, no source",
            low=101.6, high=304.8, minutes_now=now, minutes_low=low, minutes_high=high, measure="a soil core",
        )  # fmt: skip

    return (
        Assumption(None, "target_depth", "mm", 203.2, Basis.TYPICAL, "extension advice"),
        roots(1, 40, 48, 30),
        Assumption(4, "precip_rate", "mm_h", 12.7, Basis.FROM_FLOW, "meter over area"),
        Assumption(
            7, "intake", "mm_h", 5.08, Basis.TYPICAL, "table of textures",
            low=2.54, high=7.62, minutes_now=56, minutes_low=56, minutes_high=56,
            measure="a timed look at runoff",
        ),
        roots(7, 56, 70, 44),
    )  # fmt: skip


def sample_books() -> tuple[StationDay, ...]:
    return (
        StationDay(1, MONDAY + timedelta(days=1), 13.0, 12.7, 0.0, 4.7, 0.0, 0.0, 5.0, 12.0, 25.4),
        StationDay(1, MONDAY, 10.0, 0.0, 2.0, 5.0, 0.0, 0.0, 13.0, 12.0, 25.4),
    )


def sample_rests() -> tuple[Rest, ...]:
    """Of the seven nights only those of Monday, Tuesday and Thursday are told; Tuesday is no water day."""

    def rest(terminal: int, opens_on: date, kind: RestKind, reason: str, until: date | None = None) -> Rest:
        return Rest(terminal, opens_on, opens_on + timedelta(days=1), kind, reason, 5.0, 7.62, 12.7, until)

    tuesday = MONDAY + timedelta(days=1)
    blocked, waits = (12, RestKind.BLOCKED, "valve does not open by hand"), (15, RestKind.ENOUGH, "it can wait")
    return (
        rest(blocked[0], MONDAY, *blocked[1:]),
        rest(waits[0], MONDAY, *waits[1:]),
        *(
            rest(terminal, tuesday, RestKind.DAY, "Tuesday is no water day", THURSDAY + timedelta(days=1))
            for terminal in (1, 4, 7)
        ),
        rest(blocked[0], tuesday, *blocked[1:]),
        rest(15, tuesday, RestKind.DAY, "Tuesday is no water day"),
        rest(blocked[0], THURSDAY, *blocked[1:]),
        rest(15, THURSDAY, RestKind.FULL, "the soil is full"),
    )


def sample_week(units: str = "us") -> WeekPlan:
    layers = {1: (10.0, 4.0), 4: (8.0, 3.0), 7: (9.0, 4.5), 12: (20.0, 9.0), 15: (2.0, 0.0)}
    thick = dict.fromkeys(layers, (152.4, 50.8))
    return WeekPlan(
        site=sample_site(units),
        first_day=MONDAY,
        days=sample_days(),
        nights=sample_nights(),
        books=sample_books(),
        start=WaterState(MONDAY, layers, thick),
        end=WaterState(MONDAY + timedelta(days=7), dict.fromkeys(layers, (1 / 3, 0.0)), thick),
        assumptions=sample_assumptions(),
        notes=("Station 12 gets no minutes until its valve opens.",),
        weather_source="larkmoor.csv",
        observed_through=date(2026, 7, 13),
        rests=sample_rests(),
        ranges=(
            MinutesRange(1, 40, 30, 48, "root_depth", "root_depth", "a soil core"),
            MinutesRange(7, 56, 44, 70, "root_depth", "root_depth", "a soil core"),
            MinutesRange(4, 64, 64, 64, "", "", ""),
        ),
    )


def priced(plan: WeekPlan) -> WeekPlan:
    """The same week at 2 EUR a cubic metre, with one station that cups found uneven and two without cups."""
    price = WaterPrice(2.0, "EUR", "2 EUR/m³")
    savings = (Saving(1, 0.42, 0.55, 300.0), Saving(4, None, 0.70, None), Saving(7, None, 0.55, None))
    return replace(plan, site=replace(plan.site, water_price=price), savings=savings)


def renamed(plan: WeekPlan, text: str) -> WeekPlan:
    """The same week with one hostile text wherever a person may have written one."""
    stations = tuple(
        replace(each, area=text, plan_number=text, blocked=text if each.blocked else None)
        for each in plan.site.stations
    )
    nights = tuple(
        replace(
            each,
            runs=tuple(replace(r, reason=text, working=(Step(text, 1.0, "mm", text, text),)) for r in each.runs),
            shortfalls=tuple(replace(short, reason=text) for short in each.shortfalls),
        )
        for each in plan.nights
    )
    return replace(
        plan,
        site=replace(plan.site, name=text, stations=stations, notes=(text,)),
        nights=nights,
        days=tuple(replace(day, filled=(text,)) for day in plan.days),
        rests=tuple(replace(rest, reason=text) for rest in plan.rests),
        assumptions=tuple(replace(each, field=text, source=text, measure=text) for each in plan.assumptions),
        notes=(text,),
        weather_source=text,
    )


def large_week(stations: int, nights: int) -> WeekPlan:
    """A property with many stations that water in many nights, for the look of the page only."""
    plan = sample_week()
    kinds = ("Front lawn", "Ball field, third base side", "Clay bank by the steps", "Strip along the drive")
    site = replace(
        plan.site,
        stations=tuple(
            replace(
                plan.site.stations[0],
                terminal=number,
                area=f"{kinds[number % 4]} {number}",
                plan_number=f"A{number}",
                blocked="valve weeps and does not close" if number % 17 == 5 else None,
            )
            for number in range(1, stations + 1)
        ),
    )
    return replace(
        plan,
        site=site,
        nights=tuple(_large_night(MONDAY + timedelta(days=ahead), stations) for ahead in range(nights)),
        assumptions=tuple(
            replace(each, terminal=number)
            for number in range(1, stations + 1)
            for each in plan.assumptions
            if each.terminal == 7
        ),
    )


def _large_night(opens_on: date, stations: int) -> NightPlan:
    model = run(1, ((0, 4), (120, 4), (240, 4)), 55)
    runs = tuple(
        replace(
            model,
            terminal=number,
            cycles=tuple(replace(c, start_min=c.start_min + 3 * number - 3) for c in model.cycles),
        )
        for number in range(1, stations + 1)
        if number % 17 != 5
    )
    return NightPlan(night(opens_on, time(22), time(6), ZONE), runs, used_min=244 + 3 * stations, bound_min=248)
