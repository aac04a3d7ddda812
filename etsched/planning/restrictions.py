"""Restrictions of the place: which nights to use where only some are left, and who gives water up under a cut.

A cut is a budget over the nights and days it holds on: no station may take more on them than it would without the
cut, and those of the highest priority number give up theirs first, until the sum fits.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

import numpy as np

from etsched.core import root_zone
from etsched.days import day_text
from etsched.model.plan import Shortfall
from etsched.model.site import Ban, HoldKind
from etsched.planning import water
from etsched.planning.modes import dormant_on
from etsched.planning.outlook import WEEK_D, watering_night
from etsched.planning.so_far import cut_on
from etsched.planning.thirst import past_allowable_mm

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from etsched.model.light_runs import LightDay, LightRun
    from etsched.model.plan import WeekPlan
    from etsched.model.site import Restriction, Station
    from etsched.planning.outlook import Outlook

    PlanOf = Callable[[Outlook, float], WeekPlan | None]
    Counts = NDArray[np.int64]


def restricted(outlook: Outlook, plan_of: PlanOf) -> WeekPlan:
    """Plan a week under the restrictions of its site: first the nights are chosen, then the cut is shared out.

    `plan_of` plans a week as if there were none, unless its turf goes past what is allowable by more than it is told.
    Notes of the plan are the sentences that the restrictions owe.
    """
    whole = _planned(outlook, plan_of)
    fewer, uncut = _on_best_nights(outlook, plan_of) or (outlook, whole)
    held = within_budget(fewer, uncut, whole)
    if held is outlook:
        return whole
    plan = uncut if held is fewer else _planned(held, plan_of)
    given_up = np.maximum(_minutes_under_cut(outlook, uncut) - _minutes_under_cut(outlook, plan), 0)
    return _told(replace(plan, site=outlook.site), outlook, whole, given_up)


def _planned(outlook: Outlook, plan_of: PlanOf) -> WeekPlan:
    plan = plan_of(outlook, np.inf)
    if plan is None:  # pragma: no cover - nothing is past without end
        raise AssertionError("a week without a limit was given up")
    return plan


def _minutes_under_cut(outlook: Outlook, plan: WeekPlan) -> Counts:
    """Minutes of every station (S,) on the nights and days on which a cut holds."""
    total = np.zeros(len(outlook.ground.terminal), dtype=np.int64)
    for day, terminal, minutes in _ran(plan):
        if cut_on(outlook.site, day):
            total[_place(outlook, terminal)] += minutes
    return total


def _ran(plan: WeekPlan) -> Iterator[tuple[date, int, int]]:
    """Name every run of a plan: the day on which its window opens, its terminal, its minutes."""
    for night in plan.nights:
        yield from ((night.night.opens_on, run.terminal, run.length_min) for run in night.runs)
    for day in plan.light:
        yield from ((day.hours.opens_on, run.terminal, run.length_min) for run in day.runs)


def _place(outlook: Outlook, terminal: int) -> int:
    return int(np.flatnonzero(outlook.ground.terminal == terminal)[0])


def weight_of(outlook: Outlook) -> NDArray[np.float64]:
    """Water of a minute of every station (S,): litres where the flow of all is known, else all minutes count alike."""
    flow = outlook.ground.flow_l_min
    return np.ones(len(flow)) if np.isnan(flow[outlook.ground.works]).any() else np.nan_to_num(flow)


def within_budget(outlook: Outlook, plan: WeekPlan, whole: WeekPlan) -> Outlook:
    """Give every station of a plan the minutes that a cut of the whole week leaves it; the same outlook if it fits."""
    weight, left = weight_of(outlook), _minutes_under_cut(outlook, plan)
    allowed = sum(
        (1.0 - cut_on(outlook.site, day) / 100.0) * float(weight[_place(outlook, terminal)]) * minutes
        for day, terminal, minutes in _ran(whole)
        if cut_on(outlook.site, day)
    )
    excess = float(weight @ left) - allowed
    if excess <= 1e-9:
        return outlook
    for at in _gives_first(outlook, plan):
        if excess > 1e-9 and weight[at] > 0.0:
            gives = min(int(left[at]), int(np.ceil(excess / weight[at] - 1e-9)))
            left[at] -= gives
            excess -= gives * float(weight[at])
    light = tuple(_kept_light(outlook, left))
    return replace(outlook, light=light, allowance_min=left)


def _gives_first(outlook: Outlook, plan: WeekPlan) -> list[int]:
    """Order the stations by who gives water up first: priority number from the highest, then who suffers least dry."""
    here, deficit = outlook.ground, water.deficit_from(outlook.ground, plan.start)
    worst = np.full(len(here.terminal), -np.inf)
    for later in range(WEEK_D):
        asked, day = water.pass_day(
            here, outlook.days, outlook.index(outlook.first_day) + later, deficit, np.zeros(len(worst))
        )
        deficit = day.deficit_mm
        allowable = root_zone.readily_available_water(here.total_available_mm, asked.depletion_fraction)
        worst = np.maximum(worst, (deficit[:, 0] - allowable) / here.total_available_mm)
    order: list[int] = np.lexsort((here.terminal, worst, -here.priority_count)).tolist()
    return order


def _kept_light(outlook: Outlook, left: Counts) -> Iterator[LightDay]:
    """Keep the light runs that the budget holds, the first of the week first, and take their minutes from it."""
    for day in outlook.light:
        if not cut_on(outlook.site, day.hours.opens_on):
            yield day
            continue
        kept: list[LightRun] = []
        for run in day.runs:
            at = _place(outlook, run.terminal)
            if run.length_min <= left[at]:
                left[at] -= run.length_min
                kept.append(run)
        if kept:
            yield replace(day, runs=tuple(kept))


def _on_best_nights(outlook: Outlook, plan_of: PlanOf) -> tuple[Outlook, WeekPlan] | None:
    """Try every choice of as many nights as are left; None where no restriction takes any.

    The best choice leaves the least depletion past what is allowable, summed over stations and evenings, then takes
    the least water, then has the earlier nights. Evenly spread nights are tried first, because they are seldom far
    from the best: others are given up as soon as they are worse.
    """
    limits = [each for each in outlook.site.restrictions if each.most_nights_count is not None]
    nights = list(_nights_under(outlook, limits))
    choices = _choices(nights, limits)
    if choices == [tuple(nights)]:
        return None
    best: tuple[tuple[float, float, tuple[date, ...]], Outlook, WeekPlan] | None = None
    for chosen in sorted(choices, key=lambda each: _unevenness(outlook, each)):
        tried = _without(outlook, [day for day in nights if day not in chosen])
        plan = plan_of(tried, np.inf if best is None else best[0][0])
        if plan is not None and (best is None or (_worth(outlook, plan, chosen) < best[0])):
            best = _worth(outlook, plan, chosen), tried, plan
    return best[1:] if best is not None else None


def _unevenness(outlook: Outlook, nights: Sequence[date]) -> tuple[int, tuple[date, ...]]:
    """Sum the squares of the days without a night before, between and after these."""
    ends = (outlook.first_day, *nights, outlook.first_day + timedelta(days=WEEK_D))
    return sum((after - before).days ** 2 for before, after in pairwise(ends)), tuple(nights)


def _nights_under(outlook: Outlook, limits: Sequence[Restriction]) -> Iterator[date]:
    """Give the days on which a window of the week opens that one of these restrictions counts."""
    for later in range(WEEK_D):
        window = watering_night(outlook.site, outlook.first_day + timedelta(days=later))
        if window is not None and any(each.first <= window.opens_on <= each.last for each in limits):
            yield window.opens_on


def _choices(nights: Sequence[date], limits: Sequence[Restriction]) -> list[tuple[date, ...]]:
    """Give the largest choices of nights that every restriction allows; at most 35, which is 3 or 4 of 7."""
    for count in range(len(nights), -1, -1):
        found = [chosen for chosen in combinations(nights, count) if all(_allows(each, chosen) for each in limits)]
        if found:
            return found
    raise AssertionError("no night at all is always allowed")  # pragma: no cover


def _allows(limit: Restriction, chosen: Sequence[date]) -> bool:
    counted = sum(limit.first <= day <= limit.last for day in chosen)
    return limit.most_nights_count is None or counted <= limit.most_nights_count


def _without(outlook: Outlook, days: Sequence[date]) -> Outlook:
    """Keep some nights dry; the light runs, laid out before, stay."""
    bans = tuple(Ban(day, day, "more nights than a restriction allows", kind=HoldKind.RESTRICTION) for day in days)
    return replace(outlook, site=replace(outlook.site, bans=(*outlook.site.bans, *bans)))


def _worth(outlook: Outlook, plan: WeekPlan, nights: tuple[date, ...]) -> tuple[float, float, tuple[date, ...]]:
    """Give what choices of nights are compared by, the less the better: suffering, water, and the nights."""
    weight = weight_of(outlook)
    used = sum(minutes * float(weight[_place(outlook, terminal)]) for _, terminal, minutes in _ran(plan))
    return past_allowable_mm(outlook.site, outlook.first_day, plan.books), round(used, 6), nights


def _told(plan: WeekPlan, outlook: Outlook, whole: WeekPlan, given_up: Counts) -> WeekPlan:
    """Say what was restricted: the sentences, and for every station that was cut what it gives up."""
    cut = [(outlook.site.stations[at], int(given_up[at])) for at in np.flatnonzero(given_up).tolist()]
    short = tuple(Shortfall(station.terminal, minutes, "cut by a restriction of the place") for station, minutes in cut)
    *before, last = plan.nights or (None,)
    nights = plan.nights
    if short and last is not None:
        kept = {gap.terminal for gap in last.shortfalls}
        added = tuple(gap for gap in short if gap.terminal not in kept)
        nights = (*(night for night in before if night), replace(last, shortfalls=(*last.shortfalls, *added)))
    sentences = (*_nights_told(plan), *_cut_told(plan, outlook, whole), *(_missed(plan, *each) for each in cut))
    return replace(plan, nights=nights, notes=sentences)


def _nights_told(plan: WeekPlan) -> Iterator[str]:
    used = [day_text(night.night.opens_on) for night in plan.nights]
    for each in plan.site.restrictions:
        if each.most_nights_count is not None and any(
            each.first <= night.night.opens_on <= each.last for night in plan.nights
        ):
            allowed = "1 night" if each.most_nights_count == 1 else f"{each.most_nights_count} nights"
            yield (
                f"Restriction ({each.reason}) to {day_text(each.last)}: water on {allowed} of a week. The plan uses "
                f"{', '.join(used)}, the choice that leaves turf the least past its allowable depletion."
            )


def _cut_told(plan: WeekPlan, outlook: Outlook, whole: WeekPlan) -> Iterator[str]:
    weight = weight_of(outlook)
    before, after = (float(weight @ _minutes_under_cut(outlook, each)) for each in (whole, plan))
    measure = "minutes, since not every flow is known" if (weight == 1.0).all() else "water"
    for each in plan.site.restrictions:
        if each.cut_pct and before and any(each.first <= day <= each.last for day, _, _ in _ran(whole)):
            yield (
                f"Restriction ({each.reason}) to {day_text(each.last)}: {each.cut_pct:g} % less. On its nights the "
                f"plan takes {100.0 * after / before:.0f} % of the {measure} it would take without it."
            )


def _missed(plan: WeekPlan, station: Station, minutes: int) -> str:
    dry = [
        line.day
        for line in plan.books
        if line.terminal == station.terminal and line.end_mm > line.allowable_mm + water.CLOSES_TO_MM
    ]
    if dormant_on(station, plan.first_day):
        ends = "it is dormant, and its crowns go without this week"
    elif dry:
        ends = f"it passes its allowable depletion by the evening of {day_text(dry[0])}"
    else:
        ends = "it stays within its allowable depletion all the same"
    return f"Station {station.terminal} ({station.area}) gives up {minutes} min to the restriction; {ends}."
