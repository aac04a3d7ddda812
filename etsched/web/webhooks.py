"""Where events of a property go, and the events that went or wait."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, Request, Response

from etsched.model.webhook import OutboxEvent, Webhook
from etsched.reports.encode import utc
from etsched.stores import webhooks as store
from etsched.usecases.outbox import replay
from etsched.usecases.properties import get_site
from etsched.usecases.service import Service
from etsched.usecases.webhooks import add_webhook, end_webhook
from etsched.web.access import Manager, Serving
from etsched.web.idempotency import Answer, Written, once
from etsched.web.paging import PAGED_WORDS, AfterId, Most, paged, place_of
from etsched.web.problems import not_found
from etsched.web.shapes import ENDED_WORDS, EventsOut, Id, SiteKey, WebhookIn, WebhookOut, WebhooksOut, answers, by_name

if TYPE_CHECKING:
    from sqlalchemy import Connection

router = APIRouter(prefix="/v1/sites/{site}", tags=["webhooks"], generate_unique_id_function=by_name)


@router.get(
    "/webhooks",
    responses=answers(WebhooksOut),
    summary="Where events go, the oldest webhook first",
    description=PAGED_WORDS,
)
def list_webhooks(
    request: Request,
    service: Serving,
    holder: Manager,
    site: SiteKey,
    after: AfterId = None,
    most: Most = 50,
) -> Response:
    """List the webhooks of a property without their secrets."""
    get_site(service, site)
    with service.database.reading() as reading:
        before = place_of(after, lambda each: _webhook_of(reading, site, each))
        found = store.webhooks_of(reading, site, before, most)
    last = found[-1].webhook if found else ""
    return paged(request, {"webhooks": [_line(each) for each in found]}, last, full=len(found) == most)


@router.post(
    "/webhooks",
    status_code=201,
    responses=answers(WebhookOut, 400, 409, 413, status=201),
    summary="Send events to an address",
)
def make_webhook(service: Serving, holder: Manager, write: Written, site: SiteKey, body: WebhookIn) -> Response:
    """Make a webhook. Its secret signs what is sent and is shown this once, not even again to the same write."""

    def act(inside: Service) -> Answer:
        get_site(inside, site)
        made = add_webhook(inside.database, inside.clock.now(), site, body.url, holder.actor)
        return Answer({**_line(made), "secret": made.secret}, 201, secrets=("secret",))

    return once(service, holder, write, act)


@router.delete(
    "/webhooks/{webhook}",
    responses=answers(None, 400, 409),
    summary="Send no more events to an address",
    description=f"Ends a webhook with what waits for it. {ENDED_WORDS}",
)
def delete_webhook(service: Serving, holder: Manager, write: Written, site: SiteKey, webhook: Id) -> Response:
    """End a webhook."""

    def act(inside: Service) -> Answer:
        if not end_webhook(inside.database, inside.clock.now(), site, webhook, holder.actor):
            raise not_found()
        return Answer({})

    return once(service, holder, write, act)


@router.get(
    "/events",
    responses=answers(EventsOut),
    summary="The events and how far they are, the newest first",
    description=PAGED_WORDS,
)
def events(
    request: Request,
    service: Serving,
    holder: Manager,
    site: SiteKey,
    after: AfterId = None,
    most: Most = 50,
) -> Response:
    """List events; what was delivered or given up is kept for a time only."""
    get_site(service, site)
    with service.database.reading() as reading:
        before = place_of(after, lambda each: _event_of(reading, site, each))
        found = store.events_of(reading, site, most, before)
    last = found[-1].event if found else ""
    return paged(request, {"events": [_event(each) for each in found]}, last, full=len(found) == most)


def _webhook_of(reading: Connection, site: str, webhook: str) -> Webhook | None:
    found = store.find_webhook(reading, webhook)
    return found if found is not None and found.site == site else None


def _event_of(reading: Connection, site: str, event: str) -> OutboxEvent | None:
    found = store.find_event(reading, event)
    return found if found is not None and _webhook_of(reading, site, found.webhook) is not None else None


@router.post("/events/{event}/replay", responses=answers(None, 400, 409), summary="Send an event once more")
def replay_event(service: Serving, holder: Manager, write: Written, site: SiteKey, event: Id) -> Response:
    """Send an event again under its own id; a receiver that knows the id may pass it over."""

    def act(inside: Service) -> Answer:
        if not replay(inside.database, inside.clock.now(), site, event, holder.actor):
            raise not_found()
        return Answer({})

    return once(service, holder, write, act)


def _line(kept: Webhook) -> dict[str, Any]:
    return {"webhook": kept.webhook, "url": kept.url, "made": utc(kept.made)}


def _event(kept: OutboxEvent) -> dict[str, Any]:
    return {
        **{name: getattr(kept, name) for name in ("event", "webhook", "kind", "tries", "last_answer")},
        "made": utc(kept.made),
        "delivered": _maybe(kept.delivered),
        "next_try": _maybe(kept.next_try),
    }


def _maybe(moment: datetime | None) -> str | None:
    return None if moment is None else utc(moment)
