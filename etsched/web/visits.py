"""Visits as technicians record them, and what they establish."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Header, Query, Request, Response

from etsched.model.service import KeptVisit
from etsched.reports.encode import utc
from etsched.reports.kept_figures import findings_in
from etsched.stores import visits as store
from etsched.usecases.properties import get_site, units_for
from etsched.usecases.record_visit import record_visit, withdraw_visit
from etsched.usecases.service import Service
from etsched.web.access import Reader, Serving, Visitor
from etsched.web.conditional import answer, etag_of, fits, to_bytes
from etsched.web.idempotency import Answer, Written, once
from etsched.web.paging import PAGED_WORDS, Most, paged
from etsched.web.problems import MOVED, Refused, not_found
from etsched.web.shapes import (
    ENDED_WORDS,
    AfterDay,
    DocumentIn,
    FindingsAsk,
    FindingsOut,
    Id,
    SiteKey,
    Units,
    VisitOut,
    VisitsOut,
    answers,
    by_name,
)

if TYPE_CHECKING:
    from etsched.units import UnitSystem

router = APIRouter(prefix="/v1/sites/{site}", tags=["visits"], generate_unique_id_function=by_name)


@router.get(
    "/visits",
    responses=answers(VisitsOut),
    summary="The visits of a property, the earliest first",
    description=PAGED_WORDS,
)
def list_visits(
    request: Request,
    service: Serving,
    holder: Reader,
    site: SiteKey,
    after: AfterDay = None,
    most: Most = 50,
) -> Response:
    """List visits by their day."""
    found = _visits(service, site, after, most)
    return paged(request, {"visits": [_line(each) for each in found]}, _last(found), full=len(found) == most)


@router.get("/visits/{visit}", responses=answers(VisitOut), summary="A visit as it was recorded")
def read_visit(
    request: Request, service: Serving, holder: Reader, site: SiteKey, visit: Id, units: Units = None
) -> Response:
    """Give the record and what it establishes."""
    system = units_for(service, site, units)
    with service.database.reading() as reading:
        kept = store.find_visit(reading, visit)
    if kept is None or kept.site != site:
        raise not_found()
    return answer(request, _whole(kept, system))


@router.post(
    "/visits",
    status_code=201,
    responses=answers(VisitOut, 400, 409, 412, 413, status=201),
    summary="Record a visit",
    description="A property has one visit a day: to take the place of one that is kept of the day, the record needs "
    "If-Match with the ETag of its last reading.",
)
def write_visit(
    service: Serving,
    holder: Visitor,
    write: Written,
    site: SiteKey,
    body: DocumentIn,
    if_match: Annotated[str | None, Header(max_length=1000)] = None,
) -> Response:
    """Keep the record of a visit."""

    def replaces(known: KeptVisit) -> bool:
        if if_match is None:
            return False
        systems: tuple[UnitSystem, ...] = ("us", "metric")
        if not any(fits(if_match, etag_of(to_bytes(_whole(known, system)))) for system in systems):
            raise Refused(MOVED, "the visit of that day has changed since it was read; read it anew")
        return True

    def act(inside: Service) -> Answer:
        system = units_for(inside, site, None)
        return Answer(_whole(record_visit(inside, site, body.document, holder.actor, replaces), system), 201)

    return once(service, holder, write, act)


@router.delete(
    "/visits/{visit}",
    responses=answers(None, 400, 409),
    summary="Take a recorded visit back",
    description=f"No plan goes by it any more; its record stays in the trail. {ENDED_WORDS}",
)
def delete_visit(service: Serving, holder: Visitor, write: Written, site: SiteKey, visit: Id) -> Response:
    """Let no plan go by a visit any more; its record stays in the trail."""

    def act(inside: Service) -> Answer:
        withdraw_visit(inside, site, visit, holder.actor)
        return Answer({})

    return once(service, holder, write, act)


@router.get(
    "/findings",
    responses=answers(FindingsOut),
    summary="What the visits established, the earliest visit first",
    description=PAGED_WORDS,
)
def findings(
    request: Request,
    service: Serving,
    holder: Reader,
    site: SiteKey,
    ask: Annotated[FindingsAsk, Query()],
) -> Response:
    """Give what each visit established."""
    system = units_for(service, site, ask.units)
    found = _visits(service, site, ask.after, ask.most)
    told = [{"visit": each.visit, "day": each.day.isoformat(), "findings": _findings(each, system)} for each in found]
    return paged(request, {"units": system, "findings": told}, _last(found), full=len(found) == ask.most)


def _visits(service: Service, site: str, after: date | None, most: int) -> list[KeptVisit]:
    get_site(service, site)
    with service.database.reading() as reading:
        return store.visits_of(reading, site, after, most)


def _last(found: list[KeptVisit]) -> str:
    return found[-1].day.isoformat() if found else ""


def _line(kept: KeptVisit) -> dict[str, Any]:
    return {"visit": kept.visit, "day": kept.day.isoformat(), "at": utc(kept.at), "actor": kept.actor}


def _whole(kept: KeptVisit, system: UnitSystem) -> dict[str, Any]:
    about = {"site": kept.site, "document": kept.document, "units": system}
    return {**_line(kept), **about, "findings": _findings(kept, system)}


def _findings(kept: KeptVisit, system: UnitSystem) -> dict[str, Any]:
    return findings_in(json.loads(kept.findings), system)
