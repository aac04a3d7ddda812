"""Who may do what: scopes, keys for programs, people with roles, and answers kept for a write that comes again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from types import MappingProxyType


class Scope(StrEnum):
    """One thing that a key allows."""

    READ = "read"
    REPORT = "report applied"
    VISIT = "record visits"
    MANAGE = "manage"


class Role(StrEnum):
    """What a person is to the properties."""

    MANAGER = "manager"
    TECHNICIAN = "technician"
    ADMIN = "admin"


SCOPES_OF: Mapping[Role, frozenset[Scope]] = MappingProxyType(
    {
        Role.TECHNICIAN: frozenset({Scope.READ, Scope.REPORT, Scope.VISIT}),
        Role.MANAGER: frozenset(Scope),
        Role.ADMIN: frozenset(Scope),  # a manager of every property
    }
)


@dataclass(frozen=True, slots=True)
class Holder:
    """Who asks, and what is open to them; `sites` is None where every property is."""

    actor: str
    scopes: frozenset[Scope]
    sites: frozenset[str] | None


@dataclass(frozen=True, slots=True)
class KeyShown:
    """All of a key but its secret."""

    key_id: str
    name: str
    scopes: frozenset[Scope]
    sites: frozenset[str] | None
    made: datetime
    expires: datetime | None = None
    revoked: datetime | None = None

    def holds_at(self, now: datetime) -> bool:
        """Say whether it opens anything at an instant."""
        return self.revoked is None and (self.expires is None or now < self.expires)


@dataclass(frozen=True, slots=True)
class User:
    """A person; `shut` is when their account was closed."""

    user_name: str
    role: Role
    sites: frozenset[str] | None
    made: datetime
    shut: datetime | None = None


@dataclass(frozen=True, slots=True)
class GivenAnswer:
    """What a write was answered, so that the same write, sent again, is answered the same and done once."""

    actor: str
    idempotency_key: str
    request_digest: str
    status: int
    body: str = field(repr=False)
    at: datetime
