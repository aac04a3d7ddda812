"""Properties and the revisions of their site files."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.service import KeptSite
from etsched.stores.schema import site_revisions, sites

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from sqlalchemy import Connection

_KEPT = sa.select(
    sites.c.site, sites.c.name, sites.c.zone, sites.c.revision, site_revisions.c.document, sites.c.put_away
).join(
    site_revisions, sa.and_(site_revisions.c.site == sites.c.site, site_revisions.c.revision == sites.c.revision)
)


def find_site(reading: Connection, site: str) -> KeptSite | None:
    """Give a property with the site file that holds now; None where there is none."""
    row = reading.execute(_KEPT.where(sites.c.site == site)).mappings().first()
    return None if row is None else KeptSite(**row)


def list_sites(
    reading: Connection, after: str = "", most: int = 1000, only: frozenset[str] | None = None
) -> list[KeptSite]:
    """Give the properties that are not put away, by their short names, from the one after a name on."""
    query = _KEPT.where(sites.c.site > after, sites.c.put_away.is_(None)).order_by(sites.c.site).limit(most)
    if only is not None:
        query = query.where(sites.c.site.in_(sorted(only)))
    return [KeptSite(**row) for row in reading.execute(query).mappings()]


def names_of(reading: Connection) -> dict[str, tuple[str, str]]:
    """Give name and time zone of the properties that are not put away, by their short names."""
    query = sa.select(sites.c.site, sites.c.name, sites.c.zone).where(sites.c.put_away.is_(None)).order_by(sites.c.site)
    return {row.site: (row.name, row.zone) for row in reading.execute(query)}


def each_site(reading: Connection) -> Iterator[KeptSite]:
    """Give every property that is not put away, a page at a time."""
    after = ""
    while page := list_sites(reading, after):
        yield from page
        after = page[-1].site


def put_site(writing: Connection, kept: KeptSite, at: datetime, actor: str) -> None:
    """Keep a property under the revision it carries: the first of a new one, the next of a known one."""
    values = {"name": kept.name, "zone": kept.zone, "revision": kept.revision, "put_away": kept.put_away}
    if kept.revision == 1:
        writing.execute(sa.insert(sites).values(site=kept.site, **values))
    else:
        writing.execute(sa.update(sites).where(sites.c.site == kept.site).values(**values))
    writing.execute(
        sa.insert(site_revisions).values(
            site=kept.site, revision=kept.revision, document=kept.document, at=at, actor=actor
        )
    )


def put_away(writing: Connection, site: str, at: datetime | None) -> None:
    """Put a property away, or take it up again: no jobs run for it meanwhile, and what is kept of it stays."""
    writing.execute(sa.update(sites).where(sites.c.site == site).values(put_away=at))


def find_revision(reading: Connection, site: str, revision: int) -> str | None:
    """Give an earlier site file; None where it is not kept any more."""
    query = sa.select(site_revisions.c.document).where(
        site_revisions.c.site == site, site_revisions.c.revision == revision
    )
    return reading.execute(query).scalar()


def kept_since(reading: Connection, site: str) -> datetime | None:
    """Give when the oldest site file that is still kept came in."""
    return reading.execute(sa.select(sa.func.min(site_revisions.c.at)).where(site_revisions.c.site == site)).scalar()


def hold(writing: Connection, site: str) -> int | None:
    """Keep other writers away from a site until this transaction ends; gives its revision, None where it is unknown."""
    return writing.execute(sa.select(sites.c.revision).where(sites.c.site == site).with_for_update()).scalar()
