"""Events on their way out: put down with the change they speak of, then sent at least once, under a stable id.

An event carries its next try ahead of itself: whoever takes it moves that on and commits before sending. A process
that dies while sending thus leaves an event that is sent again, and no other instance sends it meanwhile.
"""

from __future__ import annotations

import json
import logging
import time
import uuid
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

from etsched.errors import WebhookFailed
from etsched.model.webhook import OutboxEvent, Webhook
from etsched.stores import trail, webhooks

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from datetime import datetime

    from sqlalchemy import Connection

    from etsched.stores.database import Database

    Send = Callable[[Webhook, OutboxEvent, datetime], str]

KINDS = ("plan made", "controller silent", "job failed")
# The wait after the first, second … failure; after the last one it is given up, two days and a half in all. Common
# practice, no source. The first is longer than a try may take.
WAITS = (
    timedelta(minutes=1),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=6),
    timedelta(hours=15),
    timedelta(hours=36),
)
MOST_TRIES = len(WAITS) + 1
# With one try more (notify.webhook.LIMIT_S) it is over before the first wait is, so nobody takes what it is sending.
_PASS_S = 40.0
_AS_OUTBOX = "outbox"  # what the trail calls this

_log = logging.getLogger(__name__)


def announce(writing: Connection, now: datetime, site: str, kind: str, body: Mapping[str, object]) -> int:
    """Put an event into the outbox for each webhook of a site; gives how many. It goes out if the transaction holds."""
    if kind not in KINDS:
        raise ValueError(f"no event is called {kind}")
    receivers = webhooks.webhooks_of(writing, site)
    message = {"type": kind, "timestamp": now.isoformat(), "data": {"site": site, **body}}
    text = json.dumps(message, sort_keys=True)
    for receiver in receivers:
        webhooks.put_event(writing, OutboxEvent(str(uuid.uuid4()), receiver.webhook, kind, text, now, 0, now))
    return len(receivers)


def deliver_due(
    database: Database,
    now: datetime,
    send: Send,
    *,
    seconds: Callable[[], float] = time.monotonic,
    stopping: Callable[[], bool] = lambda: False,
) -> int:
    """Send what is due, the oldest first; gives how many were taken by their receivers.

    A receiver that fails is not tried again in this pass, so that it holds the others up once and no longer. What a
    pass has no time for is left to the next one, since its `now` grows old; one that is to stop begins no other try.
    """
    delivered_count, failing, ends = 0, set[str](), seconds() + _PASS_S
    while not stopping() and seconds() < ends and (taken := _take(database, now, failing)) is not None:
        webhook, event = taken
        answer, took = _sent(send, webhook, event, now)
        with database.writing() as writing:
            _write_down(writing, now, webhook, event, answer, took)
        delivered_count += took
        if not took:
            failing.add(webhook.webhook)
    return delivered_count


def replay(database: Database, now: datetime, site: str, event_id: str, actor: str) -> bool:
    """Send an event of a site once more, under its own id; False where there is none whose webhook is open."""
    with database.writing() as writing:
        event = webhooks.find_event(writing, event_id)
        webhook = None if event is None else webhooks.find_webhook(writing, event.webhook)
        if event is None or webhook is None or webhook.site != site or webhook.ended is not None:
            return False
        again = replace(event, tries=0, next_try=now, delivered=None, last_answer="")
        webhooks.move_event(writing, again, event.tries)
        trail.note(writing, now, actor, "event replayed", site, event_id)
    return True


def _take(database: Database, now: datetime, failing: set[str]) -> tuple[Webhook, OutboxEvent] | None:
    """Take the next event that is due and count the try before it is made."""
    with database.writing() as writing:
        event = webhooks.take_due(writing, now, failing)
        if event is None:
            return None
        webhook = webhooks.find_webhook(writing, event.webhook)
        if webhook is None:  # the database refuses an event without one
            raise LookupError(event.webhook)
        # The last try leaves a wait behind as well, for a process that dies in it.
        counted = replace(event, tries=event.tries + 1, next_try=now + WAITS[min(event.tries, len(WAITS) - 1)])
        webhooks.move_event(writing, counted, event.tries)
        return webhook, counted


def _sent(send: Send, webhook: Webhook, event: OutboxEvent, now: datetime) -> tuple[str, bool]:
    try:
        return send(webhook, event, now), True
    except WebhookFailed as error:
        _log.warning("event %s of %s, try %d: %s", event.event, webhook.site, event.tries, error)
        return str(error), False


def _write_down(
    writing: Connection, now: datetime, webhook: Webhook, event: OutboxEvent, answer: str, took: bool
) -> None:
    """Write down what came of a try, unless somebody has tried the event since."""
    given_up = not took and event.tries >= MOST_TRIES
    after = replace(
        event,
        delivered=now if took else None,
        next_try=None if took or given_up else event.next_try,
        last_answer=answer,
    )
    if webhooks.move_event(writing, after, event.tries) and given_up:
        detail = f"{event.event} ({event.kind}) after {event.tries} tries: {answer}"
        trail.note(writing, now, _AS_OUTBOX, "event given up", webhook.site, detail)
