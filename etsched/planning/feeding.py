"""Nitrogen for turf that is coming back: when, how much, of which product, and when none."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.days import day_text
from etsched.model.recovery import Feed
from etsched.model.site import TurfGroup
from etsched.reference import recovery as figures

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.model.recovery import FeedBan, Fertiliser, RecoveryAsk, Rewet
    from etsched.model.site import Station
    from etsched.planning.outlook import Outlook

WEEK_D = 7


def nitrogen_ceiling(fertiliser: Fertiliser | None) -> float:
    """Give the most nitrogen to put down at once, g/m², by the share of it that is slow-release."""
    slow = fertiliser.slow_fraction if fertiliser is not None else None
    enough = slow is not None and slow >= figures.feed("slow_from").value
    return figures.feed("ceiling_slow" if enough else "ceiling_quick").value


def product_dose(nitrogen_g_m2: float, fertiliser: Fertiliser) -> float:
    """Give the weight of product that holds so much nitrogen, g/m²: 100 / %N × N."""
    return 100.0 / fertiliser.nitrogen_pct * nitrogen_g_m2


def feed_of(outlook: Outlook, station: Station, rewet: Rewet, ask: RecoveryAsk) -> Feed:
    """Say when and with how much nitrogen a station's area may be fed; with none by default, in heat or under a ban."""
    day = after_bans(rewet.moist, ask.bans) if rewet.moist is not None else None
    reason, who = _why_not(outlook, station, day, ask)
    ceiling = nitrogen_ceiling(ask.fertiliser)
    nitrogen = 0.0 if reason or day is None else min(figures.feed("nitrogen").value, ceiling)
    dose = product_dose(nitrogen, ask.fertiliser) if ask.fertiliser is not None and nitrogen > 0.0 else None
    kilograms = dose * station.area_m2 / 1000.0 if dose is not None and station.area_m2 is not None else None
    return Feed(
        station.terminal,
        station.area,
        day if nitrogen > 0.0 else None,
        nitrogen,
        ceiling,
        kilograms,
        dose,
        figures.feed("water_in").value,
        f"{station.area}: {reason or _advice(day, rewet.moist, ask)}",
        (who,) if reason else tuple(figures.feed(key).source for key in ("nitrogen", "ceiling_slow", "water_in")),
    )


def after_bans(day: date, bans: Sequence[FeedBan]) -> date:
    """Give the first day from `day` on that lies in no ban."""
    for ban in sorted(bans, key=lambda ban: ban.first):
        if ban.first <= day <= ban.last:
            day = ban.last + timedelta(days=1)
    return day


def in_heat(outlook: Outlook, day: date) -> tuple[str, str]:
    """Say why cool-season turf is in heat on a day, by month or weather, and who says so; "" where it is not."""
    months, source = figures.hot_months()
    northern = outlook.site.place.latitude_deg >= 0.0
    if (day.month if northern else (day.month + 5) % 12 + 1) in months:
        return f"{day_text(day)} falls in the hot months", source
    known = [
        r.tmax_c for r in outlook.days.records if day <= r.day < day + timedelta(days=WEEK_D) and not r.standing_in
    ]
    limit = figures.feed("heat")
    if known and float(np.mean(known)) >= limit.value:
        return f"the days from {day_text(day)} on are hot", limit.source
    return "", ""


def _why_not(outlook: Outlook, station: Station, day: date | None, ask: RecoveryAsk) -> tuple[str, str]:
    """Say why nothing is fed, and who says so; "" where it may be."""
    if day is None:
        return "nothing is fed while the water is wrong; first it must be moist, and no day for that is in sight.", ""
    heat, source = in_heat(outlook, day) if station.turf is TurfGroup.COOL and not ask.feeds_in_heat else ("", "")
    return (f"no nitrogen: cool-season turf is not fed in heat, and {heat}.", source) if heat else ("", "")


def _advice(day: date | None, moist: date | None, ask: RecoveryAsk) -> str:
    if day is None or moist is None:  # pragma: no cover - told before
        return ""
    words = [
        f"may be fed from {day_text(day)} on, if a core then shows it moist deep enough and its repairs are done; "
        "water the feed in at once."
    ]
    if day != moist:
        why = "; ".join(ban.reason for ban in ask.bans if ban.last + timedelta(days=1) == day and ban.reason)
        words.append(f"A ban stands until then{f' ({why})' if why else ''}.")
    if ask.fertiliser is None:
        words.append("Name the product's percent of nitrogen, and the share that is slow-release.")
    elif ask.fertiliser.slow_fraction is None:
        words.append("Read the share of slow-release nitrogen off the label: until then it counts as quick.")
    return " ".join(words)
