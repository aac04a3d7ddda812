"""Records of visits as they were given, with what they establish."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import KeptVisit
from etsched.stores.schema import visits

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy import Connection


def put_visit(writing: Connection, visit: KeptVisit) -> None:
    """Keep a visit; a site has one a day."""
    writing.execute(sa.insert(visits).values(**asdict(visit)))


def drop_visit(writing: Connection, visit: str) -> None:
    """Keep a visit no longer."""
    writing.execute(sa.delete(visits).where(visits.c.visit == visit))


def visits_of(
    reading: Connection, site: str, after: date | None = None, most: int | None = None
) -> list[KeptVisit]:
    """Give a site's visits in order of day: all, or so many at most after a day."""
    later = sa.true() if after is None else visits.c.day > after
    query = sa.select(visits).where(visits.c.site == site, later).order_by(visits.c.day).limit(most)
    return [KeptVisit(**row) for row in reading.execute(query).mappings()]


def last_recorded(reading: Connection) -> dict[str, tuple[date, datetime]]:
    """Give by its short name the day of the visit that was recorded last of every property, and when that was."""
    last = sa.select(visits.c.site, sa.func.max(visits.c.at).label("at")).group_by(visits.c.site).subquery()
    same = sa.and_(visits.c.site == last.c.site, visits.c.at == last.c.at)
    query = sa.select(visits.c.site, visits.c.day, visits.c.at).join(last, same)
    return {site: (day, at) for site, day, at in reading.execute(query)}


def find_visit(reading: Connection, visit: str) -> KeptVisit | None:
    """Give one visit; None where there is none."""
    row = reading.execute(sa.select(visits).where(visits.c.visit == visit)).mappings().first()
    return None if row is None else KeptVisit(**row)
