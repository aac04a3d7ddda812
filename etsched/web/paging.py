"""Long lists a page at a time: `most` says how long it may be, `after` where it goes on, Link where the next one is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, TypeVar

from fastapi import Query, Request, Response

from etsched.web.conditional import answer
from etsched.web.problems import INVALID, Refused

T = TypeVar("T")
PAGED_WORDS = "A page at a time: while more may follow, the header Link names the next page with rel=next."
LAST = "The last one of the page before."
Most = Annotated[int, Query(ge=1, le=200, description="How many at most.")]
AfterId = Annotated[str | None, Query(pattern=r"^[0-9a-f-]{8,36}$", description=LAST)]


def paged(request: Request, document: dict[str, Any], last: object, *, full: bool) -> Response:
    """Answer a page, and say where the next one is where this one is full."""
    if not full:
        return answer(request, document)
    following = request.url.include_query_params(after=last)
    return answer(request, document, headers={"link": f'<{following.path}?{following.query}>; rel="next"'})


def place_of(after: str | None, find: Callable[[str], T | None]) -> T | None:
    """Find the last one of the page before; None for the first page.

    Raises Refused where it is not in the list, since an empty page would pass for its end.
    """
    if after is None:
        return None
    found = find(after)
    if found is None:
        wrong = "it names none of this list; begin again without it"
        raise Refused(INVALID, "1 to mend", [("/query/after", wrong)])
    return found
