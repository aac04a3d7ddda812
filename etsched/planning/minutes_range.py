"""The likely range of a station's minutes, and which measurement would narrow it most."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from etsched.model.plan import MinutesRange
from etsched.planning import start
from etsched.planning.facts import MEASURES
from etsched.planning.tried import WEATHER, bounds_of

if TYPE_CHECKING:
    from etsched.planning.outlook import Outlook
    from etsched.planning.tried import Tried

# What no tool on the ground narrows.
_NOT_ON_SITE = frozenset({"crop_factor", "depletion_fraction", WEATHER})
_WEATHER_WORDS = "nothing on site; plan again when the forecast is nearer"


def week_ranges(outlook: Outlook, tried: Tried) -> tuple[MinutesRange, ...]:
    """Put together, station by station, what each uncertain number alone would do to the week's minutes.

    The numbers are taken as independent, so that their moves to one side add like the sides of a right angle
    (root of the sum of squares).
    """
    return tuple(_range(outlook, tried, at) for at in range(len(outlook.site.stations)))


def _range(outlook: Outlook, tried: Tried, at: int) -> MinutesRange:
    less = more = 0.0
    swings: dict[str, int] = {}
    for name in (*MEASURES, WEATHER):
        if name == "depletion" and outlook.start_sources[at] != start.ASSUMED:
            continue
        now, *sides = bounds_of(tried, name, at)
        less = hypot(less, max(now - min(sides), 0))
        more = hypot(more, max(max(sides) - now, 0))
        swings[name] = max(now, *sides) - min(now, *sides)
    now = int(tried["now"][at])
    on_site = {name: swing for name, swing in swings.items() if name not in _NOT_ON_SITE and swing > 0}
    widest = max(swings, key=lambda name: swings[name])
    narrows = max(on_site, key=lambda name: on_site[name], default="")
    return MinutesRange(
        terminal=int(outlook.ground.terminal[at]),
        wanted_min=now,
        low_min=max(round(now - less), 0),
        high_min=round(now + more),
        widest="" if swings[widest] == 0 else widest,
        narrows=narrows,
        measure=MEASURES[narrows] if narrows else _WEATHER_WORDS if widest == WEATHER else "",
    )
