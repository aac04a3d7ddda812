"""The trail of who changed what: it only grows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import TrailEntry
from etsched.stores.schema import trail

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection


def note(writing: Connection, at: datetime, actor: str, did: str, site: str | None = None, detail: str = "") -> None:
    """Add one entry; it stands or falls with the change it speaks of."""
    writing.execute(sa.insert(trail).values(at=at, actor=actor, did=did, site=site, detail=detail))


def entries(reading: Connection, site: str | None = None, after: int = 0, most: int = 100) -> list[TrailEntry]:
    """Give entries in order, of one site where one is named, from the one after a number on."""
    query = sa.select(trail).where(trail.c.entry > after).order_by(trail.c.entry).limit(most)
    if site is not None:
        query = query.where(trail.c.site == site)
    return [TrailEntry(**row) for row in reading.execute(query).mappings()]


def is_noted(reading: Connection, site: str, did: str, detail: str) -> bool:
    """Say whether a site's trail holds an entry of these words."""
    query = sa.select(trail.c.entry).where(trail.c.site == site, trail.c.did == did, trail.c.detail == detail)
    return reading.execute(query.limit(1)).first() is not None


def is_noted_of(reading: Connection, site: str, did: str, what: str) -> bool:
    """Say whether a site's trail holds an entry whose detail begins with a word."""
    begins = trail.c.detail.startswith(f"{what} ", autoescape=True)
    query = sa.select(trail.c.entry).where(trail.c.site == site, trail.c.did == did, begins)
    return reading.execute(query.limit(1)).first() is not None


def last_entry(reading: Connection, site: str) -> int:
    """Give the number of a site's last entry, by which a later look can tell that something changed; 0 before any."""
    return reading.execute(sa.select(sa.func.max(trail.c.entry)).where(trail.c.site == site)).scalar() or 0
