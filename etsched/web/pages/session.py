"""Who looks at a page: the session in a cookie, and the token that every form of that session carries."""

from __future__ import annotations

import hmac
import secrets
from hashlib import sha256
from typing import TYPE_CHECKING
from urllib.parse import quote, urlsplit

from etsched.errors import AccessRefused
from etsched.model.access import Holder
from etsched.usecases.access import SESSION, who

if TYPE_CHECKING:
    from fastapi import Request, Response

    from etsched.usecases.service import Service

COOKIE = "etsched_session"
FORM_FIELD = "form_token"
NOBODY = Holder("nobody", frozenset(), frozenset())
_PERSON = "user "
_SALT_DIGITS = 32
_THIS_MACHINE = frozenset({"127.0.0.1", "localhost", "::1"})


def holder_of(request: Request, service: Service) -> Holder | None:
    """Give the person whose session the cookie names; None where it is none, or over."""
    try:
        holder = who(service.database, service.clock.now(), token_in(request))
    except AccessRefused:
        return None
    # A key of a program opens no page, even where somebody puts it into the cookie.
    return holder if holder.actor.startswith(_PERSON) else None


def name_of(holder: Holder) -> str:
    """Give the name that a person signs in with; nothing for nobody."""
    return holder.actor.removeprefix(_PERSON) if holder is not NOBODY else ""


def token_in(request: Request) -> str:
    """Give what the cookie holds."""
    return request.cookies.get(COOKIE, "")


def form_token(session_token: str) -> str:
    """Give a token of a session's forms: it cannot be made without the session and does not tell it.

    No page has the one of another: pages are compressed, and the lengths of many would tell what stays the same.
    """
    return _signed(secrets.token_hex(_SALT_DIGITS // 2), session_token)


def is_form_token(given: str, session_token: str) -> bool:
    """Say whether a form came from a page of the session."""
    expected = _signed(given[:_SALT_DIGITS], session_token)
    return hmac.compare_digest(_bytes(given), _bytes(expected))


def _signed(salt: str, session_token: str) -> str:
    return salt + hmac.new(_bytes(session_token), b"a form of etsched " + _bytes(salt), sha256).hexdigest()


def _bytes(text: str) -> bytes:
    return text.encode("utf-8", "surrogatepass")


def is_foreign(request: Request) -> bool:
    """Say whether a browser sent a form from a page of somebody else; that holds before any session too."""
    if request.headers.get("sec-fetch-site", "same-origin") in {"cross-site", "same-site"}:
        return True
    origin = request.headers.get("origin")
    return origin is not None and urlsplit(origin).netloc != request.headers.get("host", "")


def keep_session(response: Response, request: Request, token: str) -> None:
    """Hand the session to the browser. Over plain HTTP it goes to this very machine only."""
    response.set_cookie(
        COOKIE,
        token,
        max_age=int(SESSION.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=request.url.hostname not in _THIS_MACHINE,
    )


def drop_session(response: Response) -> None:
    """Take the session out of the browser."""
    response.delete_cookie(COOKIE)


def sign_in_address(request: Request) -> str:
    """Give where to sign in so as to come back here."""
    return f"/sign-in?to={quote(request.url.path, safe='')}" if request.url.path != "/" else "/sign-in"


def own_address(given: str) -> str:
    """Give an address of this service, and the first page for whatever else somebody put there."""
    fits = given.startswith("/") and not given.startswith("//") and "\\" not in given and given.isprintable()
    return given if fits else "/"
