"""The heat check as one screen: the table in the clock, the coming days, who suffers when, what to set until when."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from etsched.errors import NotKept, PlanRefused, Problem, QuantityRefused, WeatherRefused
from etsched.tables.figure import plain
from etsched.tables.heat_check import heat_system, heat_table, minutes_in_clock
from etsched.tables.heat_fit import ADDED_NOTE
from etsched.tables.weather import weather_rows
from etsched.units import parse, reader_label
from etsched.usecases.heat import DEFAULT_D
from etsched.usecases.kept_heat import Hotter, heat_of
from etsched.usecases.properties import get_site, site_of
from etsched.web.pages.security import Asked, Page

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fastapi import Response

    from etsched.units import UnitSystem

_MOST_HOTTER_C, _MOST_D = 30.0, 14  # as the service's interface takes them
_DIGITS = 6


def check(asked: Asked) -> Response:
    """Check the table against the forecast as it is, or against days that are hotter by what was typed."""
    kept = get_site(asked.service, asked.site)
    system: UnitSystem = "metric" if site_of(kept).units == "metric" else "us"
    typed = {name: asked.request.query_params.get(name, "").strip() for name in ("hotter", "days", "first")}
    wrong, found, table = "", None, None
    try:
        found = heat_of(asked.service, asked.site, _hotter(typed, system))
        table = heat_table(found, heat_system(found, None))
    except (NotKept, PlanRefused, WeatherRefused) as error:
        wrong = plain(str(error))
    return asked.page(
        "heat.html.j2",
        site=asked.site,
        name=kept.name,
        typed=typed,
        degrees=reader_label("c", system),
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
            raise _refused("Hotter by", "days alone say nothing of heat", "say too how much hotter they are")
        return None
    days = typed["days"] or str(DEFAULT_D)
    if not (days.isascii() and days.isdigit() and len(days) < _DIGITS and 1 <= int(days) <= _MOST_D):
        raise _refused("Days", "it is no number of days", f"write a whole number from 1 to {_MOST_D}")
    try:
        first = date.fromisoformat(typed["first"]) if typed["first"] else None
    except ValueError:
        raise _refused("From", "it is no date", "write year, month and day, such as 2026-07-14") from None
    return Hotter(_difference_c(typed["hotter"], system), int(days), first)


def _difference_c(text: str, system: UnitSystem) -> float:
    """Read a difference of temperatures: the zero of its scale is taken off."""
    scale = "C" if system == "metric" else "F"
    try:
        difference_c = parse(f"{text} {scale}", "c") - parse(f"0 {scale}", "c")
    except QuantityRefused:
        difference_c = 0.0
    if not 0.0 < difference_c <= _MOST_HOTTER_C:
        most = f"{_MOST_HOTTER_C if system == 'metric' else _MOST_HOTTER_C * 9 / 5:.0f}"
        raise _refused("Hotter by", "it is no such number of degrees", f"write a number above 0, {most} at most")
    return difference_c


def _refused(field: str, wrong: str, remedy: str) -> WeatherRefused:
    return WeatherRefused([Problem("heat check", None, field, wrong, remedy)])


PAGES = (Page("/sites/{site}/heat", check),)
