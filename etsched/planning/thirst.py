"""How far turf is past its allowable depletion: the one measure by which weeks are held against each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

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
    counts = {each.terminal for each in site.stations if each.blocked is None and not dormant_on(each, first_day)}
    return round(sum(max(line.end_mm - line.allowable_mm, 0.0) for line in books if line.terminal in counts), 6)
