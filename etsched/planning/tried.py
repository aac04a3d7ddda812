"""Every uncertain number of a plan moved to its bounds, and the week's minutes that each station would then want."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING, Literal

import numpy as np

from etsched.planning import choice, modes, start, water
from etsched.planning.facts import MEASURES
from etsched.planning.ground import Ground, Shift, ground, joined
from etsched.planning.outlook import WEEK_D, Outlook, span_to_last, watering_night

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from etsched.model.plan import WaterState
    from etsched.planning.weather_days import Days

WEATHER = "weather"
Side = Literal["low", "high"]
SIDES: tuple[Side, ...] = ("low", "high")

# "now", or a field with "low" or "high" → minutes of the week (S,)
Tried = dict[object, "NDArray[np.int64]"]


def tried_minutes(outlook: Outlook, begin: WaterState) -> Tried:
    """Try every uncertain number at both bounds, all else unchanged; `depletion` is the first morning's water.

    The minutes are those wanted before the window is looked at, so that a crowded night hides nothing. The weather's
    low side is that of little ET and much rain.
    """
    tried = _numbers_tried(outlook, begin)
    deficit = water.deficit_from(outlook.ground, begin)
    for side in SIDES:
        moved = replace(outlook, days=weather_at(outlook.days, side))
        tried[WEATHER, side] = wanted_minutes(moved, outlook.ground, deficit)
    return tried


def _numbers_tried(outlook: Outlook, begin: WaterState) -> Tried:
    here = outlook.ground
    deficit = water.deficit_from(here, begin)
    # The same dryness in a soil that holds another amount: the share missing is kept, not the millimetres.
    dryness = np.divide(
        deficit, here.layer_available_mm, out=np.zeros_like(deficit), where=here.layer_available_mm > 0.0
    )
    cases: dict[object, tuple[Ground, NDArray[np.float64]]] = {"now": (here, deficit)}
    for name in MEASURES:
        if name != "depletion" and any(fact[name].uncertain for fact in outlook.facts):
            for side in SIDES:
                shifted = ground(outlook.site, outlook.facts, Shift(name, side))
                cases[name, side] = (shifted, dryness * shifted.layer_available_mm)
    full = start.assumed_deficit(outlook.site, here, outlook.days, outlook.index(outlook.first_day), share=0.0)
    cases["depletion", "low"] = (here, full)
    cases["depletion", "high"] = (here, here.layer_available_mm)
    wanted = wanted_minutes(
        outlook, joined([each for each, _ in cases.values()]), np.vstack([missing for _, missing in cases.values()])
    )
    return dict(zip(cases, wanted.reshape(len(cases), -1), strict=True))


def wanted_minutes(outlook: Outlook, ground_: Ground, deficit_mm: NDArray[np.float64]) -> NDArray[np.int64]:
    """Minutes that every station wants over the week's nights if no window held it back, (S,)."""
    total = np.zeros(len(ground_.terminal), dtype=np.int64)
    for served in range(WEEK_D):
        serves = outlook.first_day + timedelta(days=served)
        index = outlook.index(serves)
        credit = np.zeros(len(total))
        if watering_night(outlook.site, serves) is not None:
            here = modes.usual(outlook.site, serves, ground_)
            need = choice.need(here, outlook.days, span_to_last(outlook, serves), deficit_mm)
            minutes = need.cycles_count * need.cycle_min
            total += minutes
            _, credit = water.credited(ground_, minutes)
        deficit_mm = water.pass_day(ground_, outlook.days, index, deficit_mm, credit)[1].deficit_mm
    return total


def bounds_of(tried: Mapping[object, NDArray[np.int64]], name: str, at: int) -> tuple[int, int, int]:
    """Give a station's minutes now and with one number at its low and at its high bound."""
    now = int(tried["now"][at])
    if (name, "low") not in tried:
        return now, now, now
    return now, int(tried[name, "low"][at]), int(tried[name, "high"][at])


def weather_at(days: Days, side: Side) -> Days:
    """Put every day at one side of its likely range; ET and rain move against each other."""
    thirsty = side == "high"
    eto = days.eto_mm.copy()
    pulses = days.pulse_mm.copy()
    for index, day in enumerate(days.records):
        reached = day.eto_high_mm if thirsty else day.eto_low_mm
        eto[index] = eto[index] if reached is None else reached
        rain = day.rain_low_mm if thirsty else day.rain_high_mm
        if rain is None:
            continue
        soaks_in = pulses[index].sum()
        if soaks_in > 0.0:
            pulses[index] = pulses[index] / soaks_in * (soaks_in / day.rain_mm * rain)
        elif rain > day.rain_mm:
            pulses[index, -1] = rain
    return replace(days, eto_mm=eto, pulse_mm=pulses)
