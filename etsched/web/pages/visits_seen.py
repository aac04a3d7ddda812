"""Which visits of a property are kept, and which of them a plan does not know yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.days import day_in_full
from etsched.stores import visits

if TYPE_CHECKING:
    from etsched.model.service import KeptPlan
    from etsched.web.pages.security import Asked


@dataclass(frozen=True, slots=True)
class VisitSeen:
    """One visit in a list; `newer` says that it was recorded after the plan was made."""

    visit: str
    day: str
    newer: bool


def visits_seen(asked: Asked, plan: KeptPlan) -> tuple[VisitSeen, ...]:
    """Give the visits, the last first."""
    with asked.service.database.reading() as reading:
        kept = visits.visits_of(reading, asked.site)
    return tuple(VisitSeen(each.visit, day_in_full(each.day), plan.at < each.at) for each in reversed(kept))
