"""What every page passes: who looks, what they may do, whose form it is, and headers that keep strangers out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl

from fastapi import Request, Response
from fastapi.responses import RedirectResponse
from sqlalchemy.exc import IntegrityError
from starlette.concurrency import run_in_threadpool
from starlette.routing import Route

from etsched.errors import EtschedError, InputRefused, NoPlanYet
from etsched.model.access import Holder, Scope
from etsched.tables.figure import plain
from etsched.usecases.first_plan import first_plan
from etsched.web.pages import look, session
from etsched.web.problems import BAD_REQUEST, CONFLICT, NOT_ALLOWED, NOT_FOUND, Kind, Refused, kind_of, tell_operator

if TYPE_CHECKING:
    from etsched.usecases.service import Service

POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    # Not "no-referrer": a browser then hides where its own forms come from, and that is checked.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "private, no-store",
}
_FORM = "application/x-www-form-urlencoded"
_MOST_FIELDS = 5000  # a record of a visit has hundreds
_NOT_HERE = "There is nothing under this address, or it is not one of your properties."


@dataclass(frozen=True, slots=True)
class Asked:
    """A page that somebody asks for, after all checks."""

    request: Request
    service: Service
    holder: Holder
    form: Mapping[str, str]  # of a POST; the last of fields of one name

    @property
    def site(self) -> str:
        """The short name of the property in the address."""
        return str(self.request.path_params["site"])

    def may(self, scope: Scope) -> bool:
        """Say whether the person may do a thing, so that a page offers no button that refuses."""
        return scope in self.holder.scopes

    def page(self, template: str, status: int = 200, **values: object) -> Response:
        """Write a page."""
        session_token = session.token_in(self.request)
        about = {
            "person": session.name_of(self.holder),
            "form_token": session.form_token(session_token),
            "form_field": session.FORM_FIELD,
            "may": {scope.name.lower(): self.may(scope) for scope in Scope},
        }
        return Response(look.render(template, {**about, **values}), status, media_type="text/html")


@dataclass(frozen=True, slots=True)
class Page:
    """One address of the pages; `scope` is None for the few that are open to everybody."""

    path: str
    act: Callable[[Asked], Response]
    scope: Scope | None = Scope.READ
    method: str = "GET"


class PageRoute(Route):
    """A page in the router; a walk over the router reads off it what the page wants."""

    def __init__(self, page: Page) -> None:
        super().__init__(
            page.path, self._answer, methods=[page.method], include_in_schema=False, middleware=look.COMPRESSED
        )
        self.page = page

    async def _answer(self, request: Request) -> Response:
        body = await request.body() if self.page.method == "POST" else b""
        return guarded(await run_in_threadpool(self._checked, request, body))

    def _checked(self, request: Request, body: bytes) -> Response:
        service: Service = request.app.state.service
        holder = session.holder_of(request, service) if self.page.scope is not None else session.NOBODY
        if holder is None:
            return RedirectResponse(session.sign_in_address(request), 303)
        asked = Asked(request, service, holder, {})
        try:
            self._check(asked)
            form = self._form(request, body) if self.page.method == "POST" else {}
            return self._act(Asked(request, service, holder, form))
        except EtschedError as error:
            return refusal(asked, kind_of(error), _sentences(error))
        except Refused as error:
            refused = refusal(asked, error.kind, (error.detail,))
            refused.headers.update(error.headers)
            return refused
        except IntegrityError:
            return refusal(asked, CONFLICT, ("Somebody changed it at the same moment; look again and try once more.",))

    def _act(self, asked: Asked) -> Response:
        try:
            return self.page.act(asked)
        except NoPlanYet:
            # A page is there and says so; a file, which has a dot in its address, is not.
            status = NOT_FOUND.status if "." in self.page.path else 200
            return asked.page("no_plan.html.j2", status, site=asked.site, first=first_plan(asked.service, asked.site))

    def _check(self, asked: Asked) -> None:
        site = asked.request.path_params.get("site")
        if site is not None and asked.holder.sites is not None and site not in asked.holder.sites:
            raise Refused(NOT_FOUND, _NOT_HERE)
        if self.page.scope is not None and not asked.may(self.page.scope):
            raise Refused(NOT_ALLOWED, f'Your account does not allow this; it needs "{self.page.scope}".')

    def _form(self, request: Request, body: bytes) -> dict[str, str]:
        if session.is_foreign(request) or not request.headers.get("content-type", "").startswith(_FORM):
            raise Refused(NOT_ALLOWED, "This form was not sent from a page of this service; go back and send it anew.")
        try:
            form = dict(parse_qsl(body.decode(), keep_blank_values=True, max_num_fields=_MOST_FIELDS))
        except ValueError:
            raise Refused(BAD_REQUEST, "The form cannot be read; go back and send it anew.") from None
        token = session.token_in(request)
        if self.page.scope is not None and not session.is_form_token(form.pop(session.FORM_FIELD, ""), token):
            raise Refused(NOT_ALLOWED, "This form is of another session; open the page anew and send it from there.")
        return form


def _sentences(error: EtschedError) -> tuple[str, ...]:
    tell_operator(error)
    if kind_of(error) is NOT_FOUND:
        return (_NOT_HERE,)
    if isinstance(error, InputRefused):
        return tuple(plain(str(each)) for each in error.problems)
    return (plain(str(error)),)


def guarded(response: Response) -> Response:
    """Add the headers of every page where it has none of its own."""
    for name, value in HEADERS.items():
        response.headers.setdefault(name, value)
    return response


def refusal(asked: Asked, kind: Kind, sentences: tuple[str, ...]) -> Response:
    """Write a page that says what is not to be had, with a way on."""
    return asked.page("refused.html.j2", kind.status, kind=kind.title, sentences=sentences)
