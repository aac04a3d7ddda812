"""How far turf is past its allowable depletion: the one measure by which weeks are held against each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.planning import water
from etsched.planning.modes import dormant_on

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import date

    from etsched.model.plan import StationDay
    from etsched.model.site import Site


def past_allowable_mm(site: Site, first_day: date, books: Iterable[StationDay]) -> float:
    """Depletion past allowable, summed over stations and evenings; rounded, so that equal weeks compare equal.

    Turf that no minutes help, and turf that sleeps, does not count.
    """
    counts = _counting(site, first_day)
    return round(sum(max(line.end_mm - line.allowable_mm, 0.0) for line in books if line.terminal in counts), 6)


def dry_count(site: Site, first_day: date, books: Iterable[StationDay]) -> tuple[int, int]:
    """Count the stations that end a day too dry, and the evenings on which they do, each station's own added up."""
    counts = _counting(site, first_day)
    dry = [
        line.terminal
        for line in books
        if line.terminal in counts and line.end_mm > line.allowable_mm + water.CLOSES_TO_MM
    ]
    return len(set(dry)), len(dry)


def _counting(site: Site, first_day: date) -> set[int]:
    return {each.terminal for each in site.stations if each.blocked is None and not dormant_on(each, first_day)}
