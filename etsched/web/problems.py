"""Every refusal as a problem document (RFC 9457): a type that never changes, a sentence, and where it is."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from fastapi import Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ConfigDict
from sqlalchemy.exc import IntegrityError
from starlette.exceptions import HTTPException
from starlette.routing import Match

from etsched import errors
from etsched.tables.figure import plain

if TYPE_CHECKING:
    from fastapi import FastAPI

MEDIA_TYPE = "application/problem+json"
_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Kind:
    """A sort of problem; its name stands in the `type` of the document and stays as it is."""

    name: str
    status: int
    title: str


BAD_REQUEST = Kind("bad-request", 400, "The request cannot be read")
NO_IDEMPOTENCY_KEY = Kind("no-idempotency-key", 400, "The write carries no idempotency key")
NOT_LET_IN = Kind("not-let-in", 401, "No valid key")
NOT_ALLOWED = Kind("not-allowed", 403, "The key does not allow this")
NOT_FOUND = Kind("not-found", 404, "Nothing under this address")
NO_PLAN_YET = Kind("no-plan-yet", 404, "No plan has been made yet")
NO_SUCH_METHOD = Kind("no-such-method", 405, "The address does not take this method")
CONFLICT = Kind("conflict", 409, "It does not fit what is kept")
NO_PLAN = Kind("no-plan", 409, "No plan can be made from these values")
MOVED = Kind("revision-moved", 412, "Somebody changed it meanwhile")
TOO_LARGE = Kind("too-large", 413, "The request is too large")
INVALID = Kind("invalid", 422, "The request does not fit what is asked for")
SITE_REFUSED = Kind("site-refused", 422, "The site file cannot be used")
VISIT_REFUSED = Kind("visit-refused", 422, "The record of the visit cannot be used")
INPUT_REFUSED = Kind("input-refused", 422, "Something handed over cannot be used")
OTHER_BODY = Kind("other-body", 422, "The idempotency key was used for another write")
NO_REVISION = Kind("no-revision", 428, "The change does not say which revision it changes")
TOO_MANY = Kind("too-many", 429, "Too many requests")
BROKEN = Kind("broken", 500, "The program failed")
UNAVAILABLE = Kind("unavailable", 503, "It cannot be done just now")
KINDS = tuple(kind for kind in dict(globals()).values() if isinstance(kind, Kind))

# The first class that fits says the kind; what is not named is a failure of this program.
_OF_ERRORS: tuple[tuple[type[errors.EtschedError], Kind], ...] = (
    (errors.AccessRefused, NOT_LET_IN),
    (errors.NoPlanYet, NO_PLAN_YET),
    (errors.NotKept, NOT_FOUND),
    (errors.RevisionMoved, MOVED),
    (errors.SiteRefused, SITE_REFUSED),
    (errors.VisitRefused, VISIT_REFUSED),
    (errors.InputRefused, INPUT_REFUSED),
    (errors.QuantityRefused, INPUT_REFUSED),
    (errors.PlanRefused, NO_PLAN),
    (errors.ClaimLost, CONFLICT),
    (errors.StoreRefused, UNAVAILABLE),
    (errors.FeedFailed, UNAVAILABLE),
    (errors.Stopping, UNAVAILABLE),
    (errors.OutputRefused, UNAVAILABLE),
    (errors.WebhookFailed, INPUT_REFUSED),
)
_OF_STATUS = {400: BAD_REQUEST, 404: NOT_FOUND, 405: NO_SUCH_METHOD, 413: TOO_LARGE}
WHOLE_BODY = ""  # as RFC 6901 points at a document as a whole
# The same words for what is not there and for what a key does not reach, so that they cannot be told apart.
NOT_HERE = "there is nothing under this address, or the key does not reach it"
_RETRY_AFTER_S = 30


class PointerOut(BaseModel):
    """One place of the request and what is wrong there."""

    model_config = ConfigDict(extra="forbid")
    pointer: str
    detail: str


class ProblemOut(BaseModel):
    """A problem document as RFC 9457 describes it."""

    model_config = ConfigDict(extra="forbid")
    type: str
    title: str
    status: int
    detail: str
    errors: list[PointerOut]


@dataclass(slots=True)
class Refused(Exception):
    """A refusal of the interface itself."""

    kind: Kind
    detail: str
    faults: Sequence[tuple[str, str]] = ()  # pointer, what is wrong
    headers: Mapping[str, str] = field(default_factory=dict)


def problem(
    kind: Kind, detail: str, faults: Sequence[tuple[str, str]] = (), headers: Mapping[str, str] | None = None
) -> Response:
    """Write a problem document."""
    document = {
        "type": f"/problems/{kind.name}",
        "title": kind.title,
        "status": kind.status,
        "detail": detail,
        "errors": [{"pointer": pointer, "detail": wrong} for pointer, wrong in faults],
    }
    sent = {"cache-control": "no-store", **(headers or {})}
    if kind is NOT_LET_IN:
        sent["www-authenticate"] = "Bearer"
    if kind is UNAVAILABLE:
        sent.setdefault("retry-after", str(_RETRY_AFTER_S))
    body = json.dumps(document, sort_keys=True, ensure_ascii=True).encode()
    return Response(body, kind.status, sent, MEDIA_TYPE)


def kind_of(error: errors.EtschedError) -> Kind:
    """Say which sort of problem an error of the program is."""
    return next((kind for known, kind in _OF_ERRORS if isinstance(error, known)), BROKEN)


def tell_operator(error: errors.EtschedError) -> None:
    """Log what nobody who asks can mend."""
    if kind_of(error) is BROKEN:
        _LOG.error("%s: %s", type(error).__name__, error)
    elif isinstance(error, errors.StoreRefused):
        _LOG.warning("%s", error)


def of_error(error: errors.EtschedError) -> Response:
    """Write what the program refuses."""
    tell_operator(error)
    kind = kind_of(error)
    if kind is NOT_FOUND:
        return problem(kind, NOT_HERE)
    if isinstance(error, errors.InputRefused):
        of_document = isinstance(error, errors.SiteRefused | errors.VisitRefused)
        faults = [
            ("/document" if of_document else f"/{plain(each.field).replace('.', '/')}", _place(each))
            for each in error.problems
        ]
        return problem(kind, f"{kind.title.lower()}; {len(faults)} to mend", faults)
    if isinstance(error, errors.SpellRefused):
        return problem(kind, plain(str(error)), [(f"/{error.field}".rstrip("/"), plain(str(error)))])
    return problem(kind, plain(str(error)))


def _place(each: errors.Problem) -> str:
    where = [f"line {each.line}"] if each.line is not None else []
    where += [plain(each.field)] if each.field else []
    return f"{', '.join(where)}: {plain(each.wrong)}; {each.remedy}" if where else f"{plain(each.wrong)}; {each.remedy}"


def not_found() -> Refused:
    """Refuse an address with nothing under it."""
    return Refused(NOT_FOUND, NOT_HERE)


def install(app: FastAPI) -> None:
    """Turn everything that can go wrong in an app into problem documents."""

    @app.exception_handler(errors.EtschedError)
    def refused_by_program(_: Request, error: errors.EtschedError) -> Response:
        return of_error(error)

    @app.exception_handler(Refused)
    def refused_here(_: Request, error: Refused) -> Response:
        return problem(error.kind, error.detail, error.faults, error.headers)

    @app.exception_handler(IntegrityError)
    def contradicted(_: Request, error: IntegrityError) -> Response:
        _LOG.warning("a write contradicts what is kept: %s", type(error.orig).__name__)
        return problem(CONFLICT, "it contradicts what is kept already; read it anew and try again")

    app.add_exception_handler(RequestValidationError, _invalid)
    app.add_exception_handler(HTTPException, _of_http)


def _of_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 - it is registered for nothing else
    kind = _OF_STATUS.get(error.status_code, BAD_REQUEST)
    if kind is NOT_FOUND:
        return problem(kind, NOT_HERE)
    if kind is NO_SUCH_METHOD:
        return problem(kind, kind.title.lower(), (), {"allow": ", ".join(_methods(request))})
    detail = plain(str(error.detail))
    return problem(kind, detail, [(WHOLE_BODY, detail)] if kind is TOO_LARGE else (), error.headers)


def _methods(request: Request) -> list[str]:
    """Name every method that an address takes, whichever route takes it."""
    fitting = (route for route in request.app.routes if route.matches(request.scope)[0] is not Match.NONE)
    return sorted({method for route in fitting for method in route.methods})


_PLACES = {"body": "", "path": "path/", "query": "query/", "header": "header/"}


def _invalid(_: Request, error: Exception) -> Response:
    """Point at every place; what was sent is not repeated, since it may hold anything."""
    assert isinstance(error, RequestValidationError)  # noqa: S101 - it is registered for nothing else
    faults = []
    for fault in error.errors():
        place, *path = fault["loc"]
        steps = [str(step).replace("~", "~0").replace("/", "~1") for step in path]
        pointer = "/" + _PLACES.get(str(place), "") + "/".join(steps)
        faults.append((_sendable(pointer).rstrip("/"), _sendable(str(fault["msg"]))))
    return problem(INVALID, f"{len(faults)} to mend", faults)


def _sendable(text: str) -> str:
    return plain(text.encode("ascii", "backslashreplace").decode())[:300]
