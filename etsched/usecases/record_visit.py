"""Visits that the service keeps: the record as it was given, checked, and what it establishes; and taken back."""

from __future__ import annotations

import json
import uuid
from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING

from etsched.days import day_in_full
from etsched.errors import NotKept, Problem, VisitRefused
from etsched.model.service import KeptVisit
from etsched.planning.findings import found_by
from etsched.planning.visit_evaluation import after_visits
from etsched.planning.week import Earlier
from etsched.stores import sites, trail, visits, water
from etsched.usecases.books import read_visits
from etsched.usecases.kept_visit import NAME, parse_lately
from etsched.usecases.properties import site_in, site_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

    from etsched.model.finding import VisitFindings
    from etsched.model.site import Site
    from etsched.model.visit import Visit
    from etsched.usecases.service import Service

_WITHDRAWN = "visit withdrawn"
_IDS = uuid.UUID("0c9f5f0a-8f0e-4b7d-8f39-7f1f6f1d2a44")


def _never(_: KeptVisit) -> bool:
    return False


def record_visit(
    service: Service, site_key: str, document: str, actor: str, replaces: Callable[[KeptVisit], bool] = _never
) -> KeptVisit:
    """Keep the record of a visit; the same record again changes nothing.

    A property has one visit a day: another record of its day takes the place of the one that `replaces` says yes to,
    which stays in the trail. The water books of the mornings after it are reckoned anew with what it read of the soil.
    Raises NotKept, VisitRefused.
    """
    now = service.clock.now()
    with service.database.writing() as writing:
        site = site_of(site_in(writing, site_key))
        sites.hold(writing, site_key)
        visit = parse_lately(document, site, now.astimezone(site.place.zone).date())
        known = next((each for each in visits.visits_of(writing, site_key) if each.day == visit.day), None)
        if known is not None and known.document == document:
            return known
        if known is not None:
            if not replaces(known):
                raise VisitRefused([Problem(NAME, None, "date", *kept_already(visit.day))])
            visits.drop_visit(writing, known.visit)
            trail.note(writing, now, actor, "visit replaced", site_key, _recorded_as(known))
        findings = _findings(_found(writing, site_key, site, visit))
        visit_id = str(uuid.uuid5(_IDS, f"{site_key}/{visit.day}"))
        kept = KeptVisit(visit_id, site_key, visit.day, document, findings, now, actor)
        visits.put_visit(writing, kept)
        water.forget_balances(writing, site_key, visit.day)
        trail.note(writing, now, actor, "visit recorded", site_key, visit.day.isoformat())
    return kept


def withdraw_visit(service: Service, site_key: str, visit: str, actor: str) -> None:
    """Take a recorded visit back; its record stays in the trail, and the mornings after it are reckoned anew.

    Where that was done before, nothing is done. Raises NotKept where the property never had such a visit.
    """
    now = service.clock.now()
    with service.database.writing() as writing:
        site_in(writing, site_key)
        sites.hold(writing, site_key)
        kept = visits.find_visit(writing, visit)
        if kept is None and trail.is_noted_of(writing, site_key, _WITHDRAWN, visit):
            return
        if kept is None or kept.site != site_key:
            raise NotKept(f"no such visit of {site_key} is kept")
        visits.drop_visit(writing, visit)
        water.forget_balances(writing, site_key, kept.day)
        trail.note(writing, now, actor, _WITHDRAWN, site_key, _recorded_as(kept))


def kept_already(day: date) -> tuple[str, str]:
    """Say that a visit of a day is kept, and what to do about it."""
    wrong = f"a visit of {day_in_full(day)} is kept already, and a property has one visit a day"
    return wrong, "write all that was found on the day into one record, and say that it takes the place of that one"


def _recorded_as(kept: KeptVisit) -> str:
    return f"{kept.visit} of {kept.day}, recorded as:\n{kept.document}"


def _found(reading: Connection, key: str, site: Site, visit: Visit) -> VisitFindings:
    """Judge a visit by the site as the visits before it found it."""
    records = [(each.day, each.document) for each in visits.visits_of(reading, key) if each.day < visit.day]
    before, _ = read_visits(site, records)
    known, _ = after_visits(site, before, Earlier())
    return found_by(known, visit).findings


def _findings(found: VisitFindings) -> str:
    return json.dumps(asdict(found), sort_keys=True, ensure_ascii=False, default=date.isoformat)
