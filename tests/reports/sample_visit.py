"""A visit and a return visit to Thistledown Grange by Cobble Ferry, an invented place, judged by the program.

Station 2 and 3 are crossed against the file, 4 waters by hand only, 1 has cups, a clock that gives too little and
cores; 5 waters sixty square metres of warm-season turf and may be fed.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from functools import cache

from etsched.model.recovery import Fertiliser, RecoveryAsk
from etsched.model.site import Site, TurfGroup
from etsched.model.visit import (
    AreaSeen,
    ClockFound,
    Core,
    CoreLayer,
    Cup,
    CupTest,
    ElectricalReading,
    HeadSeen,
    MeterReading,
    Program,
    Salts,
    StationRun,
    Visit,
)
from etsched.planning.visit_evaluation import VisitCase, evaluate
from etsched.planning.visit_outcome import VisitOutcome
from etsched.planning.week import Earlier
from tests.planning.made import known, site, station, weather

DAY = date(2026, 7, 14)
BACK = DAY + timedelta(days=2)
ML = (24, 26, 28, 30, 31, 32, 33, 33, 34, 35, 35, 36, 36, 37, 38, 38, 39, 40, 41, 42, 43, 44, 46, 49)


def grange(units: str = "us") -> Site:
    """Five stations; the number on the drawing of the second is the terminal of the third."""
    wet = {"available_water": known(0.18), "intake": known(10.0)}
    made = site(
        station(1, area="Front court", plan_number="P4", **wet),
        station(2, area="Long border", plan_number="P3", **wet),
        station(3, area="Orchard bank", plan_number="P2", slope_pct=12.0, **wet),
        station(4, area="Ferry lawn", plan_number="P1", **wet),
        station(5, area="Bowling strip", turf=TurfGroup.WARM, **wet),
        target_depth_mm=203.2,
    )
    return replace(made, name="Thistledown Grange", units=units)


def cup_test() -> CupTest:
    """Twenty-four cups, six to a row, five feet apart."""
    cups = tuple(Cup(volume_ml=float(ml), x_m=at % 6 * 1.524, y_m=at // 6 * 1.524) for at, ml in enumerate(ML))
    return CupTest((1,), (8.0,), cups, throat_cm2=16.5 * 2.54**2, wind_m_s=1.3, pressure_kpa=275.8, note="after six")


def cores(feel: str, moist_mm: float, terminal: int = 1) -> tuple[Core, ...]:
    """Three cores that agree."""
    return tuple(
        Core(
            station=terminal,
            area="Front court",
            colour=colour,
            moist_mm=moist_mm + plus,
            roots_mm=120.0,
            layers=(CoreLayer(0.0, 50.0, "moist"), CoreLayer(50.0, 203.2, feel)),
        )
        for colour, plus in (("green", 30.0), ("brown", 0.0), ("brown", 5.0))
    )


def first_visit() -> Visit:
    """Everything that a visit may hold, once at least."""
    return Visit(
        DAY,
        technician="R. Vale",
        clock=ClockFound((Program("A", (time(5),), frozenset({0, 3}), {1: 6.0, 2: 20.0, 3: 20.0, 4: 20.0, 5: 8.0}),)),
        areas=(
            AreaSeen(
                "Front court", "wedge_by_head", "dull_grey", ("footprints_stay",),
                living_cover_pct=60.0, tug="holds", insects_count={"grubs": 2.0}, drop_s=3.0, mown_mm=63.5,
                where="by the gate", note="the rest is dull",
            ),
            AreaSeen("Ferry lawn", living_cover_pct=20.0),
        ),
        runs=(
            StationRun(1, True, None, ("Front court",), first_runoff_min=7.0),
            StationRun(2, True, None, ("Orchard bank",), leak="at the second head"),
            StationRun(3, True, None, ("Long border",)),
            StationRun(4, False, True, ("Ferry lawn",)),
        ),
        heads=(HeadSeen(2, "tilted", 2, "by the gate", "mower wheel"),),
        electrical=(ElectricalReading(4, float("inf"), 26.0, "valve"), ElectricalReading(1, 34.0, 26.0)),
        cup_tests=(cup_test(), CupTest((5,), (8.0,), (Cup(depth_mm=5.0),) * 3)),
        cores=cores("dry", 60.0),
        meters=(MeterReading(None, 2.0, 15.0), MeterReading(2, 200.0, 5.0)),
        salts=Salts(1.1, 2.4),
        photos=("gate.jpg",),
        notes=("The gate was locked until nine.",),
        recovery=RecoveryAsk(fertiliser=Fertiliser(24.0, 0.5)),
    )  # fmt: skip


@cache
def first_outcome(units: str = "us") -> VisitOutcome:
    """The first visit, judged."""
    return judged(first_visit(), units)


@cache
def return_outcome(units: str = "us") -> VisitOutcome:
    """Two days later: cores drier than the books of the minutes that ran."""
    visit = Visit(BACK, technician="R. Vale", cores=cores("dry", 55.0))
    ran = Earlier(applied_min={(1, DAY): 60, (1, BACK): 30})
    return judged(visit, units, (first_visit(),), ran)


@cache
def empty_outcome(units: str = "us") -> VisitOutcome:
    """A visit of which only the date was written down."""
    return judged(Visit(DAY), units)


def judged(visit: Visit, units: str = "us", before: tuple[Visit, ...] = (), earlier: Earlier | None = None):
    """Judge a visit to the Grange in a hot dry month."""
    outside = weather(date(2026, 7, 1), 40)
    first_day = visit.day + timedelta(days=1)
    return evaluate(VisitCase(grange(units), visit, outside, first_day, earlier or Earlier(), before))


def hostile_outcome(text: str) -> VisitOutcome:
    """The first visit with one text wherever a person may have written one."""
    visit, place = first_visit(), grange()
    named = replace(
        place, name=text, stations=tuple(replace(each, area=text, plan_number=text) for each in place.stations)
    )
    written = replace(
        visit,
        technician=text,
        areas=tuple(replace(each, name=text, insects_count={text: 2.0}) for each in visit.areas),
        runs=tuple(replace(each, wet_areas=(text,), leak=text) for each in visit.runs),
        heads=tuple(replace(each, label=text, note=text) for each in visit.heads),
        cup_tests=tuple(replace(each, area=text, note=text) for each in visit.cup_tests),
        cores=tuple(replace(each, area=text, note=text) for each in visit.cores),
        clock=replace(visit.clock, programs=tuple(replace(each, name=text) for each in visit.clock.programs)),
        photos=(text,),
        notes=(text,),
    )
    outside = weather(date(2026, 7, 1), 40)
    return evaluate(VisitCase(named, written, outside, DAY + timedelta(days=1), Earlier()))
