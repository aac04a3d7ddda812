"""Addresses of calendars: only a digest of each is kept, since the address itself lets in."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.stores.schema import calendar_addresses

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

_ID_LENGTH = 12  # digits of the digest that name an address in lists


def put_address(writing: Connection, site: str, token_hash: str, at: datetime) -> str:
    """Keep an address; gives the short name it is listed under."""
    writing.execute(sa.insert(calendar_addresses).values(token_hash=token_hash, site=site, made=at))
    return token_hash[:_ID_LENGTH]


def site_of_address(reading: Connection, token_hash: str) -> str | None:
    """Give the property that an address shows; None where there is no such address, or it was revoked."""
    query = sa.select(calendar_addresses.c.site).where(
        calendar_addresses.c.token_hash == token_hash, calendar_addresses.c.revoked.is_(None)
    )
    return reading.execute(query).scalar()


def addresses_of(
    reading: Connection, site: str, after: tuple[str, datetime] | None = None, most: int | None = None
) -> list[tuple[str, datetime]]:
    """Give the short names of a property's addresses that hold, and when each was made, the oldest first.

    All, or so many at most after one of them.
    """
    short = sa.func.substr(calendar_addresses.c.token_hash, 1, _ID_LENGTH)
    later: sa.ColumnElement[bool] = sa.true()
    if after is not None:
        name, made = after
        at_once = sa.and_(calendar_addresses.c.made == made, short > name)
        later = sa.or_(calendar_addresses.c.made > made, at_once)
    query = (
        sa.select(short, calendar_addresses.c.made)
        .where(calendar_addresses.c.site == site, calendar_addresses.c.revoked.is_(None), later)
        .order_by(calendar_addresses.c.made, short)
        .limit(most)
    )
    return [(row[0], row[1]) for row in reading.execute(query)]


def find_address(reading: Connection, site: str, calendar: str) -> tuple[str, datetime] | None:
    """Give the short name of a property's address and when it was made, one that was revoked too."""
    query = sa.select(calendar_addresses.c.made).where(_named(site, calendar)).limit(1)
    made = reading.execute(query).scalar()
    return None if made is None else (calendar, made)


def _named(site: str, calendar: str) -> sa.ColumnElement[bool]:
    short = sa.func.substr(calendar_addresses.c.token_hash, 1, _ID_LENGTH)
    return sa.and_(calendar_addresses.c.site == site, short == calendar)


def revoke(writing: Connection, site: str, calendar: str, at: datetime) -> bool:
    """Revoke an address by its short name; False where the property has none of that name."""
    mine = sa.and_(_named(site, calendar), calendar_addresses.c.revoked.is_(None))
    return writing.execute(sa.update(calendar_addresses).where(mine).values(revoked=at)).rowcount > 0
