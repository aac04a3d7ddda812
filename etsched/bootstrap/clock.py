"""The clock on the wall, or a day that somebody names instead."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo


@dataclass(frozen=True, slots=True)
class WallClock:
    """Today is what the site's own clock says, unless a day is named."""

    named: date | None = None

    def today(self, zone: ZoneInfo) -> date:
        """Give the local date at a site."""
        return self.named or datetime.now(zone).date()
