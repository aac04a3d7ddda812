"""Which valve waters what: the wirings that fit every run of a visit, what contradicts itself, and what to try next."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from etsched.model.valve_map import ChartRow, NextTry, ValveMap
from etsched.planning.runs_seen import areas_of, terminals_seen
from etsched.planning.valve_contradictions import contradictions
from etsched.planning.wirings import Choice, count_wirings, expected_left, split_by_trial
from etsched.reference.coils import cautions

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.model.site import Site, Station
    from etsched.model.visit import Visit
    from etsched.planning.runs_seen import Areas, TerminalSeen

# What running the terminal once more, and looking, would show.
_TO_TRY = frozenset({"not tried", "place not seen"})


def valve_map(site: Site, visit: Visit) -> ValveMap:
    """Settle which terminal waters what from the runs of a visit, and say what does not fit together.

    A terminal seen to wet an area has a valve there; one that nobody ran may have any valve that no other terminal
    needs, or none. Where more terminals wet an area than the drawing has valves for it, it is given more.
    """
    areas = areas_of(site, visit.runs)
    seen = terminals_seen(site, visit.runs, areas)
    choices = tuple(choice_of(each) for each in seen)
    enough = with_valves_needed(areas, choices)
    shows = _splits(choices, enough.valves)
    wirings = count_wirings(choices, enough.valves)
    reachable = {area for split in shows for area in split if area is not None}
    stations = {station.terminal: station for station in site.stations}
    return ValveMap(
        tuple(_row(each, split, enough, stations, site) for each, split in zip(seen, shows, strict=True)),
        contradictions(site, visit, areas, seen, reachable),
        wirings,
        _next_try(seen, shows, stations, areas),
        cautions(),
    )


def choice_of(seen: TerminalSeen) -> Choice:
    """Turn what a terminal showed into what it may water."""
    match seen.state:
        case "nothing":
            return Choice(frozenset())
        case "not on" | "not tried":
            return Choice()
        case _:
            return Choice(seen.wet or None, may_be_nothing=False)


def with_valves_needed(areas: Areas, choices: Sequence[Choice]) -> Areas:
    """Give areas the valves without which nothing fits what was seen: the drawing then lacks them, or wires are joined.

    A terminal that came on where nobody saw it may need a valve of an area that nobody named.
    """
    names, valves = list(areas.names), list(areas.valves)
    fitted: list[Choice] = []
    for choice in sorted(choices, key=lambda each: each.areas is None):
        fitted.append(choice)
        if not count_wirings(fitted, tuple(valves)):
            if choice.areas is None:
                names.append("")
                valves.append(1)
            else:
                valves[min(choice.areas)] += 1
    return replace(areas, names=tuple(names), valves=tuple(valves))


def _splits(choices: Sequence[Choice], valves: tuple[int, ...]) -> list[dict[int | None, int]]:
    """Split the wirings by what each terminal may show; terminals with the same choice are alike."""
    known: dict[Choice, dict[int | None, int]] = {}
    for at, choice in enumerate(choices):
        if choice not in known:
            known[choice] = split_by_trial(choices, valves, at)
    return [known[choice] for choice in choices]


def _row(
    seen: TerminalSeen, split: dict[int | None, int], areas: Areas, stations: dict[int, Station], site: Site
) -> ChartRow:
    filed = stations.get(seen.terminal)
    own = areas.index(filed.area) if filed is not None else None
    note = ""
    if seen.wet:
        found = seen.wet
    else:  # one valve left for a terminal that came on is as good as seen, and yet nobody saw it
        found = frozenset(area for area in split if area is not None and len(split) == 1)
        note = "the only place left; nobody saw it" if found else ""
    numbers = _plan_numbers(found, own, filed, areas, site)
    if len(numbers) > 1:
        note = f"one of {', '.join(numbers)} on the drawing"
    elif seen.state == "by hand" and seen.came_on is None:
        note = "not tried from the controller"
    return ChartRow(
        seen.terminal,
        numbers[0] if len(numbers) == 1 else "",
        ", ".join(areas.names[area] for area in sorted(found)),
        seen.state,
        filed.area if filed is not None else "",
        note,
        seen.wet is not None,
    )


def _plan_numbers(
    found: frozenset[int], own: int | None, filed: Station | None, areas: Areas, site: Site
) -> tuple[str, ...]:
    """Give the numbers on the drawing that a terminal may have: its own where it waters what it should."""
    if filed is not None and own in found:
        return (filed.plan_number,) if filed.plan_number else ()
    names = {areas.names[area] for area in found}
    there = [station for station in site.stations if areas.names[areas.index(station.area)] in names]
    return tuple(dict.fromkeys(station.plan_number for station in there if station.plan_number))


def _next_try(
    seen: Sequence[TerminalSeen],
    shows: Sequence[dict[int | None, int]],
    stations: dict[int, Station],
    areas: Areas,
) -> NextTry | None:
    """Choose the terminal whose run leaves the fewest wirings on average.

    Among equals, one whose filed area was seen under another terminal comes first: it is known to be filed wrongly.
    """
    taken = {area for each in seen for area in each.wet or ()}

    def order(pair: tuple[TerminalSeen, dict[int | None, int]]) -> tuple[float, bool, int]:
        filed = stations.get(pair[0].terminal)
        displaced = filed is not None and areas.index(filed.area) in taken
        return expected_left(pair[1]), not displaced, pair[0].terminal

    useful = [pair for pair in zip(seen, shows, strict=True) if pair[0].state in _TO_TRY and len(pair[1]) > 1]
    if not useful:
        return None
    best = min(useful, key=order)
    left = expected_left(best[1])
    return NextTry(best[0].terminal, left, f"Run terminal {best[0].terminal} next and look where it waters.")
