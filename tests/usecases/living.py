"""Processes that do one thing without end and say each thing after its commit: made to be killed."""

import hashlib
import os
from datetime import UTC, datetime, timedelta

from etsched.stores import migrate, plans, sites, water, webhooks
from etsched.stores.database import Database
from etsched.stores.restore import restore_backup
from etsched.timetable.tick import Ticker
from etsched.usecases import outbox, reports_in
from etsched.usecases.properties import put_site
from tests.usecases.made import TIMES, ZONE, service_on, site_text, told

HOUR = timedelta(hours=1)
REVISIONS = 3  # of each property that is brought in
EVENTS = 3  # announced in one transaction


def live_on(url, says):
    """Go on from the last thing that is kept, an hour a tick; each night is told at seven in the morning."""
    with Database(url) as database:
        service = service_on(database)
        with database.reading() as reading:
            plan = plans.latest_plan(reading, "quillmere")
            weather = water.latest_weather(reading, "quillmere")
        kept = [plan.at] if plan else []
        kept += [weather[0]] if weather else []
        service.clock.at = max([*kept, service.clock.at]).astimezone(UTC).replace(minute=0) + HOUR
        ticker = Ticker(service, f"process {os.getpid()}", TIMES)
        said = plan.revision if plan else 0
        while service.clock.at < datetime(2100, 1, 1, tzinfo=UTC):
            ticker.tick()
            with database.reading() as reading:
                plan = plans.latest_plan(reading, "quillmere")
            if plan is not None and plan.revision > said:
                said = plan.revision
                os.write(says, f"plan {plan.revision} {plan.digest}\n".encode())
            if service.clock.at.astimezone(ZONE).hour == 7:
                night = service.clock.today(ZONE) - timedelta(days=1)
                reports_in.report_applied(service, "quillmere", [told(1, night, 10.0)], [night], "controller")
                os.write(says, f"night {night}\n".encode())
            service.clock.at += HOUR


def site_file(key, revision):
    """Give the file of a property's revision: it says itself which it is."""
    return f"{site_text()}\n# {key}, revision {revision}\n"


def bring_in(url, says):
    """Bring in one property after the other, each in so many revisions."""
    with Database(url) as database:
        service = service_on(database)
        with database.reading() as reading:
            known = sites.list_sites(reading)
        number, revision = (len(known) - 1, known[-1].revision) if known else (0, 0)
        while True:
            if revision == REVISIONS:
                number, revision = number + 1, 0
            key = f"site-{number:05}"
            revision = put_site(service, key, site_file(key, revision + 1), "test", revision).revision
            os.write(says, f"site {key} {revision}\n".encode())


def send_on(url, says, send):
    """Announce events and send what is due, ten minutes a round, so that what a killed one began is due again."""
    with Database(url) as database:
        with database.reading() as reading:
            last = webhooks.events_of(reading, "quillmere", 1)
        now = (last[0].made if last else service_on(database).clock.at) + timedelta(minutes=10)
        while True:
            with database.writing() as writing:
                for number in range(EVENTS):
                    body = {"plan_revision": int(now.timestamp()) + number}
                    outbox.announce(writing, now, "quillmere", "plan made", body)
            with database.reading() as reading:
                made = [event.event for event in webhooks.events_of(reading, "quillmere", EVENTS)]
            os.write(says, f"made {' '.join(made)}\n".encode())
            outbox.deliver_due(database, now, send)
            with database.reading() as reading:
                taken = [event.event for event in webhooks.events_of(reading, "quillmere", EVENTS) if event.delivered]
            os.write(says, f"taken {' '.join(taken)}\n".encode())
            now += timedelta(minutes=10)


def take_steps(url, says):
    """Bring the database to this program's tables, and wait to be killed."""
    import signal

    with Database(url) as database:
        migrate.upgrade(database)
        os.write(says, f"step {migrate.step_of(database)}\n".encode())
    signal.pause()


def take_back(url, says, backup):
    """Restore a backup into a database that holds nothing, and wait to be killed."""
    import signal

    with Database(url) as database:
        os.write(says, f"restored {restore_backup(database, backup)}\n".encode())
    signal.pause()


def digest(text):
    """Tell a text by its digest, as the store of plans does."""
    return hashlib.sha256(text.encode()).hexdigest()
