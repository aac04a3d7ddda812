"""What ran: reports of controllers, and the table that a person says is in the clock."""

from __future__ import annotations

from fastapi import APIRouter, Response

from etsched.model.service import AppliedRun
from etsched.usecases.properties import get_site
from etsched.usecases.reports_in import confirm_keyed_in, report_applied
from etsched.usecases.service import Service
from etsched.web.access import Reporter, Serving, Visitor
from etsched.web.idempotency import Answer, Written, once
from etsched.web.shapes import AppliedIn, AppliedOut, KeyedInIn, KeyedInOut, SiteKey, answers, by_name

router = APIRouter(prefix="/v1/sites/{site}", tags=["what ran"], generate_unique_id_function=by_name)


@router.post("/applied", responses=answers(AppliedOut, 400, 409, 413), summary="Report what a controller ran")
def applied(service: Serving, holder: Reporter, write: Written, site: SiteKey, body: AppliedIn) -> Response:
    """Keep reported runs; one that is known by its id counts once.

    A night in `nights_whole` is told wholly: what is not listed did not run. Silence about a night is never taken as
    success.
    """

    def act(inside: Service) -> Answer:
        get_site(inside, site)
        runs = [
            AppliedRun(each.report, each.terminal, each.opens_on, each.minutes, each.how, each.began)
            for each in body.runs
        ]
        return Answer({"new_count": report_applied(inside, site, runs, body.nights_whole, holder.actor)})

    return once(service, holder, write, act)


@router.post("/keyed-in", responses=answers(KeyedInOut, 400, 409, 413), summary="This table is in the clock")
def keyed_in(service: Serving, holder: Visitor, write: Written, site: SiteKey, body: KeyedInIn) -> Response:
    """Confirm that a plan's table is in the clock since a night; the balance credits it where no controller reports."""

    def act(inside: Service) -> Answer:
        get_site(inside, site)
        confirm_keyed_in(inside, site, body.since, body.plan_revision, holder.actor)
        return Answer({"since": body.since.isoformat(), "plan_revision": body.plan_revision})

    return once(service, holder, write, act)
