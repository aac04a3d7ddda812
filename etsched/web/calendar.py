"""The calendar of a property, and the addresses it is read by."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request, Response

from etsched.errors import NotKept
from etsched.reports.encode import utc
from etsched.stores.calendars import addresses_of, find_address
from etsched.usecases.calendar import calendar_text, make_address, revoke_address, shown_by
from etsched.usecases.properties import get_site
from etsched.usecases.service import Service
from etsched.web.access import Manager, Serving, address_of
from etsched.web.conditional import etag_of, fits_weakly
from etsched.web.idempotency import Answer, Written, once
from etsched.web.paging import PAGED_WORDS, AfterId, Most, paged, place_of
from etsched.web.problems import TOO_MANY, Refused, not_found
from etsched.web.shapes import (
    ENDED_WORDS,
    NOT_MODIFIED,
    CalendarOut,
    CalendarsOut,
    Id,
    Responses,
    SiteKey,
    answers,
    by_name,
)

router = APIRouter(tags=["calendar"], generate_unique_id_function=by_name)
MEDIA_TYPE = "text/calendar"
_ANSWER: Responses = {200: {"description": "The calendar", "content": {MEDIA_TYPE: {"schema": {"type": "string"}}}}}
_MADE = answers(CalendarOut, 400, 409, status=201)


@router.get(
    "/v1/sites/{site}/calendar",
    responses=answers(CalendarsOut),
    summary="The calendar addresses that hold, the oldest first",
    description=PAGED_WORDS,
)
def list_addresses(
    request: Request,
    service: Serving,
    holder: Manager,
    site: SiteKey,
    after: AfterId = None,
    most: Most = 50,
) -> Response:
    """List addresses without their secrets."""
    get_site(service, site)
    with service.database.reading() as reading:
        before = place_of(after, lambda each: find_address(reading, site, each))
        found = addresses_of(reading, site, before, most)
    told = [{"calendar": name, "made": utc(made)} for name, made in found]
    return paged(request, {"calendars": told}, found[-1][0] if found else "", full=len(found) == most)


@router.post("/v1/sites/{site}/calendar", status_code=201, responses=_MADE, summary="A new calendar address")
def new_address(service: Serving, holder: Manager, write: Written, site: SiteKey) -> Response:
    """Make an address for a calendar program. Whoever has it reads the calendar; it is shown this once."""

    def act(inside: Service) -> Answer:
        get_site(inside, site)
        calendar, token = make_address(inside, site, holder.actor)
        return Answer({"calendar": calendar, "address": f"/calendar/{token}.ics"}, 201, secrets=("address",))

    return once(service, holder, write, act)


@router.delete(
    "/v1/sites/{site}/calendar/{calendar}",
    responses=answers(None, 400, 409),
    summary="Revoke a calendar address",
    description=f"Revokes an address at once. {ENDED_WORDS}",
)
def end_address(service: Serving, holder: Manager, write: Written, site: SiteKey, calendar: Id) -> Response:
    """Revoke an address."""

    def act(inside: Service) -> Answer:
        if not revoke_address(inside, site, calendar, holder.actor):
            raise not_found()
        return Answer({})

    return once(service, holder, write, act)


@router.get(
    "/calendar/{token}.ics",
    responses={**answers(None), **_ANSWER, **NOT_MODIFIED},
    summary="The runs of tonight and the week",
)
def read_calendar(
    request: Request, service: Serving, token: Annotated[str, Path(pattern=r"^[A-Za-z0-9_-]{43}$")]
) -> Response:
    """Give the calendar of the property that the address is for."""
    tries, now, address = request.app.state.tries, service.clock.now(), address_of(request)
    if wait_s := tries.wait_s(address, now):
        raise Refused(TOO_MANY, f"too many wrong addresses; wait {wait_s} s", headers={"retry-after": str(wait_s)})
    try:
        site, plan = shown_by(service, token)
    except NotKept:
        tries.failed(address, now)
        raise
    body = calendar_text(get_site(service, site), plan)
    sent = {"etag": etag_of(body), "cache-control": "private, no-cache"}
    if fits_weakly(request.headers.get("if-none-match", ""), sent["etag"]):
        return Response(status_code=304, headers=sent)
    return Response(body, headers=sent, media_type=f"{MEDIA_TYPE}; charset=utf-8")
