"""Where weather comes from, so that every value can say so."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import datetime


@dataclass(frozen=True, slots=True)
class Origin:
    """One answer of one feed: what it is, when it was fetched and issued, and for which spot it holds.

    `measured` tells a station's measurement from a model; `attribution` must stand with every output made of it;
    `revision` counts the distinct answers of this feed for this place.
    """

    feed: str
    fetched: datetime | None
    issued: datetime | None
    measured: bool
    attribution: str
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    elevation_m: float | None = None
    revision: int = 1
