"""What the runs of a visit showed about each terminal: did it come on, did its valve open, what got wet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from etsched.model.site import Site
    from etsched.model.visit import StationRun


@dataclass(frozen=True, slots=True)
class Areas:
    """The areas of a site and those that only a visit names, each with the valves that the drawing gives it."""

    names: tuple[str, ...]
    valves: tuple[int, ...]
    filed_count: int  # the first so many stand in the site file

    def index(self, name: str) -> int:
        """Find an area by its name, however it is spaced and capitalised."""
        return [_plain(each) for each in self.names].index(_plain(name))


@dataclass(frozen=True, slots=True)
class TerminalSeen:
    """One terminal. `wet` holds areas by index, None where nobody looked; `seen_wet` the same look by look."""

    terminal: int
    came_on: bool | None = None
    by_hand: bool | None = None
    wet: frozenset[int] | None = None
    looks: tuple[frozenset[int], ...] = ()

    @property
    def state(self) -> str:
        """One of `model.valve_map.STATES`."""
        if self.wet:
            by_hand_only = self.came_on is False or (self.came_on is None and self.by_hand)
            return "by hand" if by_hand_only else "seen"
        if self.came_on is False:
            # A valve that opened by hand and wetted nothing was run after all.
            opened = self.by_hand and self.wet is not None
            return "nothing" if opened else "by hand" if self.by_hand else "not on"
        if self.wet is not None:
            return "nothing"
        if self.came_on:
            return "place not seen"
        return "by hand" if self.by_hand else "not tried"


def areas_of(site: Site, runs: Sequence[StationRun]) -> Areas:
    """Collect the areas: the site's first, each with as many valves as it has stations, then names of the visit's."""
    names: dict[str, str] = {}
    valves: dict[str, int] = {}
    for station in site.stations:
        names.setdefault(_plain(station.area), station.area)
        valves[_plain(station.area)] = valves.get(_plain(station.area), 0) + 1
    filed = len(names)
    for run in runs:
        for area in run.wet_areas or ():
            names.setdefault(_plain(area), area)
            valves.setdefault(_plain(area), 1)
    return Areas(tuple(names.values()), tuple(valves[key] for key in names), filed)


def terminals_seen(site: Site, runs: Sequence[StationRun], areas: Areas) -> tuple[TerminalSeen, ...]:
    """Put the runs of every terminal together, in order of terminal, those too that the site file lacks."""
    terminals = sorted({station.terminal for station in site.stations} | {run.station for run in runs})
    return tuple(_seen(terminal, [run for run in runs if run.station == terminal], areas) for terminal in terminals)


def _seen(terminal: int, runs: Sequence[StationRun], areas: Areas) -> TerminalSeen:
    # A run that did not come on shows nothing of where the terminal waters, unless its valve was opened by hand.
    looks = tuple(
        frozenset(areas.index(area) for area in run.wet_areas)
        for run in runs
        if run.wet_areas is not None and (run.wet_areas or run.from_controller is not False or run.by_hand)
    )
    return TerminalSeen(
        terminal,
        _ever(run.from_controller for run in runs),
        _ever(run.by_hand for run in runs),
        frozenset().union(*looks) if looks else None,
        looks,
    )


def _ever(answers: Iterable[bool | None]) -> bool | None:
    """Once is enough to show that it can."""
    told = [answer for answer in answers if answer is not None]
    return any(told) if told else None


def same_name(one: str, other: str) -> bool:
    """Say whether two names mean one area, however they are spaced and capitalised."""
    return _plain(one) == _plain(other)


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
