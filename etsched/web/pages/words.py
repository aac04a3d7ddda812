"""What the words on the pages mean."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.reference.words import word_groups
from etsched.web.pages.security import Asked, Page

if TYPE_CHECKING:
    from fastapi import Response


def show(asked: Asked) -> Response:
    """List every word with its meaning."""
    return asked.page("words.html.j2", groups=word_groups())


PAGES = (Page("/words", show),)
