"""People, the properties that are theirs, and the sessions they have open."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.access import Role, User
from etsched.stores.schema import sessions, user_sites, users

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy import Connection


def put_user(writing: Connection, user: User, password_hash: str) -> None:
    """Keep a new person."""
    writing.execute(
        sa.insert(users).values(
            user_name=user.user_name,
            password_hash=password_hash,
            role=user.role.value,
            all_sites=user.sites is None,
            made=user.made,
            shut=user.shut,
        )
    )
    if user.sites:
        rows = [{"user_name": user.user_name, "site": site} for site in sorted(user.sites)]
        writing.execute(sa.insert(user_sites), rows)


def find_user(reading: Connection, user_name: str) -> tuple[User, str] | None:
    """Give a person and the hash of their password; None where there is none."""
    rows = reading.execute(sa.select(users).where(users.c.user_name == user_name)).mappings().all()
    return (_people(reading, rows)[0], rows[0]["password_hash"]) if rows else None


def list_users(reading: Connection) -> list[User]:
    """Give everybody by name."""
    return _people(reading, reading.execute(sa.select(users).order_by(users.c.user_name)).mappings().all())


def shut_user(writing: Connection, user_name: str, at: datetime) -> bool:
    """Close an account and end its sessions; False where there is none, or it is closed."""
    writing.execute(sa.delete(sessions).where(sessions.c.user_name == user_name))
    changed = writing.execute(
        sa.update(users).where(users.c.user_name == user_name, users.c.shut.is_(None)).values(shut=at)
    )
    return changed.rowcount == 1


def put_session(writing: Connection, token_hash: str, user_name: str, made: datetime, expires: datetime) -> None:
    """Keep that a person is in until an instant."""
    writing.execute(
        sa.insert(sessions).values(token_hash=token_hash, user_name=user_name, made=made, expires=expires)
    )


def user_of_session(reading: Connection, token_hash: str, now: datetime) -> User | None:
    """Give the person whose session this is; None where it is none, or is over."""
    query = (
        sa.select(users)
        .join(sessions, sessions.c.user_name == users.c.user_name)
        .where(sessions.c.token_hash == token_hash, sessions.c.expires > now, users.c.shut.is_(None))
    )
    rows = reading.execute(query).mappings().all()
    return _people(reading, rows)[0] if rows else None


def end_session(writing: Connection, token_hash: str) -> str | None:
    """End a session; gives whose it was, None where it is none."""
    return writing.execute(
        sa.delete(sessions).where(sessions.c.token_hash == token_hash).returning(sessions.c.user_name)
    ).scalar()


def _people(reading: Connection, rows: Sequence[sa.RowMapping]) -> list[User]:
    bound: dict[str, set[str]] = {row["user_name"]: set() for row in rows}
    of_these = sa.select(user_sites).where(user_sites.c.user_name.in_(list(bound)))
    for user_name, site in reading.execute(of_these):
        bound[user_name].add(site)
    return [
        User(
            row["user_name"],
            Role(row["role"]),
            None if row["all_sites"] else frozenset(bound[row["user_name"]]),
            row["made"],
            row["shut"],
        )
        for row in rows
    ]
