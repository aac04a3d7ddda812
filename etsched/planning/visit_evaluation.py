"""A visit judged as a whole: clock, wiring, cups, cores, causes, repairs, the week, recovery, proof of the last."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from etsched.days import day_in_full
from etsched.model.plan import WaterState
from etsched.planning import water
from etsched.planning.causes import diagnose
from etsched.planning.clock_found import delivered
from etsched.planning.findings import Found, found_by
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.mends import mends
from etsched.planning.recovery import recovery
from etsched.planning.repairs import rank_repairs
from etsched.planning.return_visit import Between, proof_statement, return_visit
from etsched.planning.runs_seen import same_name
from etsched.planning.start import ran_since
from etsched.planning.valve_map import valve_map
from etsched.planning.visit_outcome import CoilRead, Proof, VisitOutcome
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, first_deficit, outlook_of, plan_week
from etsched.reference.coils import read_coil
from etsched.reference.feel import feel_shares

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date

    from etsched.frames.weather import Weather
    from etsched.model.clock_delivers import ClockDelivers
    from etsched.model.finding import Repair
    from etsched.model.recovery import RecoveryAsk
    from etsched.model.site import Site
    from etsched.model.visit import Visit
    from etsched.planning.causes import Diagnosis
    from etsched.planning.weather_days import Days


@dataclass(frozen=True, slots=True)
class VisitCase:
    """A visit with what it is judged by: the property as filed, the visits before it in order, the weather."""

    site: Site
    visit: Visit
    weather: Weather
    first_day: date  # of the week that is planned from it
    earlier: Earlier
    before: tuple[Visit, ...] = ()
    forgets: bool = False  # leave out what was read of the soil before the weather begins


def evaluate(case: VisitCase) -> VisitOutcome:
    """Judge a visit. Raises PlanRefused where the weather does not reach, as `plan_week` does."""
    known, before = after_visits(case.site, case.before, case.earlier)
    found = found_by(known, case.visit)
    days = days_from_weather(case.weather, case.site)
    if case.forgets:
        reach = tuple(each for each in before.readings if each.water.morning >= days.first)
        before = replace(before, readings=reach)
    earlier = _with_readings(before, found, case.visit)
    plan = plan_week(found.site, case.weather, case.first_day, earlier)
    clock = _clock(case, found.site, days)
    diagnoses = tuple(_diagnoses(found, case.visit, clock))
    findings = found.findings.findings
    repairs = rank_repairs(found.site, days, case.first_day, findings, case.visit.electrical)
    return VisitOutcome(
        filed=known,
        found=found.site,
        visit=case.visit,
        clock=clock,
        valves=valve_map(known, case.visit) if case.visit.runs else None,
        coils=tuple(
            CoilRead(each, read_coil(each.coil_ohm, each.volts_v, each.volts_at)) for each in case.visit.electrical
        ),
        cups=found.cups,
        cores=found.cores,
        diagnoses=diagnoses,
        findings=found.findings,
        repairs=repairs,
        mends=mends(found.site, case.visit, findings, repairs),
        plan=plan,
        recovery=recovery(
            outlook_of(found.site, days, case.first_day, earlier),
            plan.start,
            case.visit.areas,
            _in_words(found.site, repairs),
            _ask(found.site, case.visit, diagnoses),
        ),
        proof=_proof(case, known, before, days),
    )


def after_visits(site: Site, visits: Sequence[Visit], earlier: Earlier) -> tuple[Site, Earlier]:
    """Put the findings of visits, in order of day, into a site, and what was read of its soil beside its books."""
    for visit in visits:
        found = found_by(site, visit)
        site = found.site
        earlier = _with_readings(earlier, found, visit)
    return site, earlier


def _with_readings(earlier: Earlier, found: Found, visit: Visit) -> Earlier:
    """Add what was read of the soil; water known until then goes with its station where the station was moved.

    The minutes that ran stay with the terminal: they watered what hangs on it. Books that begin after the visit were
    made with it, unless they do not know a terminal that it found.
    """
    known = earlier.water
    terminals = {station.terminal for station in found.site.stations}
    if known is not None and (known.morning <= visit.day or known.deficit_mm.keys() != terminals):
        known = _as_wired(known, found.wired)
    before = (replace(reading, water=_as_wired(reading.water, found.wired)) for reading in earlier.readings)
    return replace(earlier, water=known, readings=(*before, *found.readings))


def _as_wired(known: WaterState, wired: Mapping[int, int]) -> WaterState:
    return WaterState(
        known.morning,
        {wired.get(terminal, terminal): layers for terminal, layers in known.deficit_mm.items()},
        {wired.get(terminal, terminal): layers for terminal, layers in known.thickness_mm.items()},
    )


def _clock(case: VisitCase, site: Site, days: Days) -> ClockDelivers | None:
    if case.visit.clock is None:
        return None
    here = ground(site, facts_by_station(site, case.first_day.month))
    return delivered(case.visit.clock, site, here, days, case.first_day)


def _diagnoses(found: Found, visit: Visit, clock: ClockDelivers | None) -> Iterator[Diagnosis]:
    for name in dict.fromkeys(area.name for area in visit.areas):
        yield diagnose(found.site, visit, name, clock, found.uniformity)


def _in_words(site: Site, repairs: Sequence[Repair]) -> tuple[str, ...]:
    areas = {station.terminal: station.area for station in site.stations}
    return tuple(f"Station {each.terminal} ({areas[each.terminal]}): {'; '.join(each.what)}." for each in repairs)


def _ask(site: Site, visit: Visit, diagnoses: Sequence[Diagnosis]) -> RecoveryAsk:
    """Take what the record says of recovery, and that soil sheds water where the signs support it."""
    sheds = {
        station.terminal
        for told in diagnoses
        for cause in told.causes
        if cause.key == "repellency" and cause.state == "supported"
        for station in site.stations
        if same_name(station.area, told.area)
    }
    return replace(visit.recovery, repellent=visit.recovery.repellent | sheds)


def _proof(case: VisitCase, site: Site, earlier: Earlier, days: Days) -> Proof | None:
    """Hold the cores of this visit against the books from the last visit on; None where there was none."""
    if not case.before or not case.visit.cores:
        return None
    since = case.before[-1]
    if since.day < days.first:
        said = (
            f"The cores prove nothing of the {since.name}: the books begin with the weather on "
            f"{day_in_full(days.first)}, after it."
        )
        return Proof(since, (), said)
    outlook = outlook_of(site, days, since.day, earlier)
    start = earlier.water
    if start is None or not since.day < start.morning <= case.visit.day:
        # Books that begin after this visit tell nothing of the days before it.
        until = earlier if start is None or start.morning <= since.day else replace(earlier, water=None)
        start = water.state_of(outlook.ground, since.day, first_deficit(outlook, until))
    tests = tuple(test for visit in case.before for test in visit.cup_tests)
    ran = earlier.applied_min
    for reading in earlier.readings:
        ran = ran_since(reading, ran)
    proofs = return_visit(Between(outlook, start, ran, tests), case.visit, feel_shares())
    return Proof(since, proofs, proof_statement(proofs))
