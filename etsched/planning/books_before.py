"""The water books of the week before a plan, as far as they are known."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.model.plan import BooksBefore
from etsched.planning import start, water
from etsched.planning.ground import taken
from etsched.planning.outlook import WEEK_D

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import date

    from etsched.model.plan import StationDay, WaterState
    from etsched.planning.outlook import Outlook

    # Water of some or all stations on a morning, and the minutes that ran since: (terminal, day served).
    Beginning = tuple[WaterState, Mapping[tuple[int, date], int]]


def books_before(outlook: Outlook, beginnings: Iterable[Beginning]) -> BooksBefore:
    """Write the books from where each station's water is known; of several beginnings the later one outranks."""
    here, days, since = outlook.ground, outlook.days, outlook.first_day - timedelta(days=WEEK_D)
    lines: dict[tuple[date, int], StationDay] = {}
    for state, ran in beginnings:
        ground = taken(here, np.flatnonzero(np.isin(here.terminal, sorted(state.deficit_mm))))
        for each in start.carried_days(ground, days, state, outlook.first_day, ran):
            day = days.records[each.index].day
            if day >= since:
                written = water.book_lines(ground, day, each.before_mm, each.asked, each.water)
                lines |= {(day, line.terminal): line for line in written}
    told = {day for day, _ in lines}
    return BooksBefore(
        tuple(record for record in days.records if record.day in told), tuple(lines[key] for key in sorted(lines))
    )
