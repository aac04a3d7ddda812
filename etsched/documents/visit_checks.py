"""What single values cannot tell: entries of a visit that contradict each other, its site or the calendar."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from etsched.documents import visit_cups
from etsched.documents.refusals import clean, shown
from etsched.documents.site_checks import Trouble
from etsched.documents.visit_model import CoreIn, CupsIn
from etsched.documents.visit_words import CUP_UNITS
from etsched.model.site import Site
from etsched.planning.runs_seen import same_name
from etsched.reference.signs import spoken
from etsched.units import UnitSystem, say, to_canonical

# Fewer cups do not even tell a rate (common practice, no source; every audit rule asks for far more).
LEAST_CUPS = 4
# A depth typed in another unit than the one it is held against may differ by rounding.
_SLACK_MM = 0.5


def belongs_to(site: Site, document: Mapping[str, Any], today: date, day: date | None) -> Iterator[Trouble]:
    """Find a visit of another property, or of a day that has not come."""
    if day is not None and day > today:
        yield ("date",), f"{day} is in the future", f"correct the day; today is {today}"
    name = document.get("site")
    if isinstance(name, str) and name.strip() and not same_name(name, site.name):
        wrong = f'the visit is to {shown(name)}, and the site file is of "{clean(site.name)}"'
        yield ("site",), wrong, "correct the name, or name the other site file"


def terminals_exist(site: Site, document: Mapping[str, Any]) -> Iterator[Trouble]:
    """Find terminals that the site lacks, also in tables that cannot be read otherwise."""
    known = {station.terminal for station in site.stations}
    remedy = f"correct it, or add the station to the site file; terminals there are {_row(sorted(known))}"
    for path, terminal in _terminals(document):
        if terminal not in known and 0 < terminal < 10_000:
            yield path, f"the site has no terminal {terminal}", remedy


def programs_once(document: Mapping[str, Any]) -> Iterator[Trouble]:
    """Find programs that bear one name."""
    taken: set[str] = set()
    for index, program in _tables(document, "program"):
        name = program.get("name")
        if not isinstance(name, str):
            continue
        if (plain := name.strip().casefold()) in taken:
            yield ("program", index, "name"), f"{shown(name)} stands twice", "give every program its own name"
        taken.add(plain)


def insects_once(document: Mapping[str, Any]) -> Iterator[Trouble]:
    """Find insects that are counted twice for one area, by two names."""
    for index, area in _tables(document, "area"):
        insects = area.get("insects")
        taken: set[str] = set()
        for name in insects if isinstance(insects, dict) else ():
            key = spoken("insect").get(name.casefold())
            if key in taken:
                yield ("area", index, "insects", name), f"{shown(name)} are counted twice", "write one number for them"
            taken |= {key} if key else set()


def cups_agree(index: int, test: CupsIn) -> Iterator[Trouble]:
    """Find what makes a cup test worthless."""
    for path, wrong, remedy in (*_layout(test), *_times(test), *_readings(test), *_mouth(test)):
        yield ("cups", index, *path), wrong, remedy


def core_agrees(index: int, core: CoreIn, units: UnitSystem) -> Iterator[Trouble]:
    """Find depths of one core that cannot be true together."""
    for path, wrong, remedy in (*_layers(core, units), *_reaches(core, units)):
        yield ("core", index, *path), wrong, remedy


def _terminals(document: Mapping[str, Any]) -> Iterator[tuple[tuple[str | int, ...], int]]:
    for key in ("run", "head", "electrical", "core", "meter"):
        for index, table in _tables(document, key):
            if _is_whole(table.get("station")):
                yield (key, index, "station"), table["station"]
    for index, table in _tables(document, "cups"):
        yield from _listed(("cups", index, "stations"), table.get("stations"))
    for index, table in _tables(document, "program"):
        yield from _keys(("program", index, "minutes"), table.get("minutes"))
    recovery = document.get("recovery")
    if isinstance(recovery, dict):
        yield from _keys(("recovery", "repaired_on"), recovery.get("repaired_on"))
        yield from _listed(("recovery", "sheds_water"), recovery.get("sheds_water"))


def _listed(path: tuple[str | int, ...], terminals: object) -> Iterator[tuple[tuple[str | int, ...], int]]:
    for place, terminal in enumerate(terminals if isinstance(terminals, list) else []):
        if _is_whole(terminal):
            yield (*path, place), terminal


def _keys(path: tuple[str | int, ...], table: object) -> Iterator[tuple[tuple[str | int, ...], int]]:
    for terminal in table if isinstance(table, dict) else ():
        if terminal.isascii() and terminal.isdigit() and len(terminal) <= 4:
            yield (*path, terminal), int(terminal)


def _tables(document: Mapping[str, Any], key: str) -> Iterator[tuple[int, dict[str, Any]]]:
    tables = document.get(key)
    for index, table in enumerate(tables if isinstance(tables, list) else []):
        if isinstance(table, dict):
            yield index, table


def _is_whole(raw: object) -> bool:
    return isinstance(raw, int) and not isinstance(raw, bool)


def _row(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers))


def _layout(test: CupsIn) -> Iterator[Trouble]:
    """Look at where the cups stood and whether there are any."""
    if (test.caught is None) == (test.rows is None):
        wrong = "has both caught and rows" if test.rows is not None else "has no reading"
        yield (), wrong, "write what the cups caught either in one list, caught, or in rows"
    if test.rows is None and (test.spacing or test.row_spacing):
        yield ("spacing",), "belongs to cups in rows", "write the cups as rows, or give x and y for each"
    if test.row_spacing and not test.spacing:
        yield ("row_spacing",), "stands without spacing", "write spacing too, between the cups of a row"
    placed = [each for each in (test.x, test.y, test.xy_unit) if each is not None]
    if placed and (len(placed) < 3 or test.caught is None):
        key = "x" if test.x is not None else "y" if test.y is not None else "xy_unit"
        remedy = 'write caught, x, y and xy_unit = "ft" together'
        yield (key,), "does not tell where the cups of caught stood", remedy
    for key, places in (("x", test.x), ("y", test.y)):
        if places is not None and test.caught is not None and len(places) != len(test.caught):
            wrong = f"has {len(places)} places for {len(test.caught)} cups"
            yield (key,), wrong, "write one for each cup, tipped ones too"


def _times(test: CupsIn) -> Iterator[Trouble]:
    if not test.stations:
        yield ("stations",), "names no station", "write the terminals that ran, such as [7]"
    elif len(test.minutes) != len(test.stations):
        wrong = f"tells {len(test.minutes)} where {len(test.stations)} stations ran"
        yield ("minutes",), wrong, "write how long each station ran, in the order of stations"
    if len(set(test.stations)) < len(test.stations):
        yield ("stations",), "names a station twice", "name each once, and give it all its minutes"


def _readings(test: CupsIn) -> Iterator[Trouble]:
    """Look at what the cups caught; a cup that caught nothing is a finding, a test of such cups is none."""
    suffix = CUP_UNITS[test.unit]
    caught = visit_cups.readings(test)
    read = [value for value in caught if value is not None]
    key = "rows" if test.rows is not None else "caught"
    if test.rows is None and test.caught is None:
        return
    if len(read) < LEAST_CUPS:
        wrong = f"{len(read)} cups are too few to tell anything" if len(read) != 1 else "one cup tells nothing"
        yield (key,), wrong, f"set out {LEAST_CUPS} at least, 24 for a uniformity"
    elif not any(read):
        yield (key,), "no cup caught anything", "write it as a [[run]] that wetted nothing: wet = []"
    if test.capacity is not None and suffix == "ml":
        most = test.capacity / to_canonical(1.0, test.unit, suffix)
        for path, value in _each(test):
            if value is not None and value > most * 1.001:
                wrong = f"{value:g} {test.unit} is more than the cup holds, {most:g} {test.unit}"
                yield path, wrong, "read the cup again, or correct capacity"


def _each(test: CupsIn) -> Iterator[tuple[tuple[str | int, ...], float | None]]:
    for row, values in enumerate(test.rows or []):
        yield from ((("rows", row, column), value) for column, value in enumerate(values))
    if test.rows is None:
        yield from ((("caught", place), value) for place, value in enumerate(test.caught or []))


def _mouth(test: CupsIn) -> Iterator[Trouble]:
    volumes = CUP_UNITS[test.unit] == "ml"
    if test.throat is not None and test.diameter is not None:
        yield ("diameter",), "stands beside throat", "write one of the two"
    if volumes and test.throat is None and test.diameter is None:
        wrong = f"the cups were read in {test.unit}, and without their mouth that is no depth"
        yield (), wrong, 'add throat = "16.5 sq in", or diameter = "4.6 in"'


def _layers(core: CoreIn, units: UnitSystem) -> Iterator[Trouble]:
    ends = 0.0
    for place, (top, bottom, _) in enumerate(core.spans):
        if bottom <= top:
            wrong = f"{say(bottom, 'mm', units)} is not below the top of the layer, {say(top, 'mm', units)}"
            yield ("layers", place, "bottom"), wrong, "write layers from the top down, each with its lower end"
        elif top < ends - _SLACK_MM:
            wrong = f"begins at {say(top, 'mm', units)}, and the layer above ends at {say(ends, 'mm', units)}"
            yield ("layers", place, "top"), wrong, "correct one of the two; layers do not overlap"
        ends = max(ends, bottom)


def _reaches(core: CoreIn, units: UnitSystem) -> Iterator[Trouble]:
    """Hold every depth against the deepest that the core is known to have reached."""
    ends = [(value, key) for key, value in (("depth", core.depth), ("stone", core.stone)) if value is not None]
    layers = max((bottom for _, bottom, _ in core.spans), default=None)
    if not ends and layers is not None:
        ends = [(layers, "the deepest layer")]
    if not ends:
        return
    reached, what = min(ends)
    remedy = "correct one of the two" + (
        ", or add depth, how deep the core reached" if what == "the deepest layer" else ""
    )
    depths: list[tuple[tuple[str | int, ...], float | None]] = [(("moist",), core.moist), (("roots",), core.roots)]
    depths += [(("layers", place, "bottom"), bottom) for place, (_, bottom, _) in enumerate(core.spans)]
    for path, value in depths:
        if value is not None and value > reached + _SLACK_MM:
            wrong = f"{say(value, 'mm', units)} is deeper than the core was read, {say(reached, 'mm', units)} ({what})"
            yield path, wrong, remedy
