"""The week as files: for a spreadsheet, for programs, for a calendar, for paper; the same figures as on the page."""

from __future__ import annotations

from fastapi import Response

from etsched.reports.clock_json import clock_json
from etsched.reports.paper import PAPERS, Paper, clock_pdf, usual_paper, week_pdf
from etsched.reports.week_csv import week_csv
from etsched.usecases.calendar import calendar_text
from etsched.usecases.door import door_sheet
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.properties import get_site, site_of
from etsched.web.calendar import MEDIA_TYPE as CALENDAR
from etsched.web.pages.security import Asked, Page
from etsched.web.pages.turns import Turns
from etsched.web.problems import BAD_REQUEST, Refused

PDF = "application/pdf"
# A sheet takes up to 6 s of a core. Whoever waits longer than for a few of them is better told so, and few may wait, so
# that pages keep their threads (common practice, no source).
_TURNS = Turns("Other PDFs are being made", wait_s=10.0, most_waiting=8)


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


def as_pdf(asked: Asked) -> Response:
    """Give the table with room for initials, on one sheet of paper."""
    _, plan = week_plan(asked.service, asked.site)
    paper = _paper(asked)
    with _TURNS.taken():
        made = week_pdf(plan, paper)
    return _file(asked, made, "pdf", PDF)


def door_as_pdf(asked: Asked) -> Response:
    """Give the paper for the inside of the controller door."""
    sheet = door_sheet(asked.service, asked.site)
    paper = _paper(asked)
    with _TURNS.taken():
        made = clock_pdf(sheet.table, paper)
    return _file(asked, made, "pdf", PDF, "door")


def door_as_json(asked: Asked) -> Response:
    """Give the programs of the clock, and what to change in it, as one document."""
    sheet = door_sheet(asked.service, asked.site)
    return _file(asked, clock_json(sheet.table, sheet.changes).encode(), "json", "application/json", "door")


def _paper(asked: Asked) -> Paper:
    usual = papers_of(asked)[0][0]
    named = asked.request.query_params.get("paper", usual).lower()
    found = next((paper for paper in PAPERS if paper == named), None)
    if found is None:
        raise Refused(BAD_REQUEST, f"There is no such paper here; write {' or '.join(PAPERS)}.")
    return found


def papers_of(asked: Asked) -> tuple[tuple[Paper, str], ...]:
    """Give the papers of a PDF with their names, the one that the property's readers use at the front."""
    usual = usual_paper(site_of(get_site(asked.service, asked.site)).units)
    return tuple(sorted(PAPERS.items(), key=lambda each: each[0] != usual))


def _file(asked: Asked, content: bytes, kind: str, media_type: str, what: str = "week") -> Response:
    name = f"{asked.site}-{what}.{kind}"
    return Response(content, media_type=media_type, headers={"content-disposition": f'attachment; filename="{name}"'})


PAGES = (
    Page("/sites/{site}/week.csv", as_csv),
    Page("/sites/{site}/week.json", as_json),
    Page("/sites/{site}/week.ics", as_calendar),
    Page("/sites/{site}/week.pdf", as_pdf),
    Page("/sites/{site}/door.pdf", door_as_pdf),
    Page("/sites/{site}/door.json", door_as_json),
)
