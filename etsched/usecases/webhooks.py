"""Webhooks of a property: made with a secret of their own, ended."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING

from etsched.errors import InputRefused, Problem, WebhookFailed
from etsched.model.webhook import Webhook
from etsched.notify.webhook import new_secret, target_of
from etsched.stores import trail
from etsched.stores import webhooks as kept

if TYPE_CHECKING:
    from datetime import datetime

    from etsched.stores.database import Database

MOST_OF_A_SITE = 10  # so that one property cannot keep the outbox busy; common practice, no source


def add_webhook(database: Database, now: datetime, site: str, url: str, actor: str) -> Webhook:
    """Make a webhook; its secret is shown in what comes back and not again. Raises InputRefused.

    Where the address leads is checked at every try, not here: what a name leads to may change at any time.
    """
    try:
        host = target_of(url).host
    except WebhookFailed as error:
        raise _refused(str(error), "write an address such as https://host.example/events") from None
    webhook = Webhook(str(uuid.uuid4()), site, url, new_secret(), now)
    with database.writing() as writing:
        if len(kept.webhooks_of(writing, site)) >= MOST_OF_A_SITE:
            raise _refused(f"the property has {MOST_OF_A_SITE} webhooks, the most it may have", "end one of them")
        kept.put_webhook(writing, webhook)
        # The host alone: the rest of an address may hold a secret.
        trail.note(writing, now, actor, "webhook made", site, f"{webhook.webhook} to {host}")
    return webhook


def end_webhook(database: Database, now: datetime, site: str, webhook: str, actor: str) -> bool:
    """End a webhook of a property with what waits for it; False where it never had one of that id."""
    with database.writing() as writing:
        if kept.end_webhook(writing, site, webhook, now):
            trail.note(writing, now, actor, "webhook ended", site, webhook)
            return True
        known = kept.find_webhook(writing, webhook)
    return known is not None and known.site == site


def _refused(wrong: str, remedy: str) -> InputRefused:
    return InputRefused([Problem("webhook", None, "url", wrong, remedy)])
