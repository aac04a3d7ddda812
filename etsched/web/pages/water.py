"""The water of a property: the weather as a picture with its table, and each station's books."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from fastapi import Response

from etsched.charts.fortnight import fortnight_svg
from etsched.charts.fortnight_words import described
from etsched.charts.root_zone import root_zone
from etsched.stores.visits import visits_of
from etsched.tables.books import BooksRow, books_table
from etsched.tables.clock import days_text
from etsched.tables.figure import plain, reader_system
from etsched.tables.root_zone import root_zone_table
from etsched.tables.weather import weather_rows
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.properties import get_site
from etsched.web.pages.security import Asked, Page
from etsched.web.pages.why import terminal_in

if TYPE_CHECKING:
    from datetime import date

    from etsched.model.plan import DayWeather, WeekPlan

_BACK = timedelta(days=7)  # before the week, so that the picture shows a fortnight
# A picture brings its own styles and nothing else; as an image it can neither run nor load anything.
_OF_PICTURES = "default-src 'none'; style-src 'unsafe-inline'"


def show(asked: Asked) -> Response:
    """Show the fortnight's weather and which stations end their days drier than they may."""
    name = get_site(asked.service, asked.site).name
    _, plan = week_plan(asked.service, asked.site)
    system, days = reader_system(plan, None), _fortnight(plan)
    books = books_table(plan)
    stations = [
        (
            station.terminal,
            plain(station.area),
            max((row for row in books if row.terminal == station.terminal), key=_dryness, default=None),
        )
        for station in plan.site.stations
    ]
    return asked.page(
        "water.html.j2",
        site=asked.site,
        clock=plan.site.controller is not None,
        name=name,
        told=described(days, system) if days else "",
        rows=weather_rows(days, system),
        credits=[plain(text) for text in plan.attributions],
        stations=sorted(stations, key=lambda each: (-_dryness(each[2]), each[0])),
    )


def _dryness(driest: BooksRow | None) -> float:
    """Give the share of what may lack that does, which puts the most urgent first; those without books come last."""
    return (driest.end.value or 0.0) / (driest.allowable.value or 1.0) if driest is not None else -1.0


def picture(asked: Asked) -> Response:
    """Draw the fortnight's weather."""
    name = get_site(asked.service, asked.site).name
    _, plan = week_plan(asked.service, asked.site)
    drawn = fortnight_svg(_fortnight(plan), f"{plain(name)}: weather", reader_system(plan, None), plan.attributions)
    return Response(drawn, media_type="image/svg+xml", headers={"content-security-policy": _OF_PICTURES})


def station(asked: Asked) -> Response:
    """Show a station's books."""
    name = get_site(asked.service, asked.site).name
    _, plan = week_plan(asked.service, asked.site)
    terminal = terminal_in(asked, plan)
    table = root_zone_table(plan, terminal, visits=_visited(asked))
    return asked.page(
        "station_water.html.j2",
        site=asked.site,
        clock=plan.site.controller is not None,
        name=name,
        terminal=terminal,
        area=table.area,
        rows=table.rows,
        elsewhere=days_text(table.visits_elsewhere) if table.visits_elsewhere else "",
    )


def root_zone_picture(asked: Asked) -> Response:
    """Draw a station's root zone day by day, with the visits that fall into the days."""
    _, plan = week_plan(asked.service, asked.site)
    drawn = root_zone(plan, terminal_in(asked, plan), reader_system(plan, None), _visited(asked))
    return Response(drawn, media_type="image/svg+xml", headers={"content-security-policy": _OF_PICTURES})


def _visited(asked: Asked) -> list[date]:
    with asked.service.database.reading() as reading:
        return [visit.day for visit in visits_of(reading, asked.site)]


def _fortnight(plan: WeekPlan) -> list[DayWeather]:
    return [day for day in (*plan.before.days, *plan.days) if day.day >= plan.first_day - _BACK]


PAGES = (
    Page("/sites/{site}/water", show),
    Page("/sites/{site}/water/{terminal}", station),
    Page("/sites/{site}/weather.svg", picture),
    Page("/sites/{site}/root-zone/{terminal}.svg", root_zone_picture),
)
