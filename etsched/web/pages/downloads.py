"""The week as files: for a spreadsheet, for programs, for a calendar; the same figures as on the page."""

from __future__ import annotations

from fastapi import Response

from etsched.reports.week_csv import week_csv
from etsched.usecases.calendar import calendar_text
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.properties import get_site
from etsched.web.calendar import MEDIA_TYPE as CALENDAR
from etsched.web.pages.security import Asked, Page


def as_csv(asked: Asked) -> Response:
    """Give the table for a spreadsheet."""
    _, plan = week_plan(asked.service, asked.site)
    return _file(asked, week_csv(plan).encode(), "csv", "text/csv; charset=utf-8")


def as_json(asked: Asked) -> Response:
    """Give the week's document as it is kept."""
    kept, _ = week_plan(asked.service, asked.site)
    return _file(asked, kept.document.encode(), "json", "application/json")


def as_calendar(asked: Asked) -> Response:
    """Give the runs as events."""
    kept, _ = week_plan(asked.service, asked.site)
    return _file(asked, calendar_text(get_site(asked.service, asked.site), kept), "ics", CALENDAR)


def _file(asked: Asked, content: bytes, kind: str, media_type: str) -> Response:
    name = f"{asked.site}-week.{kind}"
    return Response(content, media_type=media_type, headers={"content-disposition": f'attachment; filename="{name}"'})


PAGES = (
    Page("/sites/{site}/week.csv", as_csv),
    Page("/sites/{site}/week.json", as_json),
    Page("/sites/{site}/week.ics", as_calendar),
)
