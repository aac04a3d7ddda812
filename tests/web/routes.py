"""Every route of the router as requests that reach it, so that no test forgets one."""

from dataclasses import dataclass

from fastapi.routing import APIRoute

from etsched.web.access import _Needs
from etsched.web.examples import EXAMPLES

PARTS = {"terminal": "1", "token": "A" * 43, **dict.fromkeys(("visit", "webhook", "event", "calendar"), "0" * 8)}


@dataclass(frozen=True)
class Reached:
    """A route: its method, its pattern, the scopes that its dependencies declare."""

    method: str
    path: str
    scopes: tuple

    def at(self, site):
        """The address for a property."""
        return self.path.format(site=site, **PARTS)

    @property
    def body(self):
        """What fits, where it wants a body."""
        return EXAMPLES.get((self.method.lower(), self.path))


def scopes_of(dependant):
    own = [dependant.call.scope] if isinstance(dependant.call, _Needs) else []
    return own + [scope for below in dependant.dependencies for scope in scopes_of(below)]


def reached(app):
    """Walk the router."""
    routes = [route for route in app.routes if isinstance(route, APIRoute)]
    return [
        Reached(method, route.path, tuple(scopes_of(route.dependant)))
        for route in routes
        for method in sorted(route.methods)
    ]
