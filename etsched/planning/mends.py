"""What is to be mended after a visit, in one list: repairs by worth, then what else leaks, is filed or set wrongly."""

from __future__ import annotations

from itertools import chain
from typing import TYPE_CHECKING

from etsched.model.finding import Effect, Mend
from etsched.planning.clock_remarks import clock_repairs, clock_settings
from etsched.planning.repairs import what_to_do
from etsched.reference.faults import head_faults

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from etsched.model.finding import Finding, Repair
    from etsched.model.site import Site
    from etsched.model.visit import Visit


def mends(site: Site, visit: Visit, findings: Sequence[Finding], repairs: Sequence[Repair]) -> tuple[Mend, ...]:
    """List all that is to be mended, once each; `site` is the property as found, `repairs` are in order of worth."""
    return tuple(
        chain(
            _stations(site, visit, findings, repairs),
            _meter(findings),
            _wiring(site, findings),
            (Mend((), "clock", (line,)) for line in clock_repairs(visit.clock)),
            (Mend((), "clock", (line,), setting=True) for line in clock_settings(visit.clock, site.units)),
        )
    )


def _stations(site: Site, visit: Visit, findings: Sequence[Finding], repairs: Sequence[Repair]) -> Iterator[Mend]:
    """Give every station its repairs and leaks, those whose repair is worth something first."""
    areas = {station.terminal: station.area for station in site.stations}
    worth = [each.terminal for each in repairs]
    for terminal in (*worth, *sorted(areas.keys() - set(worth))):
        mine = [each for each in findings if each.terminal == terminal and each.effect is not Effect.FREES]
        what = (
            *what_to_do(terminal, [each for each in mine if each.effect is Effect.BLOCKS], visit.electrical),
            *(f"find its terminal: {each.reason}" for each in mine if each.reason and each.field == "terminal"),
            *(each.sentence.partition(": ")[2].removesuffix(".") for each in mine if each.field in head_faults()),
            *(f"mend the leak: {run.leak}" for run in visit.runs if run.station == terminal and run.leak),
        )
        if what:
            yield Mend((terminal,), areas[terminal], what, visit.recovery.ready.get(terminal))


def _meter(findings: Sequence[Finding]) -> Iterator[Mend]:
    if any(each.terminal is None and each.field == "leak" for each in findings):
        yield Mend((), "water meter", ("find the leak: water runs through the meter while no station is on",))


def _wiring(site: Site, findings: Sequence[Finding]) -> Iterator[Mend]:
    moved = {each.terminal for each in findings if each.effect is Effect.MOVES}
    if moved:
        stations = [station for station in site.stations if station.terminal in moved]
        waters = ", ".join(f"station {station.terminal} waters {station.area}" for station in stations)
        what = f"tell whoever keeps the record (the site file), and mark it beside the controller: {waters}"
        yield Mend(tuple(station.terminal for station in stations), "record of the wiring", (what,), setting=True)
