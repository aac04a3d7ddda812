"""A person's word that a door paper or a week's table is in the clock, and which water is counted after it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from fastapi.responses import RedirectResponse

from etsched.days import day_text
from etsched.documents.clock_document import read_programs
from etsched.errors import AppliedRefused
from etsched.model.access import Scope
from etsched.stores import plans
from etsched.tables.figure import plain
from etsched.usecases.controller import KEYED_IN
from etsched.usecases.kept_plans import week_plan
from etsched.usecases.kept_visit import today_at
from etsched.usecases.properties import get_site, site_of
from etsched.usecases.reports_in import confirm_keyed_in, controller_state, take_back_keyed_in
from etsched.web.pages.security import Asked, Page
from etsched.web.problems import BAD_REQUEST, Refused

if TYPE_CHECKING:
    from fastapi import Response

_MOST_DIGITS = 7


@dataclass(frozen=True, slots=True)
class _Form:
    """What the form holds when it is shown."""

    revision: int
    since: date | str
    programs: str = ""
    wrong: str = ""


def show(asked: Asked) -> Response:
    """Say what is in the clock by the last word, and which water is counted."""
    revision = week_plan(asked.service, asked.site)[0].revision
    return _page(asked, _Form(revision, today_at(asked.service, asked.site)))


def confirm(asked: Asked) -> Response:
    """Keep the word; the same word again changes nothing."""
    typed, revision = asked.form.get("since", "").strip(), _revision(asked.form.get("revision", ""))
    programs = asked.form.get("programs", "")
    try:
        held = read_programs(programs) if programs else ()
    except ValueError:
        raise Refused(BAD_REQUEST, "The form's programs cannot be read; open the door paper anew.") from None
    try:
        since = date.fromisoformat(typed)
    except ValueError:
        wrong = "It is no date; write year, month and day, such as 2026-07-14."
        return _page(asked, _Form(revision, typed, programs, wrong))
    try:
        confirm_keyed_in(asked.service, asked.site, since, revision, asked.holder.actor, held)
    except AppliedRefused as error:
        wrong = " ".join(f"{each.wrong[0].upper()}{plain(each.wrong[1:])}; {each.remedy}." for each in error.problems)
        return _page(asked, _Form(revision, typed, programs, wrong))
    return RedirectResponse(f"/sites/{asked.site}/keyed-in", 303)


def take_back(asked: Asked) -> Response:
    """Take back the word on a night; the one before it holds again."""
    try:
        since = date.fromisoformat(asked.form.get("since", ""))
    except ValueError:
        raise Refused(BAD_REQUEST, "The form does not say which night it is about; open the page anew.") from None
    take_back_keyed_in(asked.service, asked.site, since, asked.holder.actor)
    return RedirectResponse(f"/sites/{asked.site}/keyed-in", 303)


def _revision(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS):
        raise Refused(BAD_REQUEST, "The form does not say which plan's table it is; open the week's page anew.")
    return int(text)


def _page(asked: Asked, form: _Form) -> Response:
    service, site = asked.service, asked.site
    state, kept = controller_state(service, site), get_site(service, site)
    with service.database.reading() as reading:
        said = plans.keyed_in_on(reading, site, today_at(service, site))
    return asked.page(
        "keyed_in.html.j2",
        422 if form.wrong else 200,
        site=site,
        name=kept.name,
        clock=site_of(kept).controller is not None,
        said=said
        and {
            "what": "door paper" if said.programs else "table",
            "plan": said.plan_revision,
            "since": day_text(said.since),
            "since_date": said.since,
            "by": said.actor.removeprefix("user "),
        },
        counts=state.kind == KEYED_IN,
        controller=state.words,
        revision=form.revision,
        since=form.since,
        programs=form.programs,
        wrong=form.wrong,
    )


PAGES = (
    Page("/sites/{site}/keyed-in", show),
    Page("/sites/{site}/keyed-in", confirm, Scope.VISIT, "POST"),
    Page("/sites/{site}/keyed-in/back", take_back, Scope.VISIT, "POST"),
)
