"""What every weather feed is asked, and where it is asked."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    from etsched.model.site import Place


@dataclass(frozen=True, slots=True)
class FeedAsk:
    """The local days `first` to `last` of a place, asked for on `today`; `station` where the feed has stations."""

    place: Place
    first: date
    last: date
    today: date
    station: str = ""


@dataclass(frozen=True, slots=True)
class FeedHost:
    """Where a feed answers, the key it may want, and whom its provider may write to."""

    base_url: str
    api_key: str = field(default="", repr=False)
    contact: str = ""
