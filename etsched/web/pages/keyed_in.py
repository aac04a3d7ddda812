"""A person's word that a week's table is in the clock, and what the water books go by after it."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from fastapi.responses import RedirectResponse

from etsched.days import day_text
from etsched.errors import AppliedRefused
from etsched.model.access import Scope
from etsched.stores import plans
from etsched.tables.figure import plain
from etsched.usecases.controller import KEYED_IN
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.kept_visit import today_at
from etsched.usecases.properties import get_site
from etsched.usecases.reports_in import confirm_keyed_in, controller_state
from etsched.web.pages.security import Asked, Page
from etsched.web.problems import BAD_REQUEST, Refused

if TYPE_CHECKING:
    from fastapi import Response

_MOST_DIGITS = 7


def show(asked: Asked) -> Response:
    """Say which table is in the clock by the last word, and what the books go by."""
    return _page(asked, week_plan(asked.service, asked.site)[0].revision, today_at(asked.service, asked.site))


def confirm(asked: Asked) -> Response:
    """Keep the word; the same word again changes nothing."""
    typed, revision = asked.form.get("since", "").strip(), _revision(asked.form.get("revision", ""))
    try:
        since = date.fromisoformat(typed)
    except ValueError:
        wrong = "It is no date; write year, month and day, such as 2026-07-14."
        return _page(asked, revision, typed, wrong)
    try:
        confirm_keyed_in(asked.service, asked.site, since, revision, asked.holder.actor)
    except AppliedRefused as error:
        wrong = " ".join(f"{each.wrong[0].upper()}{plain(each.wrong[1:])}; {each.remedy}." for each in error.problems)
        return _page(asked, revision, typed, wrong)
    return RedirectResponse(f"/sites/{asked.site}/keyed-in", 303)


def _revision(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS):
        raise Refused(BAD_REQUEST, "The form does not say which plan's table it is; open the week's page anew.")
    return int(text)


def _page(asked: Asked, revision: int, since: date | str, wrong: str = "") -> Response:
    service, site = asked.service, asked.site
    state = controller_state(service, site)
    with service.database.reading() as reading:
        said = plans.keyed_in_on(reading, site, today_at(service, site))
    return asked.page(
        "keyed_in.html.j2",
        422 if wrong else 200,
        site=site,
        name=get_site(service, site).name,
        said=said and {"plan": said.plan_revision, "since": day_text(said.since), "by": said.actor},
        counts=state.kind == KEYED_IN,
        controller=state.words,
        revision=revision,
        since=since,
        wrong=wrong,
    )


PAGES = (
    Page("/sites/{site}/keyed-in", show),
    Page("/sites/{site}/keyed-in", confirm, Scope.VISIT, "POST"),
)
