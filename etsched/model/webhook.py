"""Addresses that events are sent to, and the events that wait for it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Webhook:
    """Where a property's events go; the address may itself hold a secret, so it is not shown by accident."""

    webhook: str
    site: str
    url: str = field(repr=False)
    secret: str = field(repr=False)
    made: datetime
    ended: datetime | None = None


@dataclass(frozen=True, slots=True)
class OutboxEvent:
    """An event for one receiver: the same id and the same body at every try."""

    event: str
    webhook: str
    kind: str
    body: str
    made: datetime
    tries: int
    next_try: datetime | None
    delivered: datetime | None = None
    last_answer: str = ""
