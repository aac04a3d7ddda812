"""What a visit established, station by station, and the site with it in: by this door visits enter the plan."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from etsched.errors import PlanRefused
from etsched.model.finding import Effect, Finding, VisitFindings
from etsched.model.plan import WaterState
from etsched.model.site import Basis, Known
from etsched.planning.causes import diagnose
from etsched.planning.core_results import core_results, coverage_faults, inches_remarks, stray_cores
from etsched.planning.cup_results import CupResult, cup_result
from etsched.planning.findings_seen import blocks_and_frees, head_findings, leak_findings, salt_findings
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.meters import LEAST_RATE_MM_H, MOST_RATE_MM_H, meter_findings
from etsched.planning.rewired import rewired
from etsched.planning.runs_seen import same_name
from etsched.planning.start import Reading
from etsched.planning.visit_outcome import CupsRead
from etsched.reference.cups import least_for_rate
from etsched.reference.feel import feel_deficit, feel_shares

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from etsched.model.site import Site, Station
    from etsched.model.visit import CupTest, Visit
    from etsched.planning.core_results import CoreResult, CoverageFaults
    from etsched.planning.ground import Ground

# Shallower roots no schedule serves, so the plan counts an inch (common practice, no source). The site file takes no
# less either.
LEAST_ROOTS_MM = 25.4


@dataclass(frozen=True, slots=True)
class Found:
    """What a visit makes of a site."""

    site: Site  # with the findings in it
    findings: VisitFindings
    cups: tuple[CupsRead, ...]
    cores: tuple[CoreResult, ...]
    readings: tuple[Reading, ...]  # the water of the stations whose cores were read, if any were
    wired: Mapping[int, int]  # terminal under which a station was filed → terminal as it is wired

    @property
    def uniformity(self) -> dict[int, float]:
        """Measured DU(lq) by terminal."""
        return {
            found.terminal: found.known.value
            for found in self.findings.findings
            if found.field == "uniformity" and found.effect is Effect.SETS
            if found.terminal is not None and found.known is not None
        }


def found_by(site: Site, visit: Visit) -> Found:
    """Evaluate a visit: what it measured takes the place of what the site file states or leaves out.

    Of the terminals the wiring comes first, since every other finding goes by the terminal as it is wired.
    """
    wired, moved, terminals = rewired(site, visit)
    cups = tuple(_cups(wired, test) for test in visit.cup_tests)
    caught = tuple(_of_cups(cups, visit))
    even = {each.terminal for each in caught if each.field == "uniformity" and each.terminal is not None}
    seen = (
        *moved,
        *blocks_and_frees(wired, visit),
        *leak_findings(visit),
        *(each for each in caught if each.terminal in terminals.values()),
        *_no_water_caught(wired, visit),
        *meter_findings(wired, visit, _rates(caught)),
        *head_findings(wired, visit, even),
        *_first_runoffs(wired, visit),
        *salt_findings(visit),
    )
    measured = with_findings(wired, seen)
    cores = _cores(measured, visit)
    found = (*seen, *_of_cores(cores, visit))
    site_found = with_findings(wired, found)
    order = sorted(found, key=lambda each: (each.terminal is None, each.terminal or 0))
    remarks = (*_strangers(site_found, visit), *_wet_though_blocked(site_found, visit))
    remarks = (*_remarks(measured, visit, cups, cores), *remarks)
    return Found(
        site_found,
        VisitFindings(visit.day, visit.technician, tuple(order), remarks),
        cups,
        cores,
        tuple(_readings(cores, visit)),
        terminals,
    )


def with_findings(site: Site, findings: Sequence[Finding]) -> Site:
    """Put findings into a site; the later of two that set the same number stands."""
    return replace(site, stations=tuple(_with(station, findings) for station in site.stations))


def _with(station: Station, findings: Sequence[Finding]) -> Station:
    for found in findings:
        if found.terminal != station.terminal:
            continue
        match found.effect:
            case Effect.SETS | Effect.DISCOUNTS if found.known is not None:
                measured: dict[str, Any] = {found.field: found.known}
                station = replace(station, **measured)
            case Effect.BLOCKS:
                station = replace(station, blocked=found.reason)
            case Effect.FREES:
                station = replace(station, blocked=None)
            case _:
                pass
    return station


def _cups(site: Site, test: CupTest) -> CupsRead:
    heads = [str(station.head) for station in site.stations if station.terminal in test.stations]
    try:
        return CupsRead(test, cup_result(test, heads))
    except PlanRefused as error:
        return CupsRead(test, None, str(error))


def _of_cups(cups: Sequence[CupsRead], visit: Visit) -> Iterator[Finding]:
    # Of two tests of one station that with more cups stands, so it comes last.
    for each in sorted(cups, key=lambda read: len(read.test.cups)):
        told = each.result
        if told is None:
            continue
        source = f"{told.count} cups, {visit.name}"
        rate = told.rate_mm_h
        if rate is not None and not LEAST_RATE_MM_H <= rate <= MOST_RATE_MM_H:
            terminal = told.stations[0]
            said = (
                f"Station {terminal}: {source} tell a rate that no heads put down, so the plan does not use them: look "
                "at what was read, the minutes and the throat of the cups, and test again."
            )
            known = Known(rate, Basis.MEASURED, source)
            yield Finding(terminal, "precip_rate", Effect.WARNS, said, known, "mm_h")
            continue
        for terminal in told.stations:
            even = told.uniformity
            yield from _measured(terminal, "precip_rate", "mm_h", source, _rate_range(told))
            yield from _measured(terminal, "wettest_quarter_rate", "mm_h", source, (told.wettest_quarter_rate_mm_h,))
            if even is not None:
                between = (even.du_lq_fraction, even.du_lq_low_fraction, even.du_lq_high_fraction)
                yield from _measured(terminal, "uniformity", "fraction", source, between)


def _rate_range(told: CupResult) -> tuple[float | None, ...]:
    """Rate and range, the range kept to what heads put down: among a few dry cups it may reach down to no water."""
    ends = (told.rate_low_mm_h, told.rate_high_mm_h)
    kept = (None if end is None else min(max(end, LEAST_RATE_MM_H), MOST_RATE_MM_H) for end in ends)
    return told.rate_mm_h, *kept


def _measured(
    terminal: int, name: str, suffix: str, source: str, between: tuple[float | None, ...]
) -> Iterator[Finding]:
    """Set a number to what was measured, with its range where one is known; nothing where nothing was."""
    value, *ends = between
    if value is not None:
        found = _sets(terminal, name, value, suffix, source)
        yield replace(found, known=Known(value, Basis.MEASURED, source, *ends))


def _no_water_caught(site: Site, visit: Visit) -> Iterator[Finding]:
    """Block the stations of which cups were set out, each alone, and not one of them caught anything."""
    for station in site.stations:
        tests = [test for test in visit.cup_tests if test.stations == (station.terminal,)]
        caught = [max(cup.depth_mm or 0.0, cup.volume_ml or 0.0) for test in tests for cup in test.cups]
        if len(caught) >= least_for_rate() and max(caught) <= 0.0:
            why = f"no cup caught anything ({visit.name})"
            said = f"Station {station.terminal} ({station.area}) gets no minutes: {why}."
            yield Finding(station.terminal, "no water", Effect.BLOCKS, said, reason=why)


def _rates(found: Sequence[Finding]) -> dict[int, float]:
    """Rates caught in cups, mm/h, by terminal."""
    return {
        each.terminal: each.known.value
        for each in found
        if each.field == "precip_rate"
        and each.effect is Effect.SETS
        and each.terminal is not None
        and each.known is not None
    }


def _sets(terminal: int, name: str, value: float, suffix: str, source: str) -> Finding:
    words = name.replace("precip_", "precipitation ").replace("_", " ")
    return Finding(
        terminal,
        name,
        Effect.SETS,
        f"Station {terminal}: {words} measured ({source}).",
        Known(value, Basis.MEASURED, source),
        suffix,
    )


def _first_runoffs(site: Site, visit: Visit) -> Iterator[Finding]:
    """Take the soonest of several runs, which keeps the water on the ground."""
    for station in site.stations:
        seen = [run.first_runoff_min or 0.0 for run in visit.runs if run.station == station.terminal]
        soonest = min((minutes for minutes in seen if minutes > 0.0), default=None)
        if soonest is not None:
            yield _sets(station.terminal, "first_runoff", soonest, "min", f"seen running, {visit.name}")


def _cores(site: Site, visit: Visit) -> tuple[CoreResult, ...]:
    return core_results(site, visit, _ground(site, visit), feel_shares(), _faulty(site, visit))


def _ground(site: Site, visit: Visit) -> Ground:
    return ground(site, facts_by_station(site, visit.day.month))


def _faulty(site: Site, visit: Visit) -> CoverageFaults:
    """Patches whose own signs support a fault of coverage. One that bears a station's name is the whole station."""
    patches = {
        area.name
        for area in visit.areas
        if not any(same_name(area.name, station.area) for station in site.stations)
        for cause in diagnose(site, visit, area.name).causes
        if cause.key == "coverage" and cause.state == "supported"
    }
    return replace(coverage_faults(visit), areas=frozenset(patches))


def _of_cores(cores: Sequence[CoreResult], visit: Visit) -> Iterator[Finding]:
    for each in cores:
        if each.root_depth_mm is not None:
            source = f"{_counted(each.rooted_count)}, {visit.name}"
            if each.root_depth_mm < LEAST_ROOTS_MM:
                source = f"{source}; shallower, and counted as an inch"
            yield _sets(each.terminal, "root_depth", max(each.root_depth_mm, LEAST_ROOTS_MM), "mm", source)
        if each.deficit_mm is not None:
            yield Finding(each.terminal, "water", Effect.SETS, each.sentence)
        for said in each.local:
            yield Finding(each.terminal, "core", Effect.WARNS, said)


def _counted(cores: int) -> str:
    return f"{cores} core{'' if cores == 1 else 's'}"


def _readings(cores: Sequence[CoreResult], visit: Visit) -> Iterator[Reading]:
    deficit = {each.terminal: each.deficit_mm for each in cores if each.deficit_mm is not None}
    thickness = {each.terminal: each.thickness_mm for each in cores if each.terminal in deficit}
    if deficit:
        yield Reading(WaterState(visit.day, deficit, thickness), f"cores read by feel, {visit.name}")


def _remarks(site: Site, visit: Visit, cups: Sequence[CupsRead], cores: Sequence[CoreResult]) -> Iterator[str]:
    for each in cups:
        who = ", ".join(str(terminal) for terminal in each.test.stations)
        if each.result is None:
            yield f"Cup test of station {who}: {each.refused}."
        else:
            yield from each.result.remarks
    for core in cores:
        if core.deficit_mm is None:
            yield core.sentence
        yield from core.remarks
    yield from stray_cores(site, visit)
    yield from inches_remarks(site, visit, _ground(site, visit), feel_shares(), _inches)


def _strangers(site: Site, visit: Visit) -> Iterator[str]:
    """Name the terminals that were seen or measured and that nobody knows; cores and runs say so themselves."""
    measured = {
        *(terminal for test in visit.cup_tests for terminal in test.stations),
        *(meter.station for meter in visit.meters if meter.station is not None),
        *(head.station for head in visit.heads),
        *(run.station for run in visit.runs if run.first_runoff_min is not None),
    }
    for terminal in sorted(measured - {station.terminal for station in site.stations}):
        yield f"The site has no station {terminal}, so what was seen and measured of it enters no plan."


def _wet_though_blocked(site: Site, visit: Visit) -> Iterator[str]:
    """Say where water was measured of a station that gets no minutes; only a run from the controller frees it."""
    for station in site.stations:
        cups = [cup for test in visit.cup_tests if test.stations == (station.terminal,) for cup in test.cups]
        wet = any((cup.depth_mm or 0.0) > 0.0 or (cup.volume_ml or 0.0) > 0.0 for cup in cups)
        wet = wet or any(m.station == station.terminal and m.volume_l > 0.0 for m in visit.meters)
        if wet and station.blocked is not None:
            yield (
                f"Station {station.terminal}: water was measured, and yet it gets no minutes ({station.blocked}). Run "
                "it from the controller, look where it waters, and record the run."
            )


def _inches(soil: str, key: str) -> tuple[float, float] | None:
    figure = feel_deficit(soil, key)
    return figure.low, figure.high
