"""The paper for the inside of the controller door."""

from __future__ import annotations

from typing import Any

from fastapi import Response

from etsched.documents.clock_document import written_programs
from etsched.errors import PlanRefused
from etsched.planning.program_figures import as_found
from etsched.reports.clock_page import clock_values
from etsched.usecases.controller import KEYED_IN
from etsched.usecases.door import door_sheet
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.kept_visit import today_at
from etsched.usecases.properties import get_site
from etsched.usecases.reports_in import controller_state
from etsched.web.pages.downloads import papers_of
from etsched.web.pages.security import Asked, Page
from etsched.web.pages.visits_seen import visits_seen


def show(asked: Asked) -> Response:
    """Set the programs of the week and what to change in the clock, or say why there are none."""
    service, site = asked.service, asked.site
    name = get_site(service, site).name
    try:
        sheet = door_sheet(service, site)
    except PlanRefused as error:
        return asked.page("no_door.html.j2", site=site, name=name, why=str(error))
    state, plan = controller_state(service, site), week_plan(service, site)[0]
    about: dict[str, Any] = {
        "site": site,
        "name": name,
        "papers": papers_of(asked),
        "controller": state.words,
        "held": sheet.held,
        "keyed_in": state.kind == KEYED_IN and sheet.changes == (),
        "newer": [visit for visit in visits_seen(asked, plan) if visit.newer],
        "revision": plan.revision,
        "programs": written_programs(map(as_found, sheet.table.programs)),
        "since": today_at(service, site),
        "wrong": "",
    }
    return asked.page("door.html.j2", **clock_values(sheet.table, sheet.changes), **about)


PAGES = (Page("/sites/{site}/door", show),)
