"""Processes are killed at random moments: nothing acknowledged is lost, nothing is torn, nothing is there twice.

The rounds are shared out over five kinds of work: days lived (weather, closed days, plans, reports of runs), properties
brought in, events sent, steps of the tables, backups restored. `-s` shows the counts of each kind, and so does the
record of the tests.
"""

import json
import random
import time
from collections import Counter
from datetime import timedelta
from ipaddress import ip_network
from pathlib import Path

import pytest
import sqlalchemy as sa
from alembic import command

from etsched.model.service import Supposing
from etsched.notify.webhook import WebhookSender
from etsched.stores import migrate, schema, trail
from etsched.stores.backup import write_backup
from etsched.stores.database import Database
from etsched.stores.restore import restore_backup
from etsched.timetable import due
from etsched.usecases import outbox, webhooks
from tests.notify.tls_receiver import make_authority, receiving, says
from tests.stores import full_rows, invented_rows
from tests.usecases import living
from tests.usecases.killing import Killer, counted
from tests.usecases.made import put, service_on

# Of fifty kills a database in the suite, of a thousand in the campaign.
SHARES = {"days": 0.36, "sites": 0.16, "events": 0.16, "steps": 0.16, "restores": 0.16}
MANY_ROWS = 2000  # of a backup, so that there are many moments to be killed at
SLOW_S, FAILS = 0.01, 0.05  # how long a receiver may think, and how often it says that it cannot


@pytest.fixture
def rounds(request):
    """Give how many kills a kind gets."""
    every = 1000 if request.config.getoption("--campaign") else 50
    assert sum(SHARES.values()) == pytest.approx(1.0)
    return {kind: round(every * share) for kind, share in SHARES.items()}


@pytest.fixture
def chance():
    return random.Random(20_260_714)  # noqa: S311 - moments are drawn, no secrets


def address(database):
    """Give the address for a child; a connection must not be shared with it."""
    database.close()
    return database.url.render_as_string(hide_password=False)


def test_days_lived(database, rounds, chance, record_property):
    put(service_on(database))
    with counted("days", record_property) as tally:
        killer = Killer(living.live_on, (address(database),), tally, chance)
        said = killer.first("plan")
        for _ in range(rounds["days"] - 1):
            said += killer.once()
        check_days(database, said, tally)


def check_days(database, said, tally):
    with database.reading() as reading:
        plans = list(reading.execute(sa.select(schema.plans).order_by(schema.plans.c.revision)).mappings())
        jobs = list(reading.execute(sa.select(schema.job_runs)).mappings())
        nights = Counter(reading.execute(sa.select(schema.night_reports.c.opens_on)).scalars())
        ran = Counter(reading.execute(sa.select(schema.applied.c.opens_on)).scalars())
    assert {words[0] for words in said} == {"plan", "night"}
    by_revision = {str(row["revision"]): row["digest"] for row in plans}
    told = {night.isoformat() for night in nights}
    tally.lost += [each for each in said if each[0] == "plan" and by_revision.get(each[1]) != each[2]]
    tally.lost += [each for each in said if each[0] == "night" and each[1] not in told]
    # Every document is whole, a night told is there with its run, and each plan with the job that made it.
    tally.torn += [row["revision"] for row in plans if living.digest(row["document"]) != row["digest"]]
    tally.torn += [row["revision"] for row in plans if first_day(row) != row["first_day"].isoformat()]
    tally.torn += sorted(nights.keys() ^ ran.keys())
    planned = [row for row in jobs if row["job"] == due.PLAN_TONIGHT and row["state"] == "done"]
    first_days = Counter(row["first_day"] for row in plans)
    tally.torn += sorted(first_days.keys() ^ {row["period"] + timedelta(days=1) for row in planned})
    tally.torn += sorted({row["revision"] for row in plans} ^ set(range(1, len(plans) + 1)))
    tally.twice += [day for counts in (first_days, ran) for day, count in counts.items() if count > 1]
    check_water(database, [row for row in jobs if row["state"] == "done"], tally)


def check_water(database, done, tally):
    """Both balances of a morning are there with the close that made them, and weather with its fetch."""
    with database.reading() as reading:
        balances = list(reading.execute(sa.select(schema.balances)).mappings())
        weathers = list(reading.execute(sa.select(schema.weathers)).mappings())
    closed = {row["period"] + timedelta(days=1): row["ended"] for row in done if row["job"] == due.CLOSE_DAY}
    mornings = {row["morning"] for row in balances}
    kept = {day: {row["supposing"]: row["at"] for row in balances if row["morning"] == day} for day in mornings}
    assert closed
    # A night that is told late makes the mornings after it void, until the next close reckons all of them anew; so it
    # does with a morning whose own close was given up, each of its processes having been killed.
    void = closed.keys() - mornings
    tally.torn += [day for day in void if any(later > day for later in mornings)]
    for day in mornings:
        pair = set(kept[day].values())
        whole = kept[day].keys() == {each.value for each in Supposing} and len(pair) == 1
        tally.torn += [] if whole and pair <= {at for later, at in closed.items() if later >= day} else [day]
    tally.torn += [row["morning"] for row in balances if json.loads(row["document"])["deficit_mm"].keys() != {"1", "2"}]
    # A fetch that brings nothing new says so and keeps nothing.
    fresh = {row["ended"] for row in done if row["job"] in due.FETCHES and not row["note"]}
    assert fresh
    tally.torn += sorted(fresh ^ {row["fetched"] for row in weathers})
    tally.torn += [row["fetched"] for row in weathers if living.digest(row["document"]) != row["digest"]]


def first_day(row):
    return json.loads(row["document"])["first_day"]


def test_properties_brought_in(database, rounds, chance, record_property):
    with counted("sites", record_property) as tally:
        killer = Killer(living.bring_in, (address(database),), tally, chance)
        said = killer.first("site", 5)
        for _ in range(rounds["sites"] - 1):
            said += killer.once()
        check_sites(database, said, tally)


def check_sites(database, said, tally):
    with database.reading() as reading:
        held = list(reading.execute(sa.select(schema.sites.c.site, schema.sites.c.revision)).tuples())
        files = list(reading.execute(sa.select(schema.site_revisions)).mappings())
        noted = Counter(reading.execute(sa.select(schema.trail.c.site, schema.trail.c.detail)).tuples())
    assert {words[0] for words in said} == {"site"}
    kept = {(row["site"], row["revision"]): row["document"] for row in files}
    tally.lost += [each for each in said if (each[1], int(each[2])) not in kept]
    # Every file is whole, the last of each property is the one that holds, and the trail tells of all of them.
    tally.torn += [each for each, document in kept.items() if document != living.site_file(*each)]
    tally.torn += sorted(kept.keys() ^ {(site, 1 + n) for site, last in held for n in range(last)})
    tally.torn += sorted({(site, f"revision {number}") for site, number in kept} ^ noted.keys())
    tally.twice += [each for each, count in noted.items() if count > 1]


def test_events_sent(database, rounds, chance, record_property, tmp_path):
    make_authority(tmp_path)
    service = service_on(database)
    put(service)
    answers = random.Random(7)  # noqa: S311 - faults are drawn, no secrets

    def answer(handler):
        time.sleep(answers.uniform(0.0, SLOW_S))
        says(503 if answers.random() < FAILS else 204)(handler)

    sender = WebhookSender((ip_network("127.0.0.0/8"),), tmp_path / "ca.pem", 10.0, lambda host, port: ["127.0.0.1"])
    with receiving(tmp_path, answer) as server, counted("events", record_property) as tally:
        url = f"https://events.example:{server.server_port}/in"
        webhooks.add_webhook(database, service.clock.now(), "quillmere", url, "test")
        killer = Killer(living.send_on, (address(database), sender), tally, chance)
        said = killer.first("taken", 3)
        for _ in range(rounds["events"] - 1):
            said += killer.once()
        # Whoever comes after them sends what they left.
        later = service.clock.now() + timedelta(days=365)
        while outbox.deliver_due(database, later, sender) or waiting(database):
            later += max(outbox.WAITS)
        check_events(database, said, server.came, tally)


def waiting(database):
    with database.reading() as reading:
        return reading.execute(sa.select(sa.func.count()).where(schema.outbox.c.next_try.is_not(None))).scalar()


def check_events(database, said, came, tally):
    with database.reading() as reading:
        kept = {row["event"]: row for row in reading.execute(sa.select(schema.outbox)).mappings()}
    bodies = {(headers["Webhook-Id"], body.decode()) for _, headers, body in came}
    arrived = {event for event, _ in bodies}
    assert {words[0] for words in said} == {"made", "taken"}
    tally.lost += [event for _, *events in said for event in events if event not in kept]
    tally.lost += [event for event, row in kept.items() if event not in arrived or row["delivered"] is None]
    # What arrives is what is kept, word by word at every try, and what was announced together is there together.
    tally.torn += [each for each in bodies if each[0] not in kept or each[1] != kept[each[0]]["body"]]
    together = Counter(row["made"] for row in kept.values())
    tally.torn += [made for made, count in together.items() if count != living.EVENTS]
    tally.twice += [body for body, count in Counter(row["body"] for row in kept.values()).items() if count > 1]


STEP = '''"""Many changes, so that there are many moments to be killed at."""

import sqlalchemy as sa
from alembic import op

revision = "9000"
down_revision = "{before}"


def upgrade() -> None:
    """Add columns and fill them, and make a table."""
    for number in range(10):
        op.add_column("sites", sa.Column(f"more_{{number}}", sa.Text(), nullable=True))
        op.execute(f"UPDATE sites SET more_{{number}} = name")
    op.create_table("more", sa.Column("site", sa.Text(), primary_key=True))
    op.execute("INSERT INTO more (site) SELECT site FROM sites")


def downgrade() -> None:
    """Take them back."""
    op.drop_table("more")
    for number in range(10):
        op.drop_column("sites", f"more_{{number}}")
'''


@pytest.fixture
def step(tmp_path, monkeypatch):
    """A program with one step more than this one; gives the step before it."""
    before = migrate.head()
    folder = tmp_path / "steps"
    folder.mkdir()
    (folder / "9000_more.py").write_text(STEP.format(before=before), encoding="utf-8")
    config_of = migrate._config

    def with_step():
        config = config_of()
        own = Path(migrate.__file__).parent / "migrations" / "versions"
        config.set_main_option("path_separator", "newline")
        config.set_main_option("version_locations", f"{own}\n{folder}")
        return config

    monkeypatch.setattr(migrate, "_config", with_step)
    monkeypatch.setattr(migrate, "head", lambda: "9000")
    return before


def test_steps_taken_from_nothing(empty_url, step, rounds, chance, record_property):
    """Everything or nothing is there, and the next one who takes the steps can."""
    with counted("steps from nothing", record_property) as tally:
        killer = Killer(living.take_steps, (empty_url,), tally, chance)
        said = killer.first("step")
        for number in range(rounds["steps"] // 2):
            if number:
                make_empty(empty_url)
                said = killer.once()
            with Database(empty_url) as database:
                wait_for_the_dead(database)
                check_step(database, said, {migrate.NEW: [], "9000": tables_of("9000")}, tally)
                migrate.upgrade(database)
                check_step(database, [], {"9000": tables_of("9000")}, tally)


def test_steps_taken_from_the_step_before(empty_url, step, rounds, chance, record_property):
    """The old tables or the new ones are there, with every row, and the next one who takes the steps can."""
    with Database(empty_url) as database:
        migrate.upgrade(database, step)
        with database.writing() as writing:
            invented_rows.put(writing)
        invented_rows.put_jobs(database)
    with counted("steps from the one before", record_property) as tally:
        killer = Killer(living.take_steps, (empty_url,), tally, chance)
        said = killer.first("step")
        for number in range(rounds["steps"] // 2):
            if number:
                with Database(empty_url) as database, database.writing() as writing:
                    config = migrate._config()
                    config.attributes["connection"] = writing
                    command.downgrade(config, step)
                said = killer.once()
            with Database(empty_url) as database:
                wait_for_the_dead(database)
                check_step(database, said, {step: tables_of(step), "9000": tables_of("9000")}, tally)
                check_rows(database, tally)
                migrate.upgrade(database)
                check_step(database, [], {"9000": tables_of("9000")}, tally)
                check_rows(database, tally)


def test_backups_restored(empty_url, rounds, chance, record_property, tmp_path):
    """Nothing or everything is there, and whoever finds nothing can restore it."""
    backup = tmp_path / "backup.gz"
    with Database(f"sqlite:///{tmp_path / 'source.db'}") as source:
        migrate.upgrade(source)
        full_rows.fill(source)
        with source.writing() as writing:
            for number in range(MANY_ROWS):
                trail.note(writing, service_on(source).clock.at, "test", "a test", None, f"entry {number}")
        write_backup(source, backup)
        whole = rows_of(source)
    with counted("restores", record_property) as tally:
        killer = Killer(living.take_back, (empty_url, backup), tally, chance)
        said = killer.first("restored")
        found = Counter()
        for number in range(rounds["restores"]):
            if number:
                make_empty(empty_url)
                said = killer.once()
            with Database(empty_url) as database:
                wait_for_the_dead(database)
                check_step(database, said, {migrate.NEW: [], migrate.head(): tables_of(migrate.head())}, tally)
                is_new = migrate.step_of(database) == migrate.NEW
                if is_new:
                    tally.lost += [words for words in said if words[0] == "restored"]
                    restore_backup(database, backup)
                found[is_new] += 1
                tally.torn += [name for name, rows in rows_of(database).items() if rows != whole[name]]
        assert found[True]


def rows_of(database):
    """Give every row of every table, in one order."""
    with database.reading() as reading:
        return {
            table.name: sorted((tuple(row) for row in reading.execute(sa.select(table))), key=repr)
            for table in schema.metadata.sorted_tables
        }


def tables_of(step):
    """Give table and column, of all that a step has."""
    columns = {(table.name, column.name) for table in schema.metadata.tables.values() for column in table.columns}
    columns.add(("alembic_version", "version_num"))
    if step == "9000":
        columns |= {("sites", f"more_{number}") for number in range(10)} | {("more", "site")}
    return sorted(columns)


def check_step(database, said, allowed, tally):
    found = migrate.step_of(database)
    with database.reading() as reading:
        looks = sa.inspect(reading)
        there = [(table, column["name"]) for table in looks.get_table_names() for column in looks.get_columns(table)]
    if ["step", "9000"] in said and found != "9000":
        tally.lost.append(found)
    if found not in allowed or sorted(there) != allowed[found]:
        tally.torn.append((found, there))


def check_rows(database, tally):
    for kept in invented_rows.KEPT:
        with database.reading() as reading:
            if kept.read(reading) != kept.expected:
                tally.lost.append(kept.table)


def make_empty(url):
    """Throw everything away."""
    with Database(url) as database:
        if database.is_sqlite:
            file = Path(database.url.database)
            for each in file.parent.glob(f"{file.name}*"):
                each.unlink()
        else:
            with database.writing() as writing:
                writing.exec_driver_sql("DROP SCHEMA public CASCADE")
                writing.exec_driver_sql("CREATE SCHEMA public")


def wait_for_the_dead(database):
    """A server learns that a client is dead by its closed line, and ends what it was doing for it."""
    others = "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
    while not database.is_sqlite:
        with database.reading() as reading:
            if reading.exec_driver_sql(others).scalar() == 0:
                return
        time.sleep(0.01)
