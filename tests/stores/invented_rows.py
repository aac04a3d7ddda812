"""One invented row or more for every table, how it is put, how it is read again, and what must come back.

What must come back is the record that was put, written down here, and never what a database gave.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from etsched.model.access import GivenAnswer, KeyShown, Role, Scope, User
from etsched.model.plan import WaterState
from etsched.model.service import (
    AppliedRun,
    How,
    JobRun,
    JobState,
    KeptBalance,
    KeptPlan,
    KeptSite,
    KeptVisit,
    KeyedIn,
    Period,
    Supposing,
    TrailEntry,
)
from etsched.model.webhook import OutboxEvent, Webhook
from etsched.stores import answers, calendars, job_runs, keys, plans, sites, trail, users, visits, water, webhooks

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from etsched.stores.database import Database

AT = datetime(2026, 7, 13, 23, 5, 7, 250_000, tzinfo=UTC)
LATER = AT + timedelta(days=1)
NIGHT = date(2026, 7, 13)
KEY = "quillmere-green"

FIRST_FILE = 'name = "Quillmere Green"\n# « the first file »\n'
SITE = KeptSite(KEY, "Quillmere Green", "America/Denver", 2, 'name = "Quillmere Green"\nunits = "us"\n')
AWAY = KeptSite("fernhollow", "Fernhollow; it's \"away\"", "Australia/Lord_Howe", 1, "-- none --", LATER)
PLAN = KeptPlan(KEY, 1, date(2026, 7, 14), AT, LATER, '{"schema":"etsched.week/1","name":"Ünïcode ✓"}', "a" * 64)
DEFICIT, THICKNESS = {1: (1.5, 0.25, 0.0), 12: (0.1, 0.2, 0.3)}, {1: (150.0, 75.0, 75.0), 12: (3.0, 4.0, 5.0)}
WATER = WaterState(date(2026, 7, 14), DEFICIT, THICKNESS)
BALANCES = {each: KeptBalance(KEY, each, WATER, AT) for each in Supposing}
RUNS = [
    AppliedRun("r-1", 1, NIGHT, 7.5, How.PROGRAM, AT),
    AppliedRun("r-2", 2, NIGHT, 0.0, How.CUT_SHORT),
    AppliedRun("r-3", 2, NIGHT, 3.0, How.HAND),
]
VISIT = KeptVisit("v-1", KEY, NIGHT, "date = 2026-07-13\n", '{"findings": []}', AT, "ann")
DONE, FAILED = Period(KEY, "plan tonight", NIGHT), Period(KEY, "close day", NIGHT)
JOB_RUNS = [
    JobRun(FAILED, JobState.FAILED, 1, AT, AT, "the feed is down"),
    JobRun(DONE, JobState.DONE, 1, AT, AT, ""),
]
BOUND = KeyShown("k1", "the controller", frozenset({Scope.READ, Scope.REPORT}), frozenset({KEY}), AT, LATER)
FREE = KeyShown("k2", "the office", frozenset(Scope), None, AT)
PERSON = User("ann", Role.TECHNICIAN, frozenset({KEY}), AT)
SHUT = User("bo", Role.ADMIN, None, AT, LATER)
ANSWER = GivenAnswer("k1", "one-write", "b" * 64, 201, '{"new": 3}', AT)
WEBHOOK = Webhook("w-1", KEY, "https://receiver.example.org/hook?a=b", "whsec_c2VjcmV0", AT)
EVENT = OutboxEvent("e-1", "w-1", "plan made", '{"type": "plan made"}', AT, 1, LATER, None, "answered 503")
KEYED = KeyedIn(NIGHT, 1, AT, "ann")


def put(writing: Connection) -> None:
    """Put everything."""
    sites.put_site(writing, replace(SITE, revision=1, document=FIRST_FILE), AT, "ann")
    sites.put_site(writing, SITE, AT, "ann")
    sites.put_site(writing, AWAY, AT, "ann")
    water.put_weather(writing, KEY, AT, '{"daily": []}')
    plans.put_plan(writing, PLAN)
    plans.keep_keyed_in(writing, KEY, KEYED)
    for balance in BALANCES.values():
        water.put_balance(writing, balance)
    water.put_applied(writing, KEY, RUNS, AT, "k1")
    water.put_night_report(writing, KEY, NIGHT, AT, "k1")
    visits.put_visit(writing, VISIT)
    keys.put_key(writing, BOUND, "c" * 64)
    keys.put_key(writing, FREE, "d" * 64)
    users.put_user(writing, PERSON, "scrypt$1$2$3")
    users.put_user(writing, SHUT, "scrypt$4$5$6")
    users.put_session(writing, "e" * 64, "ann", AT, LATER)
    answers.put_answer(writing, ANSWER)
    webhooks.put_webhook(writing, WEBHOOK)
    webhooks.put_event(writing, EVENT)
    calendars.put_address(writing, KEY, "f" * 64, AT)
    trail.note(writing, AT, "ann", "site put", KEY, "revision 1")
    trail.note(writing, LATER, "cron", "pruned")


def put_jobs(database: Database) -> None:
    """Put job runs, each a claim of its own transaction, as a worker does."""
    for period, state, note in ((DONE, JobState.DONE, ""), (FAILED, JobState.FAILED, "the feed is down")):
        claim = job_runs.claim(database, period, "worker 1", AT)
        assert claim is not None
        with database.writing() as writing:
            job_runs.finish(writing, claim, AT, state, note)


@dataclass(frozen=True)
class Kept:
    """How one thing is read again, and what must come back."""

    table: str
    read: Callable[[Connection], object]
    expected: object


KEPT = (
    Kept("sites", lambda reading: sites.find_site(reading, KEY), SITE),
    Kept("sites", lambda reading: sites.find_site(reading, "fernhollow"), AWAY),
    Kept("site_revisions", lambda reading: sites.find_revision(reading, KEY, 1), FIRST_FILE),
    Kept("weathers", lambda reading: water.latest_weather(reading, KEY), (AT, '{"daily": []}')),
    Kept("plans", lambda reading: plans.latest_plan(reading, KEY), PLAN),
    Kept("tables_keyed_in", lambda reading: plans.keyed_in_on(reading, KEY, NIGHT), KEYED),
    *(
        Kept("balances", lambda reading, each=each: water.latest_balance(reading, KEY, each), balance)
        for each, balance in BALANCES.items()
    ),
    Kept("applied", lambda reading: water.applied_between(reading, KEY, NIGHT, NIGHT), RUNS),
    Kept("night_reports", lambda reading: water.last_report(reading, KEY), NIGHT),
    Kept("visits", lambda reading: visits.visits_of(reading, KEY), [VISIT]),
    Kept("job_runs", lambda reading: job_runs.last_runs(reading, KEY), JOB_RUNS),
    Kept("keys", lambda reading: keys.find_key(reading, "k2"), (FREE, "d" * 64)),
    Kept("key_sites", lambda reading: keys.find_key(reading, "k1"), (BOUND, "c" * 64)),
    Kept("users", lambda reading: users.find_user(reading, "bo"), (SHUT, "scrypt$4$5$6")),
    Kept("user_sites", lambda reading: users.find_user(reading, "ann"), (PERSON, "scrypt$1$2$3")),
    Kept("sessions", lambda reading: users.user_of_session(reading, "e" * 64, AT), PERSON),
    Kept("answers_given", lambda reading: answers.find_answer(reading, "k1", "one-write"), ANSWER),
    Kept("webhooks", lambda reading: webhooks.webhooks_of(reading, KEY), [WEBHOOK]),
    Kept("outbox", lambda reading: webhooks.find_event(reading, "e-1"), EVENT),
    Kept("calendar_addresses", lambda reading: calendars.site_of_address(reading, "f" * 64), KEY),
    Kept(
        "trail",
        trail.entries,
        [
            TrailEntry(1, AT, "ann", "site put", KEY, "revision 1"),
            TrailEntry(2, LATER, "cron", "pruned", None, ""),
        ],
    ),
)
