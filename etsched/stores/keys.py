"""Keys of programs: what each opens, and the digest of its secret."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.access import KeyShown, Scope
from etsched.stores.schema import key_sites, keys

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import Connection


def put_key(writing: Connection, key: KeyShown, secret_hash: str) -> None:
    """Keep a new key."""
    writing.execute(
        sa.insert(keys).values(
            key_id=key.key_id,
            secret_hash=secret_hash,
            name=key.name,
            # The members' names, since the words of a scope have blanks in them.
            scopes=" ".join(scope.name for scope in Scope if scope in key.scopes),
            all_sites=key.sites is None,
            made=key.made,
            expires=key.expires,
            revoked=key.revoked,
        )
    )
    if key.sites:
        writing.execute(sa.insert(key_sites), [{"key_id": key.key_id, "site": site} for site in sorted(key.sites)])


def find_key(reading: Connection, key_id: str) -> tuple[KeyShown, str] | None:
    """Give a key and the digest of its secret; None where there is none."""
    rows = reading.execute(sa.select(keys).where(keys.c.key_id == key_id)).mappings().all()
    return (_shown(reading, rows)[0], rows[0]["secret_hash"]) if rows else None


def list_keys(reading: Connection) -> list[KeyShown]:
    """Give every key, the oldest first."""
    return _shown(reading, reading.execute(sa.select(keys).order_by(keys.c.made, keys.c.key_id)).mappings().all())


def revoke(writing: Connection, key_id: str, at: datetime) -> bool:
    """End a key; False where there is none, or it has ended."""
    changed = writing.execute(
        sa.update(keys).where(keys.c.key_id == key_id, keys.c.revoked.is_(None)).values(revoked=at)
    )
    return changed.rowcount == 1


def _shown(reading: Connection, rows: Sequence[sa.RowMapping]) -> list[KeyShown]:
    bound: dict[str, set[str]] = {row["key_id"]: set() for row in rows}
    of_these = sa.select(key_sites).where(key_sites.c.key_id.in_(list(bound)))
    for key_id, site in reading.execute(of_these):
        bound[key_id].add(site)
    return [
        KeyShown(
            row["key_id"],
            row["name"],
            frozenset(Scope[name] for name in row["scopes"].split()),
            None if row["all_sites"] else frozenset(bound[row["key_id"]]),
            row["made"],
            row["expires"],
            row["revoked"],
        )
        for row in rows
    ]
