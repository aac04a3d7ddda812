"""An address with nothing under it: people get a page with a way on, programs their problem document."""

from __future__ import annotations

from typing import TYPE_CHECKING

from starlette.exceptions import HTTPException
from starlette.routing import Match

from etsched.web.pages import session
from etsched.web.pages.security import Asked, PageRoute, guarded, refusal
from etsched.web.problems import NO_SUCH_METHOD, NOT_FOUND

if TYPE_CHECKING:
    from fastapi import FastAPI, Request, Response

_OF_PROGRAMS = "/v1/"
_NOTHING = "There is nothing under this address. It may be mistyped, or of another version of this service."
_NO_PAGE = "This address takes what a form sends and shows nothing by itself. Go back, or on from here."


def install(app: FastAPI) -> None:
    """Answer people where no route does."""
    of_programs = app.exception_handlers[HTTPException]

    def lost(request: Request, error: Exception) -> Response:
        status = getattr(error, "status_code", 0)
        if status == NOT_FOUND.status and not f"{request.url.path}/".startswith(_OF_PROGRAMS):
            return guarded(refusal(_asked(request), NOT_FOUND, (_NOTHING,)))
        methods = _of_pages(request) if status == NO_SUCH_METHOD.status else set()
        if methods:
            page = guarded(refusal(_asked(request), NO_SUCH_METHOD, (_NO_PAGE,)))
            page.headers["allow"] = ", ".join(sorted(methods))
            return page
        answer: Response = of_programs(request, error)  # type: ignore[assignment]
        return answer

    app.add_exception_handler(HTTPException, lost)


def _asked(request: Request) -> Asked:
    service = request.app.state.service
    return Asked(request, service, session.holder_of(request, service) or session.NOBODY, {})


def _of_pages(request: Request) -> set[str]:
    """Give the methods that the pages take under an address; nothing where it is none of theirs."""
    routes = [route for route in request.app.routes if isinstance(route, PageRoute)]
    fitting = (route for route in routes if route.matches(request.scope)[0] is not Match.NONE)
    return {method for route in fitting for method in route.methods or ()}
