"""Parameters that an address does not take are refused, so that none is passed over in silence."""

from __future__ import annotations

from fastapi import Request
from fastapi.exceptions import RequestValidationError


def check_query(request: Request) -> None:
    """Refuse what the OpenAPI document does not name for the route. Raises RequestValidationError."""
    if not request.query_params:
        return
    paths = request.app.openapi()["paths"]
    operation = paths[request.scope["route"].path][request.method.lower()]
    taken = [each["name"] for each in operation.get("parameters", ()) if each["in"] == "query"]
    unknown = sorted(set(request.query_params) - set(taken))
    if unknown:
        words = f"this address does not take it; it takes {' and '.join(taken) or 'none'}"
        raise RequestValidationError([{"loc": ("query", name), "msg": words} for name in unknown[:_MOST_TOLD]])


_MOST_TOLD = 20
