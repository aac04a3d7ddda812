"""Signing in and out."""

from __future__ import annotations

from fastapi import Response
from fastapi.responses import RedirectResponse

from etsched.errors import AccessRefused
from etsched.model.access import Scope
from etsched.usecases.access import end_session, open_session
from etsched.web.access import address_of
from etsched.web.pages import session
from etsched.web.pages.security import Asked, Page
from etsched.web.problems import TOO_MANY


def show(asked: Asked) -> Response:
    """Ask for name and password."""
    return _form(asked, asked.request.query_params.get("to", "/"))


def sign_in(asked: Asked) -> Response:
    """Let a person in, or say that name and password do not fit; tries are counted by address."""
    tries, now, address = asked.request.app.state.tries, asked.service.clock.now(), address_of(asked.request)
    name, to = asked.form.get("name", "").strip().lower(), asked.form.get("to", "/")
    if wait_s := tries.wait_s(address, now):
        words = f"There were too many tries. Wait {wait_s} seconds, then try again."
        refused = _form(asked, to, name, words, TOO_MANY.status)
        refused.headers["retry-after"] = str(wait_s)
        return refused
    try:
        token = open_session(asked.service.database, now, name, asked.form.get("password", ""))
    except AccessRefused:
        tries.failed(address, now)
        words = "Name and password do not fit together, or the account is closed. Check both and try again."
        return _form(asked, to, name, words, 403)
    response = RedirectResponse(session.own_address(to), 303)
    session.keep_session(response, asked.request, token)
    return response


def sign_out(asked: Asked) -> Response:
    """Let a person out."""
    end_session(asked.service.database, asked.service.clock.now(), session.token_in(asked.request))
    response = RedirectResponse("/sign-in", 303)
    session.drop_session(response)
    return response


def _form(asked: Asked, to: str, name: str = "", wrong: str = "", status: int = 200) -> Response:
    return asked.page("sign_in.html.j2", status, to=session.own_address(to), name=name, wrong=wrong)


PAGES = (
    Page("/sign-in", show, None),
    Page("/sign-in", sign_in, None, "POST"),
    Page("/sign-out", sign_out, Scope.READ, "POST"),
)
