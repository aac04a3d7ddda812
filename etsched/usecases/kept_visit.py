"""What a visit of a kept property comes to, before it is recorded or after; nothing is written."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.documents.visit_file import parse_visit
from etsched.errors import NotKept
from etsched.model.service import Supposing
from etsched.planning.visit_evaluation import VisitCase, evaluate
from etsched.planning.week import Earlier
from etsched.stores import visits
from etsched.usecases.books import read_books
from etsched.usecases.properties import get_site, site_of

if TYPE_CHECKING:
    from datetime import date

    from etsched.model.service import KeptVisit
    from etsched.model.visit import Visit
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.usecases.service import Service


def today_at(service: Service, key: str) -> date:
    """Give the date at a property. Raises NotKept."""
    return service.clock.today(site_of(get_site(service, key)).place.zone)


def read_record(service: Service, key: str, document: str) -> Visit:
    """Read a record as it would be kept. Raises NotKept, VisitRefused."""
    site = site_of(get_site(service, key))
    return parse_visit(document, "visit", site, service.clock.today(site.place.zone))


def judged(service: Service, key: str, visit: Visit) -> VisitOutcome:
    """Judge a visit after those before it; its week begins on the day after it. Raises NotKept, PlanRefused."""
    first_day = visit.day + timedelta(days=1)
    books = read_books(service, key, first_day)
    earlier = Earlier(books.balances[Supposing.REPORTED], dict(books.ran[Supposing.REPORTED]))
    before = tuple(each for each in books.visits if each.day < visit.day)
    return evaluate(VisitCase(books.site, visit, books.weather, first_day, earlier, before))


def find_visit(service: Service, key: str, visit: str) -> KeptVisit:
    """Give a visit that is kept of a property. Raises NotKept."""
    with service.database.reading() as reading:
        kept = visits.find_visit(reading, visit)
    if kept is None or kept.site != key:
        raise NotKept(f"no such visit of {key} is kept")
    return kept
