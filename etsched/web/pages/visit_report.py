"""A visit that was recorded: what it tells, and the printed sheet to show the customer."""

from __future__ import annotations

import re
from base64 import b64encode
from hashlib import sha256
from typing import TYPE_CHECKING

from fastapi import Response

from etsched.days import day_in_full
from etsched.errors import VisitRefused
from etsched.model.access import Scope
from etsched.reports.visit_page import visit_page
from etsched.stores import plans
from etsched.tables.figure import plain
from etsched.usecases.first_plan import next_plan
from etsched.usecases.kept_visit import find_visit, judged, kept_record
from etsched.usecases.properties import get_site
from etsched.usecases.record_visit import withdraw_visit
from etsched.web.pages.security import POLICY, Asked, Page
from etsched.web.pages.visit import planned_anew, verdict

if TYPE_CHECKING:
    from collections.abc import Mapping

    from etsched.model.service import KeptVisit

_STYLE = re.compile(r"<style>(.*?)</style>", re.DOTALL)


def recorded(asked: Asked) -> Response:
    """Say that a visit is kept, and what it tells."""
    kept = _visit(asked)
    return asked.page(
        "visit_recorded.html.j2",
        site=asked.site,
        name=get_site(asked.service, asked.site).name,
        visit=kept.visit,
        day=day_in_full(kept.day),
        entered=_entered(asked, kept),
        next_plan=next_plan(asked.service, asked.site),
        says=_says(asked, kept),
    )


def _entered(asked: Asked, kept: KeptVisit) -> bool:
    """Say whether a plan was made since the visit was recorded, which goes by it."""
    with asked.service.database.reading() as reading:
        plan = plans.latest_head(reading, asked.site)
    return plan is not None and plan.at >= kept.at


def _says(asked: Asked, kept: KeptVisit) -> Mapping[str, object]:
    """Judge a kept visit; one that the site file has outgrown still has its page, from which it can be withdrawn."""
    try:
        return verdict(asked, kept_record(asked.service, kept))
    except VisitRefused as error:
        return {"table": None, "maps": [], "unjudged": plain(str(error.problems[0]))}


def ask_again(asked: Asked) -> Response:
    """Ask once more before a visit is taken back."""
    return _asks(asked, _visit(asked))


def withdraw(asked: Asked) -> Response:
    """Take the visit back where the person said yes."""
    kept = _visit(asked)
    if asked.form.get("yes") != "yes":
        return _asks(asked, kept, 422)
    withdraw_visit(asked.service, asked.site, kept.visit, asked.holder.actor)
    done = _asks(asked, kept, done=True)
    done.background = planned_anew(asked)
    return done


def _asks(asked: Asked, kept: KeptVisit, status: int = 200, *, done: bool = False) -> Response:
    return asked.page(
        "visit_withdraw.html.j2",
        status,
        site=asked.site,
        name=get_site(asked.service, asked.site).name,
        visit=kept.visit,
        day=day_in_full(kept.day),
        actor=plain(kept.actor),
        missed=status != 200,
        done=done,
    )


def sheet(asked: Asked) -> Response:
    """Give the printable sheet, the same that the command line writes; its own style is named by its digest."""
    kept = _visit(asked)
    outcome = judged(asked.service, asked.site, kept_record(asked.service, kept))
    page = visit_page(outcome, back=f"/sites/{asked.site}")
    styles = [b64encode(sha256(style.encode()).digest()).decode() for style in _STYLE.findall(page)]
    allowed = " ".join(f"'sha256-{digest}'" for digest in styles)
    policy = POLICY.replace("style-src 'self'", f"style-src {allowed}").replace("script-src 'self'; ", "")
    return Response(page, media_type="text/html", headers={"content-security-policy": policy})


def _visit(asked: Asked) -> KeptVisit:
    return find_visit(asked.service, asked.site, str(asked.request.path_params["visit"]))


PAGES = (
    Page("/sites/{site}/visits/{visit}", recorded),
    Page("/sites/{site}/visits/{visit}/sheet", sheet),
    Page("/sites/{site}/visits/{visit}/withdraw", ask_again, Scope.VISIT),
    Page("/sites/{site}/visits/{visit}/withdraw", withdraw, Scope.VISIT, "POST"),
)
