"""What the words on the pages mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.errors import NotKept
from etsched.reference.words import word_groups
from etsched.usecases.properties import get_site
from etsched.web.pages.security import Asked, Page

if TYPE_CHECKING:
    from fastapi import Response


def show(asked: Asked) -> Response:
    """List every word with its meaning, and lead back to the property that one came from."""
    return asked.page("words.html.j2", groups=word_groups(), site=_came_from(asked))


def _came_from(asked: Asked) -> str:
    """Give the property in the address, nothing where the person has none of that name."""
    site = asked.request.query_params.get("from", "")
    if asked.holder.sites is not None and site not in asked.holder.sites:
        return ""
    try:
        return get_site(asked.service, site).site
    except NotKept:
        return ""


PAGES = (Page("/words", show),)
