"""The clock on the wall, or a day that somebody names instead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo


@dataclass(frozen=True, slots=True)
class WallClock:
    """Today is what the site's own clock says, unless a day is named."""

    named: date | None = None

    def now(self) -> datetime:
        """Give the present instant; noon of a named day, UTC."""
        return datetime.now(UTC) if self.named is None else datetime.combine(self.named, time(12), tzinfo=UTC)

    def today(self, zone: ZoneInfo) -> date:
        """Give the local date at a site."""
        return self.named or datetime.now(zone).date()
