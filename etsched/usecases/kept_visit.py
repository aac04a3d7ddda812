"""What a visit of a kept property comes to, before it is recorded or after; nothing is written."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.days import day_in_full
from etsched.documents.visit_file import parse_visit
from etsched.errors import NotKept, Problem, VisitRefused
from etsched.model.service import Supposing
from etsched.planning.visit_evaluation import VisitCase, evaluate
from etsched.planning.week import Earlier
from etsched.stores import visits
from etsched.usecases.books import read_books
from etsched.usecases.properties import get_site, site_of

if TYPE_CHECKING:
    from datetime import date

    from etsched.model.service import KeptVisit
    from etsched.model.site import Site
    from etsched.model.visit import Visit
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.usecases.service import Service

# A visit further back than so many days is taken for a slip of the date (common practice, no source): its cores tell
# nothing of tonight's water, and a mistyped year would bear on every visit after it.
MOST_BACK_D = 60
NAME = "visit"  # what problems call the record


def today_at(service: Service, key: str) -> date:
    """Give the date at a property. Raises NotKept."""
    return service.clock.today(site_of(get_site(service, key)).place.zone)


def read_record(service: Service, key: str, document: str) -> Visit:
    """Read a record as it would be kept. Raises NotKept, VisitRefused."""
    site = site_of(get_site(service, key))
    return parse_lately(document, site, service.clock.today(site.place.zone))


def parse_lately(document: str, site: Site, today: date) -> Visit:
    """Read a record of one of the last days. Raises VisitRefused, also where its day is too long ago."""
    visit = parse_visit(document, NAME, site, today)
    oldest = today - timedelta(days=MOST_BACK_D)
    if visit.day < oldest:
        wrong = f"{day_in_full(visit.day)} is more than {MOST_BACK_D} days ago"
        remedy = f"correct the date and its year; a visit is recorded from {day_in_full(oldest)} on"
        raise VisitRefused([Problem(NAME, None, "date", wrong, remedy)])
    return visit


def kept_record(service: Service, visit: KeptVisit) -> Visit:
    """Read a record again that is kept, however long ago it was. Raises NotKept, VisitRefused."""
    return parse_visit(visit.document, NAME, site_of(get_site(service, visit.site)), visit.day)


def judged(service: Service, key: str, visit: Visit) -> VisitOutcome:
    """Judge a visit after those before it; its week begins on the day after it. Raises NotKept, PlanRefused."""
    first_day = visit.day + timedelta(days=1)
    books = read_books(service, key, first_day)
    known = books.balances[Supposing.REPORTED]
    known = None if known is None or known.morning < books.days.first else known
    earlier = Earlier(known, dict(books.ran[Supposing.REPORTED]))
    before = tuple(each for each in books.visits if each.day < visit.day)
    return evaluate(VisitCase(books.site, visit, books.weather, first_day, earlier, before, forgets=True))


def find_visit(service: Service, key: str, visit: str) -> KeptVisit:
    """Give a visit that is kept of a property. Raises NotKept."""
    with service.database.reading() as reading:
        kept = visits.find_visit(reading, visit)
    if kept is None or kept.site != key:
        raise NotKept(f"no such visit of {key} is kept")
    return kept
