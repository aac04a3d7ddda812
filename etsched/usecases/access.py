"""Keys and people: making, ending, and telling who asks.

A secret has 256 random bits, so nobody can go through its values, and its plain SHA-256 is kept: a slow hash guards
what people think up, which is done for passwords. A secret is given back once, where it is made, and then by nobody.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.errors import AccessRefused, InputRefused, Problem
from etsched.model.access import SCOPES_OF, Holder, KeyShown, Role, Scope, User
from etsched.stores import keys, sites, trail, users
from etsched.usecases import passwords

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from etsched.stores.database import Database

AT_THE_MACHINE = "command line"  # keys and people are made and ended there alone
SESSION = timedelta(hours=12)  # a working day; common practice, no source
_KEY, _SESSION = "ets_", "etp_"  # what a secret begins with tells which of the two it is
_LONGEST_SECRET, _LONGEST_NAME = 200, 80
_USER_NAME = re.compile(r"[a-z0-9][a-z0-9._-]{0,63}")
_NOT_LET_IN = "this key is not valid, or not any more; ask whoever manages the properties for another"
_NO_ENTRY = "name and password do not fit together, or the account is closed"


def make_key(
    database: Database,
    now: datetime,
    name: str,
    scopes: frozenset[Scope],
    sites: frozenset[str] | None,
    expires: datetime | None,
) -> tuple[KeyShown, str]:
    """Make a key for a program; the secret that comes with it is not kept. Raises InputRefused."""
    problems = []
    if not name.strip() or len(name) > _LONGEST_NAME or not name.isprintable():
        problems.append(_wrong("name", "the name is empty, too long or not printable", "write 1 to 80 letters"))
    if not scopes:
        problems.append(_wrong("scope", "the key would open nothing", f"name one of {', '.join(Scope)}"))
    if expires is not None and expires <= now:
        problems.append(_wrong("expires", "it would have expired already", "name a later day"))
    if problems:
        raise InputRefused(problems)
    key = KeyShown(secrets.token_hex(6), name.strip(), scopes, sites, now, expires)
    secret = f"{_KEY}{key.key_id}_{secrets.token_urlsafe(32)}"
    with database.writing() as writing:
        _check_sites(writing, sites)
        keys.put_key(writing, key, _digest(secret))
        opens = ", ".join(scope for scope in Scope if scope in scopes)
        trail.note(writing, now, AT_THE_MACHINE, "key made", None, f"{key.key_id} {key.name}: {opens}; {_where(sites)}")
    return key, secret


def revoke_key(database: Database, now: datetime, key_id: str) -> None:
    """End a key at once. Raises InputRefused where there is none that holds."""
    with database.writing() as writing:
        if not keys.revoke(writing, key_id, now):
            # What was typed is not repeated: it may be the secret.
            raise InputRefused([_wrong("id", "there is no key of this id that holds", "see etsched key list")])
        trail.note(writing, now, AT_THE_MACHINE, "key revoked", None, key_id)


def who(database: Database, now: datetime, secret: str) -> Holder:
    """Tell who asks by the secret of a key or of a session. Raises AccessRefused, always with the same sentence."""
    if len(secret) <= _LONGEST_SECRET and secret.isascii() and secret.isprintable():
        if secret.startswith(_SESSION):
            return _who_is_in(database, now, secret)
        if secret.startswith(_KEY):
            return _whose_key(database, now, secret)
    raise AccessRefused(_NOT_LET_IN)


def make_user(
    database: Database, now: datetime, user_name: str, password: str, role: Role, sites: frozenset[str] | None
) -> User:
    """Make an account; an admin's is for every property. Raises InputRefused."""
    if not _USER_NAME.fullmatch(user_name):
        wrong = "the name must be small letters, digits, dots and dashes, 64 at most"
        raise InputRefused([_wrong("name", wrong, "write it as ann.miller", "user")])
    password_hash = passwords.hash_password(password)
    user = User(user_name, role, None if role is Role.ADMIN else sites, now)
    with database.writing() as writing:
        if users.find_user(writing, user_name) is not None:
            raise InputRefused([_wrong("name", f'"{user_name}" has been given before', "choose another", "user")])
        _check_sites(writing, user.sites)
        users.put_user(writing, user, password_hash)
        trail.note(writing, now, AT_THE_MACHINE, "user made", None, f"{user_name}: {role}; {_where(user.sites)}")
    return user


def close_user(database: Database, now: datetime, user_name: str) -> None:
    """Close an account and end its sessions. Raises InputRefused where there is none that is open."""
    with database.writing() as writing:
        if not users.shut_user(writing, user_name, now):
            wrong = f'there is no open account "{user_name}"'
            raise InputRefused([_wrong("name", wrong, "see etsched user list", "user")])
        trail.note(writing, now, AT_THE_MACHINE, "user closed", None, user_name)


def check_password(database: Database, user_name: str, password: str) -> User:
    """Give the person with this name and password. Raises AccessRefused with one sentence for every reason."""
    with database.reading() as reading:
        # A name that cannot be one is not looked up: PostgreSQL takes no NUL.
        found = users.find_user(reading, user_name) if _USER_NAME.fullmatch(user_name) else None
    fits = passwords.matches(password, found[1] if found else passwords.NOBODYS)
    if found is None or not fits or found[0].shut is not None:
        raise AccessRefused(_NO_ENTRY)
    return found[0]


def open_session(database: Database, now: datetime, user_name: str, password: str) -> str:
    """Let a person in; the token it gives is what `who` knows them by. Raises AccessRefused."""
    user = check_password(database, user_name, password)
    token = _SESSION + secrets.token_urlsafe(32)
    with database.writing() as writing:
        users.put_session(writing, _digest(token), user.user_name, now, now + SESSION)
        trail.note(writing, now, _person(user), "session opened")
    return token


def end_session(database: Database, now: datetime, token: str) -> None:
    """Let a person out; a token that is none changes nothing."""
    with database.writing() as writing:
        user_name = users.end_session(writing, _digest(token))
        if user_name is not None:
            trail.note(writing, now, f"user {user_name}", "session ended")


def _whose_key(database: Database, now: datetime, secret: str) -> Holder:
    key_id = secret.removeprefix(_KEY).partition("_")[0]
    with database.reading() as reading:
        found = keys.find_key(reading, key_id)
    # An unknown key is compared as well, so that the time of the answer tells nothing.
    same = hmac.compare_digest(_digest(secret), found[1] if found else "0" * 64)
    if found is None or not same or not found[0].holds_at(now):
        raise AccessRefused(_NOT_LET_IN)
    return Holder(f"key {key_id}", found[0].scopes, found[0].sites)


def _who_is_in(database: Database, now: datetime, token: str) -> Holder:
    with database.reading() as reading:
        user = users.user_of_session(reading, _digest(token), now)
    if user is None:
        raise AccessRefused(_NOT_LET_IN)
    return Holder(_person(user), SCOPES_OF[user.role], user.sites)


def _person(user: User) -> str:
    return f"user {user.user_name}"


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def _check_sites(writing: Connection, named: frozenset[str] | None) -> None:
    unknown = [site for site in sorted(named or ()) if sites.find_site(writing, site) is None]
    if unknown:
        raise InputRefused(
            [_wrong("site", f'there is no property "{site}"', "put it first, or correct its name") for site in unknown]
        )


def _where(named: frozenset[str] | None) -> str:
    return "every property" if named is None else ", ".join(sorted(named)) or "no property"


def _wrong(field: str, wrong: str, remedy: str, what: str = "key") -> Problem:
    return Problem(what, None, field, wrong, remedy)
