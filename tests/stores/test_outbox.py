"""The outbox: with the change or not at all, at least once, in one instance at a time, and not for ever."""

import json
import logging
from datetime import UTC, datetime, timedelta
from threading import Barrier, Lock, Thread

import pytest

from etsched.errors import InputRefused, WebhookFailed
from etsched.model.service import KeptSite
from etsched.notify.webhook import LIMIT_S
from etsched.stores import sites, trail
from etsched.stores import webhooks as kept
from etsched.stores.database import Database
from etsched.usecases import outbox, webhooks

NOW = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)
URL = "https://events.example/in?token=dont-tell"


@pytest.fixture
def hooked(database):
    with database.writing() as writing:
        for site in ("quillmere", "otherby"):
            sites.put_site(writing, KeptSite(site, site.title(), "America/Denver", 1, "x"), NOW, "test")
    webhooks.add_webhook(database, NOW, "quillmere", URL, "test")
    return database


def announce(database, site="quillmere", revision=1, now=NOW):
    with database.writing() as writing:
        return outbox.announce(writing, now, site, "plan made", {"plan_revision": revision})


def events(database):
    with database.reading() as reading:
        return kept.events_of(reading, "quillmere")


def open_webhooks(database):
    with database.reading() as reading:
        return kept.webhooks_of(reading, "quillmere")


def trail_of(database):
    with database.reading() as reading:
        return [(entry.actor, entry.did, entry.detail) for entry in trail.entries(reading)]


class Takes:
    """A sender that writes down what it is given."""

    def __init__(self):
        self.sent = []

    def __call__(self, webhook, event, now):
        self.sent.append((webhook.url, event.event, json.loads(event.body)))
        return "204"


def refuses(webhook, event, now):
    raise WebhookFailed("events.example answered 503")


def test_an_event_goes_to_each_webhook_of_its_site_and_once(hooked):
    webhooks.add_webhook(hooked, NOW, "quillmere", "https://second.example/", "test")
    webhooks.add_webhook(hooked, NOW, "otherby", "https://third.example/", "test")
    assert announce(hooked) == 2
    takes = Takes()
    assert outbox.deliver_due(hooked, NOW, takes) == 2
    assert outbox.deliver_due(hooked, NOW + timedelta(days=9), takes) == 0
    assert sorted(url for url, _, _ in takes.sent) == [URL, "https://second.example/"]
    for _, _, body in takes.sent:
        assert body == {
            "type": "plan made",
            "timestamp": "2026-07-14T03:00:00+00:00",
            "data": {"site": "quillmere", "plan_revision": 1},
        }
    assert {(event.tries, event.next_try, event.delivered, event.last_answer) for event in events(hooked)} == {
        (1, None, NOW, "204")
    }


def test_an_event_of_a_change_that_fell_through_is_not_sent(hooked):
    def torn():
        with hooked.writing() as writing:
            outbox.announce(writing, NOW, "quillmere", "job failed", {})
            raise RuntimeError("pulled")

    with pytest.raises(RuntimeError):
        torn()
    assert outbox.deliver_due(hooked, NOW, Takes()) == 0


def test_a_failure_is_tried_again_after_growing_waits_then_given_up_and_said(hooked):
    announce(hooked)
    (event,) = events(hooked)
    now = NOW
    # 1, 5, 30 min, 2, 6, 15, 36 h after the seven first tries; the eighth is the last.
    for wait_min in (1, 5, 30, 120, 360, 900, 2160):
        assert outbox.deliver_due(hooked, now, refuses) == 0
        early = now + timedelta(minutes=wait_min, seconds=-1)
        takes_nothing = Takes()
        outbox.deliver_due(hooked, early, takes_nothing)
        assert takes_nothing.sent == []
        now += timedelta(minutes=wait_min)
    assert events(hooked)[0].next_try == now
    outbox.deliver_due(hooked, now, refuses)
    (given_up,) = events(hooked)
    assert (given_up.event, given_up.tries, given_up.next_try) == (event.event, 8, None)
    assert given_up.last_answer == "events.example answered 503"
    said = f"{event.event} (plan made) after 8 tries: events.example answered 503"
    assert trail_of(hooked)[-1] == ("outbox", "event given up", said)


def test_a_process_that_dies_while_sending_leaves_the_event_to_be_sent_again_under_its_id(hooked):
    announce(hooked)
    (event,) = events(hooked)

    def dies(webhook, sent, now):
        raise SystemExit("pulled")

    with pytest.raises(SystemExit):
        outbox.deliver_due(hooked, NOW, dies)
    takes = Takes()
    assert outbox.deliver_due(hooked, NOW + timedelta(seconds=59), takes) == 0
    assert outbox.deliver_due(hooked, NOW + timedelta(seconds=60), takes) == 1
    assert [sent for _, sent, _ in takes.sent] == [event.event]


def test_one_dead_receiver_is_asked_once_a_pass_and_holds_nobody_up(hooked):
    webhooks.add_webhook(hooked, NOW, "otherby", "https://alive.example/", "test")
    for revision in (1, 2, 3):
        announce(hooked, "quillmere", revision)
    announce(hooked, "otherby")
    asked = []

    def half(webhook, event, now):
        asked.append(webhook.site)
        if webhook.site == "quillmere":
            raise WebhookFailed("events.example took too long")
        return "200"

    assert outbox.deliver_due(hooked, NOW, half) == 1
    assert sorted(asked) == ["otherby", "quillmere"]


def test_a_pass_that_is_to_stop_begins_no_other_try(hooked):
    for revision in range(3):
        announce(hooked, revision=revision)
    takes = Takes()
    assert outbox.deliver_due(hooked, NOW, takes, stopping=lambda: len(takes.sent) == 1) == 1
    assert outbox.deliver_due(hooked, NOW, takes) == 2


def test_a_pass_ends_before_what_it_took_may_be_taken_again(hooked):
    for revision in range(8):
        announce(hooked, revision=revision)
    gone_s = [0.0]

    def slow(webhook, event, now):
        gone_s[0] += LIMIT_S
        return "200"

    # Begun at 0, 15 and 30 s, over at 45: the next would begin past 40 s and could last to 60 s, the first wait.
    assert outbox.deliver_due(hooked, NOW, slow, seconds=lambda: gone_s[0]) == 3
    assert gone_s[0] < outbox.WAITS[0].total_seconds()
    assert outbox.deliver_due(hooked, NOW, slow, seconds=lambda: gone_s[0]) == 3


def test_many_instances_send_each_event_once(hooked):
    for revision in range(12):
        announce(hooked, revision=revision)
    takes, lock, start = Takes(), Lock(), Barrier(4)

    def send(webhook, event, now):
        with lock:
            return takes(webhook, event, now)

    def instance():
        with Database(hooked.url.render_as_string(hide_password=False)) as own:
            start.wait()
            outbox.deliver_due(own, NOW, send)

    instances = [Thread(target=instance) for _ in range(4)]
    for each in instances:
        each.start()
    for each in instances:
        each.join()
    assert sorted(body["data"]["plan_revision"] for _, _, body in takes.sent) == list(range(12))


def test_who_was_slower_than_the_wait_does_not_overwrite_what_came_after(hooked):
    announce(hooked)

    def slow(webhook, event, now):
        assert outbox.deliver_due(hooked, now + timedelta(minutes=2), Takes()) == 1
        raise WebhookFailed("events.example took too long")

    outbox.deliver_due(hooked, NOW, slow)
    (event,) = events(hooked)
    assert (event.delivered, event.last_answer, event.tries) == (NOW + timedelta(minutes=2), "204", 2)


def test_an_event_is_replayed_under_its_own_id(hooked):
    announce(hooked)
    (event,) = events(hooked)
    takes = Takes()
    outbox.deliver_due(hooked, NOW, takes)
    later = NOW + timedelta(days=1)
    assert outbox.replay(hooked, later, "quillmere", event.event, "user ann")
    assert not outbox.replay(hooked, later, "otherby", event.event, "user ann")
    assert not outbox.replay(hooked, later, "quillmere", "none", "user ann")
    assert outbox.deliver_due(hooked, later, takes) == 1
    assert [sent for _, sent, _ in takes.sent] == [event.event] * 2
    assert trail_of(hooked)[-1] == ("user ann", "event replayed", event.event)


def test_an_ended_webhook_gets_nothing_more(hooked):
    (webhook,) = open_webhooks(hooked)
    announce(hooked)
    (event,) = events(hooked)
    assert not webhooks.end_webhook(hooked, NOW, "otherby", webhook.webhook, "user ann")
    assert webhooks.end_webhook(hooked, NOW, "quillmere", webhook.webhook, "user ann")
    assert webhooks.end_webhook(hooked, NOW, "quillmere", webhook.webhook, "user ann")  # it has ended, as asked
    assert outbox.deliver_due(hooked, NOW, Takes()) == 0
    assert not outbox.replay(hooked, NOW, "quillmere", event.event, "user ann")
    assert announce(hooked) == 0
    assert open_webhooks(hooked) == []


def test_an_address_that_is_none_is_refused_and_a_site_has_only_so_many(hooked):
    with pytest.raises(InputRefused, match="webhook, url: the address must begin with https://"):
        webhooks.add_webhook(hooked, NOW, "quillmere", "http://events.example/", "test")
    for _ in range(webhooks.MOST_OF_A_SITE - 1):
        webhooks.add_webhook(hooked, NOW, "quillmere", URL, "test")
    with pytest.raises(InputRefused, match="the most it may have"):
        webhooks.add_webhook(hooked, NOW, "quillmere", URL, "test")


def test_what_is_no_event_is_no_event(hooked):
    with pytest.raises(ValueError, match="no event is called lunch"), hooked.writing() as writing:
        outbox.announce(writing, NOW, "quillmere", "lunch", {})


def test_neither_secret_nor_path_of_an_address_is_logged_or_in_the_trail(hooked, caplog):
    caplog.set_level(logging.DEBUG)
    (webhook,) = open_webhooks(hooked)
    announce(hooked)
    outbox.deliver_due(hooked, NOW, refuses)
    assert "try 1: events.example answered 503" in caplog.text
    for text in (caplog.text, str(trail_of(hooked)), repr(webhook)):
        assert "dont-tell" not in text
        assert webhook.secret.removeprefix("whsec_") not in text
