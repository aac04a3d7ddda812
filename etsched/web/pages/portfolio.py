"""All properties by how urgent they are, a page at a time."""

from __future__ import annotations

from fastapi import Response

from etsched.usecases.portfolio import standings
from etsched.web.pages.security import Asked, Page

_A_PAGE = 50


def show(asked: Asked) -> Response:
    """List the properties that the person looks after."""
    found = standings(asked.service, asked.holder.sites, asked.request.app.state.weeks_in_short)
    last = max(1, -(-len(found) // _A_PAGE))
    number = min(_number(asked.request.query_params.get("page", "1")), last)
    shown = found[(number - 1) * _A_PAGE : number * _A_PAGE]
    return asked.page("portfolio.html.j2", standings=shown, count=len(found), number=number, last=last)


def _number(text: str) -> int:
    return max(1, int(text)) if text.isascii() and text.isdigit() and len(text) < 8 else 1


PAGES = (Page("/", show),)
