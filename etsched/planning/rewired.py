"""The site with its stations at the terminals that were seen to water them, where the file has them at others."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from etsched.model.finding import Effect, Finding
from etsched.planning.runs_seen import areas_of, terminals_seen

if TYPE_CHECKING:
    from collections.abc import Mapping

    from etsched.model.site import Site, Station
    from etsched.model.visit import Visit


@dataclass(frozen=True, slots=True)
class _Wiring:
    """What a visit showed of the wires: terminals by the one a station is filed under."""

    seen: dict[int, int]  # the terminal that alone was seen to water the station
    left_over: dict[int, int]  # for stations whose own terminal proved to be another's
    watering: dict[int, tuple[int, ...]]  # every terminal that was seen to water the station's area


def rewired(site: Site, visit: Visit) -> tuple[Site, tuple[Finding, ...], dict[int, int]]:
    """Move every station to the terminal that alone was seen to water its area, unless its own does too.

    A station whose terminal proved to be another's, and which nobody saw water, gets a terminal that was left over
    and no minutes, until it is known what waters it. Areas with several stations, and areas that several terminals
    water, are left as they are filed: there the chart of the valves says what does not fit. Beside the site and what
    was found stands the terminal of every station, as it is wired, by the one it was filed under.
    """
    wiring = _wiring(site, visit)
    wired = {s.terminal: (wiring.seen | wiring.left_over).get(s.terminal, s.terminal) for s in site.stations}
    if not wiring.seen:
        return site, (), wired
    moved = [_moved(site, station, wiring) for station in site.stations]
    stations = tuple(sorted((station for station, _ in moved), key=lambda station: station.terminal))
    findings = sorted((found for _, found in moved if found is not None), key=lambda found: found.terminal or 0)
    # A ban is of the ground that a station waters, and goes with it.
    bans = tuple(replace(ban, terminals=frozenset(wired.get(t, t) for t in ban.terminals)) for ban in site.bans)
    return replace(site, stations=stations, bans=bans), tuple(findings), wired


def _wiring(site: Site, visit: Visit) -> _Wiring:
    areas = areas_of(site, visit.runs)
    wet = {each.terminal: each.wet for each in terminals_seen(site, visit.runs, areas) if each.wet}
    watering: dict[int, tuple[int, ...]] = {}
    seen: dict[int, int] = {}
    for station in site.stations:
        area = areas.index(station.area)
        mine = watering[station.terminal] = tuple(terminal for terminal, places in wet.items() if area in places)
        alone = len(mine) == 1 and wet[mine[0]] == {area} and areas.valves[area] == 1
        if alone and mine[0] != station.terminal:
            seen[station.terminal] = mine[0]
    return _Wiring(seen, _left_over(seen, watering), watering)


def _left_over(seen: Mapping[int, int], watering: Mapping[int, tuple[int, ...]]) -> dict[int, int]:
    """Give the stations whose terminal is another's one that was left over, first one seen to water their area.

    There are enough: every station that moved leaves its terminal, and at most one is displaced by it.
    """
    taken = set(seen.values())
    free = sorted(set(seen) - taken)
    displaced = sorted(terminal for terminal in watering if terminal in taken and terminal not in seen)
    found: dict[int, int] = {}
    for filed in displaced:
        fits = [terminal for terminal in free if terminal in watering[filed]]
        if fits:
            found[filed] = fits[0]
            free.remove(fits[0])
    # More are free than displaced where a terminal is new to the file.
    return found | dict(zip((filed for filed in displaced if filed not in found), free, strict=False))


def _moved(site: Site, station: Station, wiring: _Wiring) -> tuple[Station, Finding | None]:
    filed = station.terminal
    if filed in wiring.seen:
        return _at(station, wiring.seen[filed])
    if filed not in wiring.left_over:
        return station, None
    wired, mine = wiring.left_over[filed], wiring.watering[filed]
    if wired in mine:
        return _at(station, wired)
    other = next(s.area for s in site.stations if wiring.seen.get(s.terminal) == filed)
    unseen = "nobody saw which one waters this area"
    if mine:
        unseen = f"this area was seen wet from {_terminals(mine)}, which does not fit the file"
    why = f"its terminal {filed} waters {other}, and {unseen}"
    said = f"{station.area} gets no minutes: {why}."
    found = Finding(wired, "terminal", Effect.BLOCKS, said, reason=why)
    return replace(station, terminal=wired, blocked=why), found


def _at(station: Station, wired: int) -> tuple[Station, Finding]:
    said = f"{station.area} is watered by terminal {wired}; the site file has it at terminal {station.terminal}."
    return replace(station, terminal=wired), Finding(wired, "terminal", Effect.MOVES, said)


def _terminals(numbers: tuple[int, ...]) -> str:
    return f"terminal{'' if len(numbers) == 1 else 's'} {', '.join(map(str, numbers))}"
