"""Forecast days made hotter: both temperatures raised, the dew point kept, reference ET computed anew."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from etsched.errors import SpellRefused
from etsched.planning.weather_days import Days, days_from_weather, extend
from etsched.planning.weather_filling import Climate, fill_days

if TYPE_CHECKING:
    from datetime import date

    from etsched.frames.weather import Weather
    from etsched.model.heat import HeatSpell
    from etsched.model.site import Site

# Own limits (common practice, no source): beyond them it is the unit or the number that is wrong.
MOST_HOTTER_C, MOST_SPELL_D, FURTHEST_D = 15.0, 14, 14


@dataclass(frozen=True, slots=True)
class TwoWeathers:
    """The same days twice: as the weather has them, and with the spell's days hotter."""

    usual: Days
    hot: Days


def check_spell(spell: HeatSpell, first_day: date) -> HeatSpell:
    """Return the spell if it can be meant; raise SpellRefused with one sentence otherwise."""
    if not 0.0 <= spell.hotter_c <= MOST_HOTTER_C:
        raise SpellRefused(
            f"{spell.hotter_c:+.1f} °C ({spell.hotter_c * 1.8:+.0f} °F) is no heat to check for; give 0 to "
            f"{MOST_HOTTER_C:.0f} °C (27 °F) hotter than forecast, and for cooler days plan a week",
            "hotter_c",
        )
    if not 1 <= spell.length_d <= MOST_SPELL_D:
        raise SpellRefused(f"{spell.length_d} hotter days cannot be checked; give 1 to {MOST_SPELL_D} days", "days")
    if not first_day <= spell.first <= first_day + timedelta(days=FURTHEST_D):
        raise SpellRefused(
            f"the hotter days begin on {spell.first}; let them begin between {first_day}, the day after tonight, and "
            f"{first_day + timedelta(days=FURTHEST_D)}",
            "first",
        )
    return spell


def two_weathers(weather: Weather, site: Site, spell: HeatSpell, last: date) -> TwoWeathers:
    """Take the days up to `last` as they are and with the spell's days hotter.

    The spell's ETo rises by what the same formula gives for the raised temperatures at the same vapour pressure; the
    driest hour falls likewise. Days past the weather's end take the mean rise of its last seven days. ETo never falls
    with heat: where a cold, still, clear day would have it so, it stays.
    """
    usual = extend(days_from_weather(weather, site), last)
    if spell.hotter_c == 0.0:
        return TwoWeathers(usual, usual)
    kept = _dew_point_kept(weather, site)
    before = extend(days_from_weather(kept, site), last)
    after = extend(days_from_weather(_raised(kept, spell.hotter_c), site), last)
    begin = (spell.first - usual.first).days
    inside = np.zeros(len(usual.eto_mm), dtype=np.bool_)
    inside[begin : begin + spell.length_d] = True
    rise = np.where(inside, np.maximum(after.eto_mm - before.eto_mm, 0.0), 0.0)
    drier = np.where(inside, np.minimum(after.rh_min_pct - before.rh_min_pct, 0.0), 0.0)
    records = tuple(
        replace(
            day,
            tmin_c=day.tmin_c + spell.hotter_c,
            tmax_c=day.tmax_c + spell.hotter_c,
            eto_mm=day.eto_mm + more,
            eto_low_mm=None if day.eto_low_mm is None else day.eto_low_mm + more,
            eto_high_mm=None if day.eto_high_mm is None else day.eto_high_mm + more,
        )
        if hot
        else day
        for day, hot, more in zip(usual.records, inside.tolist(), rise.tolist(), strict=True)
    )
    hot = replace(
        usual,
        eto_mm=usual.eto_mm + rise,
        rh_min_pct=np.maximum(usual.rh_min_pct + drier, 0.0),
        records=records,
    )
    return TwoWeathers(usual, hot)


def _dew_point_kept(weather: Weather, site: Site) -> Weather:
    """Write down each day's vapour pressure, which relative humidity or a filled dew point would else let rise.

    Days of which temperatures alone are known stay as they are: their formula asks for nothing else.
    """
    filled = fill_days(weather.daily, site.place, Climate(site.climate))
    daily = weather.daily.copy()
    known = np.isfinite(filled.drivers.vapour_pressure_kpa) & ~filled.gaps.by_hargreaves
    daily["vapour_pressure_kpa"] = np.where(known, filled.drivers.vapour_pressure_kpa, daily["vapour_pressure_kpa"])
    return replace(weather, daily=daily)


def _raised(weather: Weather, hotter_c: float) -> Weather:
    daily = weather.daily.copy()
    daily[["tmin_c", "tmax_c"]] += hotter_c
    return replace(weather, daily=daily)
