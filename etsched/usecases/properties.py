"""Properties that the service keeps: their site files, checked before they are kept, a revision each."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from sqlalchemy.exc import IntegrityError

from etsched.documents.site_file import parse_site
from etsched.errors import NotKept, Problem, RevisionMoved, SiteRefused
from etsched.model.service import KeptSite
from etsched.stores import sites, trail

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from etsched.model.site import Site
    from etsched.units import UnitSystem
    from etsched.usecases.service import Service

_KEY = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,62}[a-z0-9])?")


def put_site(service: Service, site_key: str, document: str, actor: str, revision: int | None = None) -> KeptSite:
    """Keep a site file under a short name; the same file again is no new revision.

    `revision` is the one that the change was made from. Raises SiteRefused, RevisionMoved.
    """
    if not _KEY.fullmatch(site_key):
        wrong = "it is no short name of a property"
        remedy = "write up to 64 small letters, digits and hyphens, as in north-lawn"
        raise SiteRefused([Problem("site", None, "site key", wrong, remedy)])
    site = parse_site(document, site_key)
    given = KeptSite(site_key, site.name, site.place.zone.key, 0, document)
    try:
        with service.database.writing() as writing:
            return _put(writing, given, revision, actor, service.clock.now())
    except IntegrityError:
        raise RevisionMoved(f"somebody else put {site_key} at the same moment; read it and try again") from None


def _put(writing: Connection, given: KeptSite, revision: int | None, actor: str, now: datetime) -> KeptSite:
    sites.hold(writing, given.site)
    current = sites.find_site(writing, given.site)
    held = 0 if current is None else current.revision
    if revision is not None and revision != held:
        raise RevisionMoved(
            f"{given.site} is at revision {held} and the change was made from revision {revision}; "
            "read it again and make the change there"
        )
    if current is not None and current.document == given.document:
        return current
    kept = replace(given, revision=held + 1, put_away=None if current is None else current.put_away)
    sites.put_site(writing, kept, now, actor)
    trail.note(writing, now, actor, "site put", kept.site, f"revision {kept.revision}")
    return kept


def get_site(service: Service, key: str) -> KeptSite:
    """Give a property as it is kept. Raises NotKept."""
    with service.database.reading() as reading:
        return site_in(reading, key)


def site_in(reading: Connection, key: str) -> KeptSite:
    """Give a property as a transaction sees it. Raises NotKept."""
    kept = sites.find_site(reading, key)
    if kept is None:
        raise NotKept("no property of that name is kept; etsched site list names those that are")
    return kept


def site_of(kept: KeptSite) -> Site:
    """Give the property that a kept site file describes. Raises SiteRefused."""
    return _parsed(kept.document, kept.site)


def units_for(service: Service, key: str, asked: UnitSystem | None) -> UnitSystem:
    """Give the units to write in: those asked for, else those the property's readers read. Raises NotKept."""
    kept = get_site(service, key)
    return asked or ("metric" if site_of(kept).units == "metric" else "us")


@lru_cache(maxsize=512)  # site files seldom change, and every job of a site reads its own
def _parsed(document: str, name: str) -> Site:
    return parse_site(document, name)


def put_away(service: Service, key: str, actor: str, *, away: bool = True) -> KeptSite:
    """Put a property away, so that no jobs run for it, or take it up again. Raises NotKept."""
    now = service.clock.now()
    with service.database.writing() as writing:
        kept = site_in(writing, key)
        if (kept.put_away is not None) is away:
            return kept
        since = now if away else None
        sites.put_away(writing, key, since)
        trail.note(writing, now, actor, "site put away" if away else "site taken up", key)
    return replace(kept, put_away=since)
