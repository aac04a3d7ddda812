"""The technician's page: a visit filled in screen by screen, judged as it grows, sent once.

The whole visit is one form whose screens are parts of one page, so that going from one to the next asks nothing of
the network: a signal that drops between two stations is not noticed. The record is its own name: the same record sent
twice is one visit.
"""

from __future__ import annotations

from collections import Counter
from functools import partial
from typing import TYPE_CHECKING

from fastapi.responses import RedirectResponse
from starlette.background import BackgroundTask

from etsched.charts.cup_looks import EDGES, SHADES
from etsched.days import day_in_full
from etsched.documents.visit_file import parse_visit
from etsched.errors import InputRefused, NotKept, PlanRefused
from etsched.model.access import Scope
from etsched.reports.visit_page import visit_values
from etsched.stores import visits
from etsched.tables.figure import plain
from etsched.tables.visit import visit_table
from etsched.usecases.daily import plan_after_visit
from etsched.usecases.kept_visit import find_visit, judged, kept_record, read_record, today_at
from etsched.usecases.properties import get_site, site_of
from etsched.usecases.record_visit import record_visit
from etsched.web.pages.security import Asked, Page
from etsched.web.pages.visit_draft import MOST_CUPS, NOTHING, Form, cups_read, document_of, screens_of, to_mend
from etsched.web.pages.visit_kept import form_of, is_same
from etsched.web.pages.visit_refusals import sentence
from etsched.web.pages.visit_steps import steps_of
from etsched.web.problems import CONFLICT, Refused

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fastapi import Response

    from etsched.model.service import KeptVisit
    from etsched.model.visit import Visit

_MORE = "more."
_REPLACES = "replaces"
_HOLDS_MORE = (
    "This visit was not written with the form and holds more than it asks. Correct its file and send that in its "
    "place, or withdraw the visit and record it anew."
)
# Of the map that grows as cups are typed: a share of the mean below which a cup is drawn so, fill, ink.
_SHADES = [(below, each.fill, each.ink) for below, each in zip((*EDGES, None), SHADES, strict=True)]


def empty(asked: Asked) -> Response:
    """Show a visit of today in which nothing is filled in."""
    return _form(asked, {"visit.date": today_at(asked.service, asked.site).isoformat()})


def filled(asked: Asked) -> Response:
    """Take the form: lay out more of it, judge what it holds so far, or record it."""
    do = asked.form.get("do", "")
    if do.startswith(_MORE) or do == "lay out":
        return _form(asked, asked.form, do.removeprefix(_MORE))
    site = site_of(get_site(asked.service, asked.site))
    steps = steps_of(site)
    document = document_of(steps, site, asked.form)
    try:
        if do == "send":
            kept = record_visit(asked.service, asked.site, document, asked.holder.actor, partial(_is_meant, asked.form))
            return RedirectResponse(
                f"/sites/{asked.site}/visits/{kept.visit}", 303, background=planned_anew(asked)
            )
        return _form(asked, asked.form, says=verdict(asked, read_record(asked.service, asked.site, document)))
    except InputRefused as error:
        return _form(asked, asked.form, wrong=[sentence(steps, asked.form, each) for each in error.problems])


def planned_anew(asked: Asked) -> BackgroundTask:
    """Plan by what has changed once the person has the answer: a plan may take longer than a telephone waits."""
    return BackgroundTask(plan_after_visit, asked.service, asked.site, asked.holder.actor)


def correct(asked: Asked) -> Response:
    """Show a kept visit in the form, to be sent in its own place."""
    kept = find_visit(asked.service, asked.site, str(asked.request.path_params["visit"]))
    site = site_of(get_site(asked.service, asked.site))
    steps, visit = steps_of(site), kept_record(asked.service, kept)
    form = form_of(steps, site, kept.document)
    if not is_same(parse_visit(document_of(steps, site, form), kept.visit, site, kept.day), visit):
        raise Refused(CONFLICT, _HOLDS_MORE)
    return _form(asked, {**form, _REPLACES: kept.at.isoformat()}, corrects=day_in_full(kept.day))


def _is_meant(form: Form, kept: KeptVisit) -> bool:
    """Say whether the form is to replace a visit: its box names the very record that the person was told of."""
    return form.get(_REPLACES, "") == kept.at.isoformat()


def verdict(asked: Asked, visit: Visit) -> Mapping[str, object]:
    """Judge a record; where no weather is there to judge it by, that is said. Raises NotKept."""
    try:
        outcome = judged(asked.service, asked.site, visit)
    except (NotKept, PlanRefused) as error:
        # What is to be done about it is said to whoever has files.
        unjudged = plain(str(error)).partition(";")[0].removesuffix(".")
        return {"table": None, "maps": [], "unjudged": f"{unjudged}."}
    return {**visit_values(outcome, visit_table(outcome)), "unjudged": ""}


def _form(
    asked: Asked,
    form: Form,
    adds: str = "",
    *,
    says: Mapping[str, object] | None = None,
    wrong: list[str] | None = None,
    corrects: str = "",
) -> Response:
    kept = get_site(asked.service, asked.site)
    site = site_of(kept)
    steps = steps_of(site)
    with asked.service.database.reading() as reading:
        before = visits.visits_of(reading, asked.site)
    record, day = document_of(steps, site, form), form.get("visit.date", "").strip()
    ticked = form.get(_REPLACES)
    same_day = (each for each in before if each.day.isoformat() == day and (ticked or each.document != record))
    screens = screens_of(steps, site, form, adds)
    return asked.page(
        "visit_form.html.j2",
        422 if wrong else 200,
        site=asked.site,
        name=kept.name,
        screens=screens,
        steps=steps,
        counts=Counter(screen.step.table for screen in screens if screen.holds) + Counter(cup=cups_read(form)),
        to_mend=to_mend(form),
        stations=[(each.terminal, each.area) for each in site.stations],
        areas=list(dict.fromkeys(each.area for each in site.stations)),
        form=form,
        nothing=NOTHING,
        most_cups=MOST_CUPS,
        shades=_SHADES,
        says=says,
        wrong=wrong or (),
        corrects=corrects,
        same_day=next(same_day, None),
        replaces=_REPLACES,
        before=[(each.visit, day_in_full(each.day)) for each in before],
    )


PAGES = (
    Page("/sites/{site}/visit", empty, Scope.VISIT),
    Page("/sites/{site}/visit", filled, Scope.VISIT, "POST"),
    Page("/sites/{site}/visits/{visit}/correct", correct, Scope.VISIT),
)
