"""How pages are set: their templates, and the files of their look under addresses that change with their content."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from importlib.resources import files

from fastapi import Request, Response
from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware
from starlette.routing import Route

_TYPES = {"css": "text/css", "js": "text/javascript", "svg": "image/svg+xml"}
# A worker rules over the addresses below its own, and a browser looks for a newer one under the address it knows.
_WORKER = "worker.js"
_OF_WORKER = {"cache-control": "no-cache", "content-security-policy": "default-src 'none'; connect-src 'self'"}
# The printed sheets' own styles come first: the pages are of their family.
_SHEETS = ("sheet.css", "week.css", "clock.css")
_STYLE = "etsched.css"
# A table of forty stations weighs a tenth so; level 6 is zlib's own balance of time and size.
COMPRESSED = (Middleware(GZipMiddleware, compresslevel=6),)


@cache
def environment() -> Environment:
    """Give what sets every page: escaping on, a missing value an error, the printed sheets' parts at hand."""
    made = Environment(
        loader=ChoiceLoader([PackageLoader("etsched.web", "templates"), PackageLoader("etsched.reports", "templates")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["static"] = static_address
    return made


def render(template: str, values: Mapping[str, object]) -> str:
    """Write a page."""
    return environment().get_template(template).render(values)


@cache
def _content(name: str) -> bytes | None:
    """Give a file by its name, `etsched.css` with the sheets' styles before it; None where there is none."""
    found = {each.name: each for each in files("etsched.web").joinpath("static").iterdir()}.get(name)
    if found is None:
        return None
    own = found.read_text("utf-8")
    if name == _STYLE:
        sheets = [environment().get_template(each).render(sheet="portrait") for each in _SHEETS]
        own = "\n".join([*sheets, own])
    return own.encode()


@cache
def static_address(name: str) -> str:
    """Give the address of a file; its digest is in it, so that a browser may keep it for good."""
    content = _content(name)
    if content is None:
        raise KeyError(name)
    stem, _, kind = name.rpartition(".")
    return f"/static/{stem}-{sha256(content).hexdigest()[:16]}.{kind}"


async def _static(request: Request) -> Response:
    asked = str(request.path_params["name"])
    stem, _, kind = asked.rpartition(".")
    name = f"{stem.rpartition('-')[0]}.{kind}"
    content = _content(name) if kind in _TYPES else None
    if content is None or request.url.path != static_address(name):
        return Response("There is no such file.", 404, media_type="text/plain")
    kept = {"cache-control": "public, max-age=31536000, immutable"}
    return Response(content, media_type=_TYPES[kind], headers=kept)


async def _worker(_: Request) -> Response:
    return Response(_content(_WORKER), media_type=_TYPES["js"], headers=_OF_WORKER)


def static_routes() -> list[Route]:
    """Give the routes of the files, which are open to everybody."""
    return [
        Route(path, give, methods=["GET"], include_in_schema=False, middleware=COMPRESSED)
        for path, give in (("/static/{name}", _static), (f"/{_WORKER}", _worker))
    ]
