"""Visits as technicians record them, and what they establish."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from etsched.model.service import KeptVisit
from etsched.reports.encode import utc
from etsched.stores import visits as store
from etsched.usecases.properties import get_site
from etsched.usecases.record_visit import record_visit
from etsched.usecases.service import Service
from etsched.web.access import Reader, Serving, Visitor
from etsched.web.conditional import answer
from etsched.web.idempotency import Answer, Written, once
from etsched.web.problems import not_found
from etsched.web.shapes import Day, DocumentIn, FindingsOut, Id, Most, SiteKey, VisitOut, VisitsOut, answers, by_name
from etsched.web.sites import paged

router = APIRouter(prefix="/v1/sites/{site}", tags=["visits"], generate_unique_id_function=by_name)
_AFTER = Query(description="The day of the last one of the page before.")


@router.get("/visits", responses=answers(VisitsOut), summary="The visits of a property, the earliest first")
def list_visits(
    request: Request,
    service: Serving,
    holder: Reader,
    site: SiteKey,
    after: Annotated[Day | None, _AFTER] = None,
    most: Most = 50,
) -> Response:
    """List visits by their day."""
    found = [each for each in _visits(service, site) if after is None or each.day > after][:most]
    last = found[-1].day.isoformat() if found else ""
    return paged(request, {"visits": [_line(each) for each in found]}, last, full=len(found) == most)


@router.get("/visits/{visit}", responses=answers(VisitOut), summary="A visit as it was recorded")
def read_visit(request: Request, service: Serving, holder: Reader, site: SiteKey, visit: Id) -> Response:
    """Give the record and what it establishes."""
    get_site(service, site)
    with service.database.reading() as reading:
        kept = store.find_visit(reading, visit)
    if kept is None or kept.site != site:
        raise not_found()
    return answer(request, _whole(kept))


@router.post(
    "/visits", status_code=201, responses=answers(VisitOut, 400, 409, 413, status=201), summary="Record a visit"
)
def write_visit(service: Serving, holder: Visitor, write: Written, site: SiteKey, body: DocumentIn) -> Response:
    """Keep the record of a visit; a property has one a day."""

    def act(inside: Service) -> Answer:
        get_site(inside, site)
        return Answer(_whole(record_visit(inside, site, body.document, holder.actor)), 201)

    return once(service, holder, write, act)


@router.get("/findings", responses=answers(FindingsOut), summary="What the visits established")
def findings(request: Request, service: Serving, holder: Reader, site: SiteKey) -> Response:
    """Give what every visit established, the earliest first."""
    found = [
        {"visit": each.visit, "day": each.day.isoformat(), "findings": json.loads(each.findings)}
        for each in _visits(service, site)
    ]
    return answer(request, {"findings": found})


def _visits(service: Service, site: str) -> list[KeptVisit]:
    get_site(service, site)
    with service.database.reading() as reading:
        return store.visits_of(reading, site)


def _line(kept: KeptVisit) -> dict[str, Any]:
    return {"visit": kept.visit, "day": kept.day.isoformat(), "at": utc(kept.at), "actor": kept.actor}


def _whole(kept: KeptVisit) -> dict[str, Any]:
    return {**_line(kept), "site": kept.site, "document": kept.document, "findings": json.loads(kept.findings)}
