"""All properties that a person looks after, by how urgent they are, from the plans that are kept."""

from __future__ import annotations

import json
from collections import OrderedDict
from dataclasses import dataclass
from enum import IntEnum
from threading import Lock
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from etsched.days import day_in_full
from etsched.stores import plans, sites, visits, water
from etsched.tables.assumptions import terminals_text
from etsched.tables.figure import count_of, plain
from etsched.usecases.controller import SILENT, state_in
from etsched.usecases.kept_plans import is_overdue
from etsched.usecases.properties import site_in, site_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date, datetime

    from sqlalchemy import Connection

    from etsched.model.service import PlanHead
    from etsched.usecases.service import Service


_READER = json.JSONDecoder()
_TOLD_LATELY_D = 2  # of the evening before today


class Urgency(IntEnum):
    """How soon somebody must look; the most urgent first."""

    NO_PLAN = 0  # nothing says what should run
    SILENT = 1  # nobody knows what ran, and it may be nothing
    UNSAID = 2  # nobody said what is in the clock, and no controller ever reported
    SHORT = 3  # turf goes without water that it needs
    BLOCKED = 4  # a valve brings nothing until it is mended
    FINE = 5


_UNSAID = (Urgency.UNSAID, "Nobody has said what is in the clock: key the plan in, and say so.")


@dataclass(frozen=True, slots=True)
class WeekInShort:
    """What a list shows of a plan."""

    minutes: int
    volume: str
    rain: str
    missing_min: int
    short_count: int  # stations that lack minutes on a night
    blocked: tuple[tuple[str, tuple[int, ...]], ...]  # why, and the stations it leaves out
    guessed_count: int  # stations with a number that nobody measured


@dataclass(frozen=True, slots=True)
class Standing:
    """One property in the list; `week` is None before its first plan."""

    site: str
    name: str
    urgency: Urgency
    matters: tuple[str, ...]  # sentences, the most urgent first
    week: WeekInShort | None


class WeeksInShort:
    """What was read out of a service's plans before, by property and revision: a list asks for all of them."""

    def __init__(self, most: int = 10_000) -> None:
        self._most, self._lock = most, Lock()
        self._kept: OrderedDict[tuple[str, int], WeekInShort] = OrderedDict()

    def of(self, reading: Connection, site: str, revision: int) -> WeekInShort | None:
        """Give a plan in short, read from the database where it is not at hand."""
        found = self._kept.get((site, revision))
        if found is not None:
            return found
        whole = plans.find_plan(reading, site, revision)
        if whole is None:  # within one transaction it cannot have gone
            return None
        found = in_short(whole.document)
        with self._lock:
            self._kept[site, revision] = found
            if len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return found


def standings(service: Service, only: frozenset[str] | None, weeks: WeeksInShort) -> list[Standing]:
    """Give every property within reach, the most urgent first, then by name."""
    now = service.clock.now()
    with service.database.reading() as reading:
        heads, last = plans.latest_heads(reading), water.last_reports(reading)
        recorded, keyed = visits.last_recorded(reading), plans.sites_keyed_in(reading)
        found = []
        for site, (name, zone) in sites.names_of(reading).items():
            if only is None or site in only:
                head = heads.get(site)
                week = None if head is None else weeks.of(reading, site, head.revision)
                silence = _silence(reading, site, last.get(site), now.astimezone(ZoneInfo(zone)))
                unsaid = week is not None and site not in last and site not in keyed
                said = [*silence, *([_UNSAID] if unsaid else []), *_matters(week)]
                matters = [*_planless(head, now), *said, *_visited(head, recorded.get(site))]
                found.append(_standing((site, plain(name)), matters, week))
    return sorted(found, key=lambda each: (each.urgency, -_missing(each), each.name, each.site))


def to_do(week: WeekInShort, *, unsaid: bool) -> tuple[str, ...]:
    """Say what somebody must do so that a plan comes to the turf, the most urgent first."""
    return tuple(text for _, text in ([_UNSAID] if unsaid else []) + list(_matters(week)))


def _missing(standing: Standing) -> int:
    return standing.week.missing_min if standing.week is not None else 0


def _standing(names: tuple[str, str], matters: list[tuple[Urgency, str]], week: WeekInShort | None) -> Standing:
    in_order = sorted(matters, key=lambda matter: matter[0])
    urgency = in_order[0][0] if in_order else Urgency.FINE
    return Standing(*names, urgency, tuple(text for _, text in in_order), week)


def _silence(reading: Connection, site: str, last: date | None, now: datetime) -> Iterator[tuple[Urgency, str]]:
    """Say that a controller has told nothing since a night, which its site file is wanted for.

    A thousand files take seconds to read, so whoever told last night is left alone; where windows open after midnight
    the list therefore says a day later than the property's own page that last night was not told.
    """
    if last is None or (now.date() - last).days < _TOLD_LATELY_D:
        return
    state = state_in(reading, site, site_of(site_in(reading, site)), now)
    if state.kind == SILENT:
        yield Urgency.SILENT, f"{state.words[0].upper()}{state.words[1:]}."


def _planless(head: PlanHead | None, now: datetime) -> Iterator[tuple[Urgency, str]]:
    if head is None:
        yield Urgency.NO_PLAN, "No plan has been made yet."
    elif is_overdue(head.valid_until, now):
        yield Urgency.NO_PLAN, "The last plan is out of date and no newer one was made."


def _matters(week: WeekInShort | None) -> Iterator[tuple[Urgency, str]]:
    if week is None:
        return
    if week.missing_min:
        who = count_of(week.short_count, "station gets", "stations get")
        late = f"{who} some of their minutes late or not at all"
        yield Urgency.SHORT, f"The nights are too short: {late}. The week's page says what would make room."
    for why, terminals in week.blocked:
        named = f"Station {terminals[0]} is" if len(terminals) == 1 else f"Stations {terminals_text(terminals)} are"
        yield Urgency.BLOCKED, f"{named} left out until mended: {why.removesuffix('.')}."


def _visited(head: PlanHead | None, recorded: tuple[date, datetime] | None) -> Iterator[tuple[Urgency, str]]:
    if recorded is not None and (head is None or head.at < recorded[1]):
        yield Urgency.FINE, f"The visit of {day_in_full(recorded[0])} is recorded and enters the next plan."


def in_short(document: str) -> WeekInShort:
    """Read what a list shows of a plan out of its document."""
    stations, totals = _part(document, '"stations": ['), _part(document, '"totals": {')
    return WeekInShort(
        minutes=totals["minutes"],
        volume=totals["volume"],
        rain=totals["rain"],
        missing_min=sum(row["missing_min"] for row in stations),
        short_count=sum(1 for row in stations if row["missing_min"]),
        blocked=_blocked(stations),
        guessed_count=sum(1 for row in stations if row["guessed"]),
    )


def _blocked(stations: list[Any]) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Give each reason once with its stations, by terminal."""
    found: dict[str, list[int]] = {}
    for row in sorted(stations, key=lambda row: row["terminal"]):
        if row["blocked"]:
            found.setdefault(plain(row["blocked"]), []).append(row["terminal"])
    return tuple((why, tuple(terminals)) for why, terminals in found.items())


def _part(document: str, opening: str) -> Any:  # noqa: ANN401 - JSON is untyped by nature
    """Read one part of a week's document and leave the rest, which is most of it.

    No text of a person can look like the opening, since its quotation marks are escaped there.
    """
    return _READER.raw_decode(document, document.index(opening) + len(opening) - 1)[0]
