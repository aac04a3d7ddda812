"""What the use cases ask of the outside world, as protocols; `bootstrap` hands in the real parts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from datetime import date, datetime
    from zoneinfo import ZoneInfo


class Clock(Protocol):
    """Knows what day it is at a site; the core never asks."""

    def now(self) -> datetime:
        """Give the present instant, UTC."""
        ...

    def today(self, zone: ZoneInfo) -> date:
        """Give the local date at a site."""
        ...
