"""One property's week: what to key in, on paper on one sheet, and below it what it rests on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fastapi import Response

from etsched.days import day_text, time_text, wall_time
from etsched.reports.week_page import week_values
from etsched.tables.changes import changes_table
from etsched.usecases.controller import KEYED_IN, NOBODY_SAID
from etsched.usecases.kept_plans import is_overdue, week_before, week_plan
from etsched.usecases.kept_visit import today_at
from etsched.usecases.portfolio import in_short, to_do
from etsched.usecases.properties import get_site
from etsched.usecases.reports_in import controller_state
from etsched.web.pages.downloads import papers_of
from etsched.web.pages.security import Asked, Page
from etsched.web.pages.visits_seen import visits_seen

if TYPE_CHECKING:
    from datetime import datetime

    from etsched.model.plan import WeekPlan


def show(asked: Asked) -> Response:
    """Set the week's table as it is printed."""
    name = get_site(asked.service, asked.site).name
    kept, plan = week_plan(asked.service, asked.site)
    now, state = asked.service.clock.now(), controller_state(asked.service, asked.site)
    values = week_values(plan)
    # The strips of the nights want styles of their own in the page, which its policy keeps out.
    nights = [(order, None) for order, _ in values["nights"]]
    about = {
        "site": asked.site,
        "name": name,
        "revision": kept.revision,
        "made": moment_text(kept.at, plan),
        "overdue": is_overdue(kept.valid_until, now),
        "next_today": kept.valid_until <= now,
        "visits": visits_seen(asked, kept),
        "papers": papers_of(asked),
        "controller": state.words,
        "first": to_do(in_short(kept.document), unsaid=state.kind == NOBODY_SAID),
        "since": today_at(asked.service, asked.site),
        "wrong": "",
        "programs": "",
        "keyed_in": state.kind == KEYED_IN,
        "clock": plan.site.controller is not None,
    }
    return asked.page("site_week.html.j2", **{**values, "nights": nights, **about})


def moment_text(moment: datetime, plan: WeekPlan) -> str:
    """Write an instant as the clock on the property's wall showed it: `Mon Jul 13, 9:30 pm`."""
    local = wall_time(moment, plan.site.place.zone)
    return f"{day_text(local.date())}, {time_text(local.time(), plan.site.units)}"


def changes(asked: Asked) -> Response:
    """Hold the week against the one before."""
    name = get_site(asked.service, asked.site).name
    kept, plan = week_plan(asked.service, asked.site)
    before = week_before(asked.service, asked.site, kept)
    table = None if before is None else changes_table(before, plan)
    return asked.page("changes.html.j2", site=asked.site, name=name, table=table)


PAGES = (Page("/sites/{site}", show), Page("/sites/{site}/changes", changes))
