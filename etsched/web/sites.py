"""Properties: the list, one with its site file, a new revision of it; the trail of who changed what."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any

from fastapi import APIRouter, Header, Query, Request, Response

from etsched.errors import NotKept, RevisionMoved
from etsched.model.service import KeptSite, TrailEntry
from etsched.reports.encode import utc
from etsched.stores import sites as store
from etsched.stores import trail
from etsched.usecases.properties import get_site, put_site
from etsched.usecases.service import Service
from etsched.web.access import Manager, Reader, Serving
from etsched.web.conditional import answer, etag_of, fits, to_bytes
from etsched.web.idempotency import Answer, Written, once
from etsched.web.paging import LAST, PAGED_WORDS, Most, paged
from etsched.web.problems import MOVED, NO_REVISION, Refused
from etsched.web.shapes import (
    CONDITIONAL_WORDS,
    NOT_MODIFIED,
    DocumentIn,
    SiteKey,
    SiteOut,
    SitesOut,
    TrailOut,
    answers,
    by_name,
)

router = APIRouter(prefix="/v1", tags=["sites"], generate_unique_id_function=by_name)
_IF_MATCH, _READ_ANEW = "/header/if-match", "it names no reading of what is kept now; send the ETag of a new one"
_AFTER_SITE = Query(max_length=64, pattern=r"^[a-z0-9-]*$", description=LAST)
_AFTER_ENTRY = Query(ge=0, le=2_147_483_647, description=LAST)


def line(kept: KeptSite) -> dict[str, Any]:
    """Write a property for a list."""
    return {"site": kept.site, "name": kept.name, "zone": kept.zone, "revision": kept.revision}


def whole(kept: KeptSite) -> dict[str, Any]:
    """Write a property with its site file."""
    away = None if kept.put_away is None else utc(kept.put_away)
    return {**line(kept), "document": kept.document, "put_away": away}


@router.get(
    "/sites", responses=answers(SitesOut), summary="The properties that the key reaches", description=PAGED_WORDS
)
def list_sites(
    request: Request,
    service: Serving,
    holder: Reader,
    after: Annotated[str, _AFTER_SITE] = "",
    most: Most = 50,
) -> Response:
    """List properties by their short names."""
    with service.database.reading() as reading:
        found = store.list_sites(reading, after, most, holder.sites)
    last = found[-1].site if found else ""
    return paged(request, {"sites": [line(each) for each in found]}, last, full=len(found) == most)


@router.get(
    "/sites/{site}",
    responses={**answers(SiteOut), **NOT_MODIFIED},
    summary="A property and its site file",
    description=CONDITIONAL_WORDS,
)
def read_site(request: Request, service: Serving, holder: Reader, site: SiteKey) -> Response:
    """Give the site file that holds now."""
    return answer(request, whole(get_site(service, site)))


@router.put(
    "/sites/{site}",
    responses={**answers(SiteOut, 400, 409, 412, 413, 428), 201: {"description": "New", "model": SiteOut}},
    summary="A new property, or a new revision of its site file",
    description="A change of a property that is known needs If-Match with the ETag of its last reading. The file that "
    "holds already is answered 200, whatever If-Match says, and makes no new revision: whoever lost the answer sends "
    "the same again.",
)
def write_site(
    service: Serving,
    holder: Manager,
    write: Written,
    site: SiteKey,
    body: DocumentIn,
    if_match: Annotated[str | None, Header(max_length=1000)] = None,
) -> Response:
    """Keep a site file; what cannot be used is refused with every problem."""

    def act(inside: Service) -> Answer:
        known = _known(inside, site)
        if known is not None and known.document == body.document:
            return Answer(whole(known))  # RFC 9110, 13.1.1: what is as it is asked to be need not match
        if known is None and if_match is not None:
            words = "there is no such property yet, so nothing of it can match"
            raise Refused(MOVED, words, [(_IF_MATCH, "leave it out where a property is new")])
        if known is not None:
            _check_match(known, if_match)
        try:
            kept = put_site(inside, site, body.document, holder.actor, None if known is None else known.revision)
        except RevisionMoved as error:  # while this request was on its way
            raise Refused(MOVED, str(error), [(_IF_MATCH, _READ_ANEW)]) from error
        return Answer(whole(kept), 201 if known is None else 200)

    done = once(service, holder, write, act)
    done.headers["etag"] = etag_of(bytes(done.body))
    return done


def _known(service: Service, site: str) -> KeptSite | None:
    try:
        return get_site(service, site)
    except NotKept:
        return None


def _check_match(known: KeptSite, if_match: str | None) -> None:
    if if_match is None:
        words = "the property is known; read it and send its ETag as If-Match"
        raise Refused(NO_REVISION, words, [(_IF_MATCH, "it is missing; send the ETag of the last reading")])
    if not fits(if_match, etag_of(to_bytes(whole(known)))):
        words = f"the property is at revision {known.revision} by now; read it anew and change that"
        raise Refused(MOVED, words, [(_IF_MATCH, _READ_ANEW)])


@router.get(
    "/sites/{site}/trail",
    responses=answers(TrailOut),
    summary="Who changed what of a property, the earliest first",
    description=PAGED_WORDS,
)
def site_trail(
    request: Request,
    service: Serving,
    holder: Manager,
    site: SiteKey,
    after: Annotated[int, _AFTER_ENTRY] = 0,
    most: Most = 50,
) -> Response:
    """List the entries of a property in order."""
    get_site(service, site)
    with service.database.reading() as reading:
        return _trail(request, trail.entries(reading, site, after, most), most)


def _trail(request: Request, found: Sequence[TrailEntry], most: int) -> Response:
    entries = [
        {
            **{name: getattr(each, name) for name in ("entry", "actor", "did", "site", "detail")},
            "at": utc(each.at),
        }
        for each in found
    ]
    last = found[-1].entry if found else 0
    return paged(request, {"entries": entries}, last, full=len(found) == most)
