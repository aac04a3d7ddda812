"""Who asks: a bearer key, the scope that a route wants, and the properties that the key reaches."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from hashlib import sha256
from typing import Annotated

from fastapi import Depends, Request, Security
from fastapi.security import HTTPAuthorizationCredentials, HTTPBearer
from starlette.concurrency import run_in_threadpool

from etsched.errors import AccessRefused
from etsched.model.access import Holder, Scope
from etsched.usecases.access import who
from etsched.usecases.service import Service
from etsched.web.cache import Moment, Remembered
from etsched.web.problems import NOT_ALLOWED, TOO_MANY, Refused, not_found
from etsched.web.queries import check_query

# Open to everybody: whether it runs, what it offers, and a calendar whose address is the secret.
PUBLIC = frozenset({"/health", "/ready", "/openapi.json", "/calendar/{token}.ics"})
_BEARER = HTTPBearer(auto_error=False, description="A key of `etsched key create`.")


async def service_of(request: Request) -> Service:
    """Give what the use cases work with; it is async so that no thread is called for it."""
    service: Service = request.app.state.service
    return service


Serving = Annotated[Service, Depends(service_of)]


def address_of(request: Request) -> str:
    """Name where a request comes from."""
    return request.client.host if request.client else "nowhere"


class _Needs:
    """The dependency of a route; the walk over the router reads `scope` off it."""

    def __init__(self, scope: Scope) -> None:
        self.scope = scope

    async def __call__(
        self,
        request: Request,
        service: Serving,
        given: Annotated[HTTPAuthorizationCredentials | None, Security(_BEARER)],
    ) -> Holder:
        holder = await _holder(request, service, given.credentials if given else "")
        if self.scope not in holder.scopes:
            raise Refused(NOT_ALLOWED, f'this needs a key with the scope "{self.scope}"')
        site = request.path_params.get("site")
        if site is not None and holder.sites is not None and site not in holder.sites:
            raise not_found()
        check_query(request)
        return holder


async def _holder(request: Request, service: Service, secret: str) -> Holder:
    """Tell who asks; whom a key lets in is remembered for a moment, under its digest."""
    holders: Remembered[bytes, Holder] = request.app.state.holders
    name = sha256(secret.encode("utf-8", "surrogatepass")).digest()
    now = Moment.after(service.database.commits_count)
    holder = holders.get(name, now)
    if holder is None:
        holder = await run_in_threadpool(_let_in, request, service, secret)
        holders.put(name, holder, now)
    return holder


def _let_in(request: Request, service: Service, secret: str) -> Holder:
    tries, now, address = request.app.state.tries, service.clock.now(), address_of(request)
    if wait_s := tries.wait_s(address, now):
        raise Refused(TOO_MANY, f"too many wrong keys; wait {wait_s} s", headers={"retry-after": str(wait_s)})
    try:
        return who(service.database, now, secret)
    except AccessRefused:
        tries.failed(address, now)
        raise


def needs(scope: Scope) -> Callable[..., Awaitable[Holder]]:
    """Say which scope a route wants; a foreign property is not there at all."""
    return _Needs(scope)


Reader = Annotated[Holder, Depends(needs(Scope.READ))]
Reporter = Annotated[Holder, Depends(needs(Scope.REPORT))]
Visitor = Annotated[Holder, Depends(needs(Scope.VISIT))]
Manager = Annotated[Holder, Depends(needs(Scope.MANAGE))]
