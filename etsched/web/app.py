"""The app: every route under one roof, and what it says of itself."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from etsched import __version__
from etsched.model.access import Holder
from etsched.usecases.try_limit import TryLimit
from etsched.web import applied, calendar, health, pages, plans, problems, sites, visits, webhooks
from etsched.web.cache import Remembered
from etsched.web.examples import with_examples
from etsched.web.front import Front
from etsched.web.limits import Limits
from etsched.web.metrics import Metrics

if TYPE_CHECKING:
    from etsched.usecases.service import Service

_MOST_HOLDERS = 10_000  # keys that are remembered at once
_TOPICS = (sites, plans, visits, applied, webhooks, calendar, health)
_DESCRIPTION = """\
Watering plans for controllers and the people who look after them.

Every request but the public ones carries `Authorization: Bearer KEY`. A POST that writes carries `Idempotency-Key`: the
same write under the same name is done once and answered alike. PUT and DELETE need none: whoever lost the answer sends
the same again, which changes nothing more and is answered 200. With a key they are answered exactly as the first time.

What is refused comes as a problem document (RFC 9457). A query parameter that an address does not take is refused as
well. Instants are UTC where a field ends in `_utc`. Numbers are in the metric unit their field names, whatever is asked
for; beside them stand the same as readers read them, in `?units=us` or `metric`, by default in the units of the site.
Sentences that are kept stay in the units they were written in.

What runs here opens valves: whoever connects a controller keeps its own limits on run time, its rain switch and the
shut-off by hand, and follows the local rules for backflow and mains voltage.
"""


class _App(FastAPI):
    """FastAPI with the problem document and the examples in what it says of itself."""

    def openapi(self) -> dict[str, Any]:
        """Write the OpenAPI document once."""
        if self.openapi_schema is None:
            document = get_openapi(
                title=self.title, version=self.version, description=self.description, routes=self.routes
            )
            schemas = document["components"]["schemas"]
            for model in (problems.ProblemOut, problems.PointerOut):
                schemas[model.__name__] = model.model_json_schema(ref_template="#/components/schemas/{model}")
                schemas[model.__name__].pop("$defs", None)
            _require_idempotency_keys(document)
            self.openapi_schema = with_examples(document)
        return self.openapi_schema


def _require_idempotency_keys(document: dict[str, Any]) -> None:
    """Say that a POST must have one; its absence is a problem of its own and no fault of form, so FastAPI cannot."""
    posts = (operations["post"] for operations in document["paths"].values() if "post" in operations)
    for header in (each for post in posts for each in post["parameters"] if each["name"] == "idempotency-key"):
        header["required"] = True


def make_app(service: Service, limits: Limits | None = None) -> FastAPI:
    """Put the app together; `limits` are the deployment's."""
    allowed = limits or Limits(requests_a_minute=service.settings.web.requests_a_minute)
    app = _routed()
    pages.mount(app)
    app.state.service = service
    app.state.metrics = Metrics()
    app.state.tries = TryLimit(allowed.failed_tries_a_minute, timedelta(minutes=1))
    app.state.holders = Remembered[bytes, Holder](_MOST_HOLDERS, allowed.cache_s)
    app.add_middleware(Front, service.database, allowed, app.state.metrics)
    return app


def openapi_document() -> dict[str, Any]:
    """Write what every app says of itself, as `config/openapi.json` holds it."""
    return _routed().openapi()


def _routed() -> _App:
    app = _App(
        title="etsched",
        version=__version__,
        description=_DESCRIPTION,
        docs_url=None,
        redoc_url=None,
        openapi_url="/openapi.json",
    )
    problems.install(app)
    for topic in _TOPICS:
        app.router.routes.extend(topic.router.routes)  # flat, so that whoever walks them sees them all
    return app
