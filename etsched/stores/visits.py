"""Records of visits as they were given, with what they establish."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import KeptVisit
from etsched.stores.schema import visits

if TYPE_CHECKING:
    from sqlalchemy import Connection


def put_visit(writing: Connection, visit: KeptVisit) -> None:
    """Keep a visit; a site has one a day."""
    writing.execute(sa.insert(visits).values(**asdict(visit)))


def visits_of(reading: Connection, site: str) -> list[KeptVisit]:
    """Give a site's visits in order of day."""
    query = sa.select(visits).where(visits.c.site == site).order_by(visits.c.day)
    return [KeptVisit(**row) for row in reading.execute(query).mappings()]


def find_visit(reading: Connection, visit: str) -> KeptVisit | None:
    """Give one visit; None where there is none."""
    row = reading.execute(sa.select(visits).where(visits.c.visit == visit)).mappings().first()
    return None if row is None else KeptVisit(**row)
