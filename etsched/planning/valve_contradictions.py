"""What does not fit together between terminals, areas and the site file, each in a sentence."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

from etsched.model.valve_map import Contradiction
from etsched.planning.clock_passes import runs_at_all, stations_of
from etsched.reference.coils import coil_kind, read_coil

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Sequence

    from etsched.model.site import Site
    from etsched.model.visit import Visit
    from etsched.planning.runs_seen import Areas, TerminalSeen


def contradictions(
    site: Site, visit: Visit, areas: Areas, seen: Sequence[TerminalSeen], reachable: Collection[int]
) -> tuple[Contradiction, ...]:
    """Name all that does not fit; `reachable` are the areas that some terminal waters in some wiring that fits."""
    return (
        *_shared(areas, seen),
        *_unreached(areas, reachable),
        *_nothing(seen),
        *_dead(visit, areas, seen),
        *_common_wire(visit),
        *_several(areas, seen),
        *_changing(areas, seen),
        *_misfiled(site, areas, seen),
        *_names(areas, seen),
        *_not_filed(site, seen),
    )


def _shared(areas: Areas, seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    for area, name in enumerate(areas.names):
        who = tuple(each.terminal for each in seen if each.wet and area in each.wet)
        if len(who) > areas.valves[area]:
            valves = "one valve" if areas.valves[area] == 1 else f"{areas.valves[area]} valves"
            yield Contradiction(
                "two terminals, one area",
                who,
                (name,),
                f"Terminals {_and(who)} water {name}, which has {valves} on the drawing: the wires are joined, the "
                "heads of one throw across, or the drawing lacks a valve.",
            )


def _unreached(areas: Areas, reachable: Collection[int]) -> Iterator[Contradiction]:
    for area, name in enumerate(areas.names):
        if area not in reachable:
            yield Contradiction(
                "an area no terminal waters",
                (),
                (name,),
                f"No terminal waters {name}: its valve hangs on no wire, or does not open. Open it by hand.",
            )


def _nothing(seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    for each in seen:
        if each.state == "nothing":
            yield Contradiction(
                "a terminal that waters nothing",
                (each.terminal,),
                (),
                f"Terminal {each.terminal} was run and nothing got wet: no valve hangs on it, or no water comes.",
            )


def _dead(visit: Visit, areas: Areas, seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    for each in seen:
        if each.came_on is not False or each.state == "nothing":
            continue
        names = tuple(areas.names[area] for area in sorted(each.wet or ()))
        place = f" ({', '.join(names)})" if names else ""
        if each.by_hand:
            kind = "by hand but not from the controller"
            says = "opens by hand but not from the controller: wiring, coil or program, not water."
        else:
            kind, says = (
                "not on",
                "does not come on from the controller: open its valve by hand to see whether water comes.",
            )
        text = f"Terminal {each.terminal}{place} {says}{_program(visit, each.terminal)}{_coil(visit, each.terminal)}"
        yield Contradiction(kind, (each.terminal,), names, text)


def _program(visit: Visit, terminal: int) -> str:
    """Say that the clock would never run it; a run started by hand at the controller does not care."""
    if visit.clock is None or not visit.clock.programs:
        return ""
    run = {int(t) for program in visit.clock.programs if runs_at_all(program) for t in stations_of(program)[0]}
    return "" if terminal in run else " No program of the clock runs it."


def _coil(visit: Visit, terminal: int) -> str:
    readings = [each for each in visit.electrical if each.station == terminal]
    return "".join(f" {read_coil(each.coil_ohm, each.volts_v, each.volts_at).sentence}" for each in readings)


def _common_wire(visit: Visit) -> Iterator[Contradiction]:
    """All coils open at once are one fault before all of them."""
    read = {each.station: each.coil_ohm for each in visit.electrical if each.coil_ohm is not None}
    if len(read) > 1 and all(coil_kind(ohm) == "open" for ohm in read.values()):
        yield Contradiction(
            "every coil open",
            tuple(sorted(read)),
            (),
            f"Every coil that was read is an open line (terminals {_and(sorted(read))}): look at the common wire and "
            "the master valve before any coil.",
        )


def _several(areas: Areas, seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    for each in seen:
        if any(len(look) > 1 for look in each.looks):
            names = tuple(areas.names[area] for area in sorted(each.wet or ()))
            yield Contradiction(
                "one terminal, several areas",
                (each.terminal,),
                names,
                f"Terminal {each.terminal} waters {_and(names)} at once: two valves hang on it, or its heads throw "
                "across.",
            )


def _changing(areas: Areas, seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    for each in seen:
        if len(set(each.looks)) > 1:
            looks = [_and([areas.names[area] for area in sorted(look)]) or "nothing" for look in each.looks]
            yield Contradiction(
                "not the same each time",
                (each.terminal,),
                tuple(areas.names[area] for area in sorted(each.wet or ())),
                f"Terminal {each.terminal} did not do the same each time it was run ({'; then '.join(looks)}): run it "
                "again.",
            )


def _misfiled(site: Site, areas: Areas, seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    filed = {station.terminal: station.area for station in site.stations}
    for each in seen:
        if each.wet and each.terminal in filed and areas.index(filed[each.terminal]) not in each.wet:
            names = tuple(areas.names[area] for area in sorted(each.wet))
            yield Contradiction(
                "filed under another area",
                (each.terminal,),
                (*names, filed[each.terminal]),
                f"Terminal {each.terminal} waters {_and(names)} and not {filed[each.terminal]}, as the site file has "
                "it.",
            )


def _names(areas: Areas, seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    filed = areas.names[: areas.filed_count]
    for area in range(areas.filed_count, len(areas.names)):
        name = areas.names[area]
        near = get_close_matches(name.casefold(), [each.casefold() for each in filed], 1)
        hint = "".join(f" The nearest is {each}." for each in filed if near and each.casefold() == near[0])
        yield Contradiction(
            "an area the site file does not name",
            tuple(each.terminal for each in seen if each.wet and area in each.wet),
            (name,),
            f"The site file names no area {name}.{hint} Mend the name in the visit or in the site file.",
        )


def _not_filed(site: Site, seen: Sequence[TerminalSeen]) -> Iterator[Contradiction]:
    filed = {station.terminal for station in site.stations}
    for each in seen:
        if each.terminal not in filed:
            yield Contradiction(
                "a terminal the site file lacks",
                (each.terminal,),
                (),
                f"Terminal {each.terminal} was run, but the site file does not have it: add it there.",
            )


def _and(things: Sequence[int] | Sequence[str]) -> str:
    words = [str(thing) for thing in things]
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)
