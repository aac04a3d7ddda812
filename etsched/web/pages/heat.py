"""The heat check as one screen: the table in the clock, the coming days, who suffers when, what to set until when."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from etsched.errors import NotKept, PlanRefused, QuantityRefused, SpellRefused
from etsched.planning.hotter_days import MOST_HOTTER_C, MOST_SPELL_D
from etsched.tables.figure import plain
from etsched.tables.heat_check import TOO_DRY, difference_text, heat_system, heat_table, minutes_in_clock
from etsched.units import parse, reader_label
from etsched.usecases.heat import DEFAULT_D
from etsched.usecases.kept_heat import Hotter, heat_of
from etsched.usecases.properties import get_site, site_of
from etsched.web.pages.security import Asked, Page
from etsched.web.problems import INVALID, kind_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fastapi import Response

    from etsched.units import UnitSystem

_DIGITS = 6
_SHOWN = 40  # letters of what was typed
_SAME_C = 1e-9  # 27 °F are 15 °C but for a rounding
_LEAST = 0.1  # of the reader's degrees: less would be shown as none
_HOTTER, _DAYS, _FROM = "Hotter than forecast by", "For how many days", "From"


def check(asked: Asked) -> Response:
    """Check the table against the forecast as it is, or against days that are hotter by what was typed."""
    kept = get_site(asked.service, asked.site)
    system: UnitSystem = "metric" if site_of(kept).units == "metric" else "us"
    typed = {name: asked.request.query_params.get(name, "").strip() for name in ("hotter", "days", "first")}
    wrong = dict.fromkeys(("all", "hotter", "days", "first"), "")
    status, found, table = 200, None, None
    try:
        found = heat_of(asked.service, asked.site, _hotter(typed, system))
        table = heat_table(found, heat_system(found, None))
    except NotKept as error:
        wrong["all"] = plain(str(error))
    except SpellRefused as error:
        wrong["all"], status = "Nothing was checked: what is wrong stands at its field.", INVALID.status
        wrong["hotter" if error.field == "hotter_c" else error.field] = _sentence(plain(str(error)))
    except PlanRefused as error:
        wrong["all"], status = plain(str(error)), kind_of(error).status
    return asked.page(
        "heat.html.j2",
        status,
        site=asked.site,
        name=kept.name,
        typed=typed,
        degrees=reader_label("c", system),
        labels={"hotter": _HOTTER, "days": _DAYS, "first": _FROM},
        usual_d=DEFAULT_D,
        too_dry=TOO_DRY,
        wrong=wrong,
        table=table,
        source="" if found is None else plain(found.table_source),
        clock=None if found is None else minutes_in_clock(found),
    )


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _hotter(typed: Mapping[str, str], system: UnitSystem) -> Hotter | None:
    """Read how much hotter; None is the forecast as it is. Raises SpellRefused with what is to be mended."""
    if not typed["hotter"]:
        if typed["days"] or typed["first"]:
            raise SpellRefused("days alone say nothing of heat; say too how much hotter they are", "hotter")
        return None
    days = typed["days"] or str(DEFAULT_D)
    if not (days.isascii() and days.isdigit() and len(days) < _DIGITS and 1 <= int(days) <= MOST_SPELL_D):
        raise SpellRefused(f"it is no number of days; write a whole number from 1 to {MOST_SPELL_D}", "days")
    try:
        first = date.fromisoformat(typed["first"]) if typed["first"] else None
    except ValueError:
        raise SpellRefused("it is no date; write year, month and day, such as 2026-07-14", "first") from None
    return Hotter(_difference_c(typed["hotter"], system), int(days), first)


def _difference_c(text: str, system: UnitSystem) -> float:
    """Read a difference of temperatures: the zero of its scale is taken off."""
    scale = "C" if system == "metric" else "F"
    zero_c = parse(f"0 {scale}", "c")
    least_c = parse(f"{_LEAST} {scale}", "c") - zero_c
    try:
        difference_c = parse(f"{text} {scale}", "c") - zero_c if text.isascii() else 0.0
    except QuantityRefused:
        difference_c = 0.0
    if not least_c - _SAME_C <= difference_c <= MOST_HOTTER_C + _SAME_C:
        remedy = f"write a number from {_LEAST} to {difference_text(MOST_HOTTER_C, system)}"
        raise SpellRefused(f'"{plain(text[:_SHOWN])}" is no such number of degrees; {remedy}', "hotter")
    return min(difference_c, MOST_HOTTER_C)


PAGES = (Page("/sites/{site}/heat", check),)
