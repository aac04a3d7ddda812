"""Holds by weather, laid into the site beside its bans: frost keeps every valve shut, wind those that can wait."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

from etsched.model.site import Ban, HoldKind, HoldLimits
from etsched.planning.outlook import opening_day
from etsched.reference.holds import hold

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from etsched.model.site import Site
    from etsched.planning.weather_days import Days


def with_weather_holds(site: Site, days: Days, first_day: date) -> Site:
    """Give the site with a ban for every night from the one that serves `first_day` on that the weather holds.

    Days that only stand in for weather hold nothing. Whatever holds the weather laid there before is laid anew.
    """
    held = [_HeldNight(*each) for each in _held_nights(site, days, first_day)]
    of_place = tuple(ban for ban in site.bans if ban.kind is HoldKind.BAN)
    return replace(site, bans=(*of_place, *_joined(held)))


@dataclass(frozen=True, slots=True)
class _HeldNight:
    opens_on: date
    kind: HoldKind
    reason: str


def _held_nights(site: Site, days: Days, first_day: date) -> Iterator[tuple[date, HoldKind, str]]:
    stated = site.hold_limits or HoldLimits()
    most_wind = hold("most_wind").value if stated.most_wind_m_s is None else stated.most_wind_m_s
    freeze = hold("freeze").value if stated.freeze_c is None else stated.freeze_c
    for index in range(max((first_day - days.first).days, 0), len(days.records)):
        served = days.records[index]
        opens_on = opening_day(site.rules, served.day)
        wind = float(days.wind_m_s[max((opens_on - days.first).days, 0) : index + 1].mean())
        windy = wind > most_wind and not served.standing_in
        if served.tmin_c <= freeze and not served.standing_in:
            yield opens_on, HoldKind.FREEZE, "frost: water would freeze on turf, walks and valves"
        elif windy:
            yield opens_on, HoldKind.WIND, "wind would carry the spray away"


def _joined(nights: Iterable[_HeldNight]) -> Iterator[Ban]:
    """Make one ban of nights in a row that the same weather holds."""
    open_ban: Ban | None = None
    for night in nights:
        goes_on = (
            open_ban is not None
            and open_ban.kind is night.kind
            and open_ban.last + timedelta(days=1) == night.opens_on
        )
        if open_ban is not None and goes_on:
            open_ban = replace(open_ban, last=night.opens_on)
            continue
        if open_ban is not None:
            yield open_ban
        open_ban = Ban(night.opens_on, night.opens_on, night.reason, kind=night.kind)
    if open_ban is not None:
        yield open_ban
