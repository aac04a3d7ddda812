"""The pages that people look at, set on the server; what a browser's script adds to them they do without."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.usecases.portfolio import WeeksInShort
from etsched.web.pages import (
    door,
    downloads,
    heat,
    keyed_in,
    look,
    lost,
    portfolio,
    sign_in,
    visit,
    visit_report,
    water,
    week,
    why,
    words,
)
from etsched.web.pages.security import Page, PageRoute

if TYPE_CHECKING:
    from fastapi import FastAPI

_TOPICS = (sign_in, portfolio, week, keyed_in, downloads, why, water, door, visit, visit_report, heat, words)
PAGES: tuple[Page, ...] = tuple(page for topic in _TOPICS for page in topic.PAGES)


def mount(app: FastAPI) -> None:
    """Add the pages to the app."""
    app.state.weeks_in_short = WeeksInShort()
    app.router.routes.extend([*look.static_routes(), *(PageRoute(page) for page in PAGES)])
    lost.install(app)
