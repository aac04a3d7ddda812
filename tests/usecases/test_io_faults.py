"""The n-th statement of what the service does fails, for n = 1 until none does; likewise the commit.

What is kept is then every row as it was, or what was to be written, and never between. How it is injected says
`tests/stores/test_io_faults.py`.
"""

from contextlib import ExitStack
from datetime import time, timedelta
from functools import cache

import pytest

from etsched.errors import StoreRefused
from etsched.model.access import Holder, Scope
from etsched.stores import webhooks as kept_webhooks
from etsched.stores.database import Database
from etsched.timetable import due
from etsched.timetable.tick import Ticker
from etsched.usecases import daily, outbox, properties, record_visit, reports_in, webhooks
from etsched.web.idempotency import Answer, Write, once
from tests.stores.conftest import new_url
from tests.stores.faulty import failing_commit, failing_statement, refused, rows
from tests.usecases.made import TIMES, claimed, day, live, put, service_on, site_text, told

VISIT = """
date = 2026-07-02
technician = "R. Vale"
site = "Quillmere Green"

[[run]]
station = 1
from_controller = true
wet = ["North lawn"]
first_runoff = "4 min"
"""


@pytest.fixture(scope="module")
def lived(with_tables, tmp_path_factory):
    """Gives, by its kind, a database in which a property has lived for two days: made once, to be copied."""
    with ExitStack() as until_the_end:

        @cache
        def url(kind):
            made = until_the_end.enter_context(new_url(kind, tmp_path_factory.mktemp("lived"), with_tables(kind)))
            with Database(made) as database:
                service = service_on(database)
                put(service)
                webhooks.add_webhook(database, service.clock.now(), "quillmere", "https://events.example/", "test")
                ticker = Ticker(service, "test", TIMES)
                for number in (1, 2):
                    live(service, ticker, number)
                for wall in (time(5, 1), time(5, 31)):
                    service.clock.set(day(3), wall)
                    ticker.tick()
            return made

        yield url


@pytest.fixture
def service(kind, lived, tmp_path):
    with new_url(kind, tmp_path, lived(kind)) as url, Database(url) as database:
        made = service_on(database)
        made.clock.set(day(3), time(7))
        yield made


def report(service):
    ran = [told(1, day(1), 10.0), told(2, day(1), 4.0)]
    return reports_in.report_applied(service, "quillmere", ran, [day(1)], "controller")


def put_changed(service):
    return properties.put_site(service, "quillmere", site_text().replace("South", "Lower"), "test", 1)


def visit(service):
    return record_visit.record_visit(service, "quillmere", VISIT, "R. Vale")


def report_once(service):
    def act(inside):
        return Answer({"new": report(inside)})

    return once(service, Holder("key one", frozenset(Scope), None), Write("one-write", "0" * 64), act)


def closing(service):
    service.clock.set(day(4), time(5, 31))
    claim = claimed(service, due.CLOSE_DAY, 3)
    return lambda: daily.close_day(service, claim)


def planning(service):
    service.clock.set(day(3), time(17, 1))
    claim = claimed(service, due.PLAN_TONIGHT, 3)
    return lambda: daily.plan_tonight(service, claim)


# What is got ready before anything fails, and the tables in which something is written, told by hand.
DEEDS = {
    "report_applied": (
        lambda service: lambda: report(service),
        {"applied", "night_reports", "balances", "trail"},
    ),
    "put_site": (lambda service: lambda: put_changed(service), {"sites", "site_revisions", "trail"}),
    "record_visit": (lambda service: lambda: visit(service), {"visits", "balances", "trail"}),
    "close_day": (closing, {"balances", "job_runs"}),
    "plan_tonight": (planning, {"plans", "outbox", "job_runs"}),
    "a write of the API": (
        lambda service: lambda: report_once(service),
        {"applied", "night_reports", "balances", "trail", "answers_given"},
    ),
}


@pytest.mark.parametrize("deed", DEEDS)
def test_any_statement_of_a_deed_fails_or_its_commit(service, stride, deed):
    ready, written = DEEDS[deed]
    database, act = service.database, ready(service)
    old = rows(database)
    with failing_commit(database):
        assert isinstance(refused(act), StoreRefused)
    assert rows(database) == old
    number = 1
    while True:
        with failing_statement(database, number) as seen:
            error = refused(act)
        if len(seen) < number:
            break
        assert isinstance(error, StoreRefused), number
        assert rows(database) == old, number
        number += 1 if database.is_sqlite else stride
    assert error is None
    assert number > len(written)  # each is written by a statement of its own
    new = rows(database)
    assert {table for table in new if new[table] != old[table]} == written


class Takes:
    """A receiver that takes everything and looks how the event is kept while it does."""

    def __init__(self, database):
        self.database, self.sent = database, []

    def __call__(self, webhook, event, now):
        self.sent.append((event.event, tries_of(self.database, event.event)))
        return "204"


def find(database, event):
    with Database(database.url.render_as_string(hide_password=False)) as fresh, fresh.reading() as reading:
        return kept_webhooks.find_event(reading, event)


def tries_of(database, event):
    return find(database, event).tries


def announced(database, now):
    """Put one more event into the outbox and give its id."""
    with database.writing() as writing:
        outbox.announce(writing, now, "quillmere", "plan made", {"plan_revision": 1})
    with database.reading() as reading:
        (event,) = (each.event for each in kept_webhooks.events_of(reading, "quillmere") if each.delivered is None)
    return event


def test_any_statement_of_a_delivery_fails(service, stride):
    """An event is never lost, never sent before its try is counted, and not sent again once that is known."""
    database, now, takes = service.database, service.clock.now(), Takes(service.database)
    assert outbox.deliver_due(database, now, takes) == 2  # two plans were made
    number, ways = 1, set()
    while True:
        event, takes = announced(database, now), Takes(database)
        with failing_statement(database, number) as seen:
            error = refused(lambda now=now, takes=takes: outbox.deliver_due(database, now, takes))
        if len(seen) < number:
            break
        assert isinstance(error, StoreRefused), number
        left = find(database, event)
        way = (left.tries, left.delivered is not None, list(takes.sent))
        assert way in ((0, False, []), (1, False, [(event, 1)]), (1, True, [(event, 1)])), number
        ways.add(way[:2])
        now += timedelta(minutes=2)  # the wait after a first try is over
        outbox.deliver_due(database, now, takes)
        again = [] if way[1] else [(event, left.tries + 1)]
        assert takes.sent == way[2] + again, number
        assert find(database, event).delivered is not None
        number += 1 if database.is_sqlite else stride
    assert error is None
    assert takes.sent == [(event, 1)]
    if database.is_sqlite:
        assert ways == {(0, False), (1, False), (1, True)}
