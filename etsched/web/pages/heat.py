"""The heat check as one screen: the table in the clock, the coming days, who suffers when, what to set until when."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from etsched.errors import NotKept, PlanRefused, Problem, QuantityRefused, WeatherRefused
from etsched.planning.hotter_days import MOST_HOTTER_C, MOST_SPELL_D
from etsched.tables.figure import plain
from etsched.tables.heat_check import difference_text, heat_system, heat_table, minutes_in_clock
from etsched.tables.heat_fit import ADDED_NOTE
from etsched.tables.weather import weather_rows
from etsched.units import parse, reader_label
from etsched.usecases.heat import DEFAULT_D
from etsched.usecases.kept_heat import Hotter, heat_of
from etsched.usecases.properties import get_site, site_of
from etsched.web.pages.security import Asked, Page
from etsched.web.problems import kind_of

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
    wrong, status, found, table = "", 200, None, None
    try:
        found = heat_of(asked.service, asked.site, _hotter(typed, system))
        table = heat_table(found, heat_system(found, None))
    except NotKept as error:
        wrong = plain(str(error))
    except WeatherRefused as error:
        # A form has no file and no line.
        wrong, status = " ".join(f"{each.field}: {each.wrong}; {each.remedy}." for each in error.problems), 422
    except PlanRefused as error:
        wrong, status = plain(str(error)), kind_of(error).status
    return asked.page(
        "heat.html.j2",
        status,
        site=asked.site,
        name=kept.name,
        typed=typed,
        degrees=reader_label("c", system),
        labels={"hotter": _HOTTER, "days": _DAYS, "first": _FROM},
        usual_d=DEFAULT_D,
        added_note=ADDED_NOTE,
        wrong=wrong,
        table=table,
        source="" if found is None else plain(found.table_source),
        clock=None if found is None else minutes_in_clock(found),
        days=() if found is None else weather_rows(found.days, system),
    )


def _hotter(typed: Mapping[str, str], system: UnitSystem) -> Hotter | None:
    """Read how much hotter; None is the forecast as it is. Raises WeatherRefused with what is to be mended."""
    if not typed["hotter"]:
        if typed["days"] or typed["first"]:
            raise _refused(_HOTTER, "days alone say nothing of heat", "say too how much hotter they are")
        return None
    days = typed["days"] or str(DEFAULT_D)
    if not (days.isascii() and days.isdigit() and len(days) < _DIGITS and 1 <= int(days) <= MOST_SPELL_D):
        raise _refused(_DAYS, "it is no number of days", f"write a whole number from 1 to {MOST_SPELL_D}")
    try:
        first = date.fromisoformat(typed["first"]) if typed["first"] else None
    except ValueError:
        raise _refused(_FROM, "it is no date", "write year, month and day, such as 2026-07-14") from None
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
        raise _refused(_HOTTER, f'"{plain(text[:_SHOWN])}" is no such number of degrees', remedy)
    return min(difference_c, MOST_HOTTER_C)


def _refused(field: str, wrong: str, remedy: str) -> WeatherRefused:
    return WeatherRefused([Problem("heat check", None, field, wrong, remedy)])


PAGES = (Page("/sites/{site}/heat", check),)
