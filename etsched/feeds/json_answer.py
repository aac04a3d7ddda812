"""An answer in JSON taken apart: what is no JSON, and what has another form than the feed promises."""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING

from etsched.errors import FeedFailed, FeedRefused

if TYPE_CHECKING:
    from etsched.http_client import RawBody

_BEYOND_ALL_MEASURE = 1e300  # JSON may hold numbers that no float does


def json_of(raw: RawBody) -> object:
    """Read an answer's JSON.

    Raises
    ------
    FeedRefused
        Where it is a page for people.
    FeedFailed
        Where it is no JSON, as when it was cut short.
    """
    if raw.body.lstrip()[:1] == b"<":
        raise FeedRefused("it answers with a web page, not with data")
    try:
        return json.loads(raw.body, parse_constant=_no_number)
    except (ValueError, RecursionError):
        raise FeedFailed("it sends something that is no JSON, or only the beginning of it") from None


def _no_number(word: str) -> float:
    raise ValueError(word)  # JSON has neither NaN nor Infinity


def part(answer: object, *keys: str) -> object:
    """Give what stands under keys inside each other. Raises FeedRefused where there is nothing."""
    found = answer
    for key in keys:
        found = table(found, key).get(key)
        if found is None:
            raise other_form(f"there is no {'.'.join(keys)}")
    return found


def table(value: object, what: str) -> dict[str, object]:
    """Give an object of an answer. Raises FeedRefused where it is none."""
    if not isinstance(value, dict):
        raise other_form(f"{what} is not where it should be")
    return value


def number(value: object, what: str) -> float:
    """Give a number of an answer. Raises FeedRefused where it is none."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        try:
            if math.isfinite(found := float(value)):
                return found
        except OverflowError:  # a whole number of hundreds of digits
            pass
    raise other_form(f"{what} is no number")


def other_form(wrong: str) -> FeedRefused:
    """Give the refusal of an answer that is not made as its feed promises."""
    return FeedRefused(f"its answer has another form than promised: {wrong}")
