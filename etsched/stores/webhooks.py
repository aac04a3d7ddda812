"""Webhooks of properties, and the outbox: events that wait to be sent, each to one receiver."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.webhook import OutboxEvent, Webhook
from etsched.stores.schema import outbox, webhooks

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import datetime

    from sqlalchemy import Connection


def put_webhook(writing: Connection, webhook: Webhook) -> None:
    """Keep a new webhook."""
    writing.execute(sa.insert(webhooks).values(**asdict(webhook)))


def find_webhook(reading: Connection, webhook: str) -> Webhook | None:
    """Give a webhook, one that has ended too; None where there is none."""
    row = reading.execute(sa.select(webhooks).where(webhooks.c.webhook == webhook)).mappings().first()
    return None if row is None else Webhook(**row)


def webhooks_of(
    reading: Connection, site: str, after: Webhook | None = None, most: int | None = None
) -> list[Webhook]:
    """Give the webhooks of a property that have not ended, the oldest first: all, or so many at most after one."""
    order = sa.tuple_(webhooks.c.made, webhooks.c.webhook)
    later = sa.true() if after is None else order > (after.made, after.webhook)
    query = (
        sa.select(webhooks)
        .where(webhooks.c.site == site, webhooks.c.ended.is_(None), later)
        .order_by(webhooks.c.made, webhooks.c.webhook)
        .limit(most)
    )
    return [Webhook(**row) for row in reading.execute(query).mappings()]


def end_webhook(writing: Connection, site: str, webhook: str, at: datetime) -> bool:
    """End a property's webhook and what waits for it; False where it has none of that name."""
    mine = sa.and_(webhooks.c.webhook == webhook, webhooks.c.site == site, webhooks.c.ended.is_(None))
    changed = writing.execute(sa.update(webhooks).where(mine).values(ended=at))
    if changed.rowcount == 1:
        writing.execute(sa.update(outbox).where(outbox.c.webhook == webhook).values(next_try=None))
    return changed.rowcount == 1


def put_event(writing: Connection, event: OutboxEvent) -> None:
    """Put an event into the outbox; it is sent only if the transaction it belongs to holds."""
    writing.execute(sa.insert(outbox).values(**asdict(event)))


def take_due(writing: Connection, now: datetime, without: Collection[str]) -> OutboxEvent | None:
    """Give the oldest event that is due, of other webhooks than some, and hold its row until the transaction ends.

    A row that another instance holds is passed over, and so is whatever waits for a webhook that has ended.
    """
    query = (
        sa.select(outbox)
        .join(webhooks, webhooks.c.webhook == outbox.c.webhook)
        .where(outbox.c.next_try <= now, webhooks.c.ended.is_(None), outbox.c.webhook.not_in(sorted(without)))
        .order_by(outbox.c.made, outbox.c.event)
        .limit(1)
        .with_for_update(of=outbox, skip_locked=True)
    )
    row = writing.execute(query).mappings().first()
    return None if row is None else OutboxEvent(**row)


def move_event(writing: Connection, event: OutboxEvent, tries_before: int) -> bool:
    """Write down how far an event is; False where somebody else has tried it since."""
    changed = writing.execute(
        sa.update(outbox)
        .where(outbox.c.event == event.event, outbox.c.tries == tries_before)
        .values(
            tries=event.tries, next_try=event.next_try, delivered=event.delivered, last_answer=event.last_answer
        )
    )
    return changed.rowcount == 1


def find_event(reading: Connection, event: str) -> OutboxEvent | None:
    """Give one event; None where there is none, or it is not kept any more."""
    row = reading.execute(sa.select(outbox).where(outbox.c.event == event)).mappings().first()
    return None if row is None else OutboxEvent(**row)


def events_of(
    reading: Connection, site: str, most: int = 50, after: OutboxEvent | None = None
) -> list[OutboxEvent]:
    """Give the last events of a property, the newest first: so many at most, of those that come after one."""
    older: sa.ColumnElement[bool] = sa.true()
    if after is not None:
        at_once = sa.and_(outbox.c.made == after.made, outbox.c.event > after.event)
        older = sa.or_(outbox.c.made < after.made, at_once)
    query = (
        sa.select(outbox)
        .join(webhooks, webhooks.c.webhook == outbox.c.webhook)
        .where(webhooks.c.site == site, older)
        .order_by(outbox.c.made.desc(), outbox.c.event)
        .limit(most)
    )
    return [OutboxEvent(**row) for row in reading.execute(query).mappings()]
