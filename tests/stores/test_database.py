"""The database: steps to this program's tables, whole transactions, sentences for what cannot be used."""

from datetime import UTC, date, datetime, timedelta
from threading import Barrier, Thread

import pytest
import sqlalchemy as sa
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from etsched.errors import ClaimLost, StoreRefused
from etsched.model.service import JobState, KeptPlan, KeptSite, Period
from etsched.stores import job_runs, migrate, plans, sites, trail
from etsched.stores.database import Database
from etsched.stores.schema import metadata
from tests.stores.faulty import address, held, impatient, read_only

NOW = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)
SITE = KeptSite("quillmere", "Quillmere Green", "America/Denver", 1, 'name = "Quillmere Green"')
TONIGHT = Period("quillmere", "plan", date(2026, 7, 14))


@pytest.fixture
def with_site(database):
    with database.writing() as writing:
        sites.put_site(writing, SITE, NOW, "test")
    return database


def test_the_steps_make_the_tables_of_the_schema(database):
    with database.reading() as reading:
        context = MigrationContext.configure(reading, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_an_empty_database_is_refused_with_what_to_do(empty_url):
    with Database(empty_url) as empty, pytest.raises(StoreRefused, match="is empty; run etsched migrate"):
        migrate.check(empty)


def test_a_database_of_a_newer_program_is_refused(database):
    with database.writing() as writing:
        writing.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(StoreRefused, match="step 9999, which this program does not know"):
        migrate.check(database)


def test_a_failed_transaction_leaves_nothing(with_site):
    plan = KeptPlan("quillmere", 1, date(2026, 7, 14), NOW, NOW, "{}", "0" * 64)

    def torn():
        with with_site.writing() as writing:
            plans.put_plan(writing, plan)
            raise RuntimeError("pulled")

    with pytest.raises(RuntimeError):
        torn()
    with with_site.reading() as reading:
        assert plans.latest_plan(reading, "quillmere") is None


def test_instants_come_back_as_they_went_in_and_without_an_offset_not_at_all(with_site):
    offset = NOW.astimezone(tz=None)
    plan = KeptPlan("quillmere", 1, date(2026, 7, 14), offset, NOW, "{}", "0" * 64)
    with with_site.writing() as writing:
        plans.put_plan(writing, plan)
    with with_site.reading() as reading:
        kept = plans.latest_plan(reading, "quillmere")
    assert kept == plan
    assert kept.at.utcoffset() == timedelta(0)
    naive = KeptPlan("quillmere", 2, date(2026, 7, 14), datetime(2026, 7, 14), NOW, "{}", "")  # noqa: DTZ001
    with pytest.raises(sa.exc.StatementError, match="does not say its offset"), with_site.writing() as writing:
        plans.put_plan(writing, naive)


def test_a_plan_of_no_site_is_refused_by_the_database(database):
    plan = KeptPlan("nowhere", 1, date(2026, 7, 14), NOW, NOW, "{}", "")
    with pytest.raises(sa.exc.IntegrityError), database.writing() as writing:
        plans.put_plan(writing, plan)


def test_the_trail_only_grows(with_site):
    with with_site.writing() as writing:
        trail.note(writing, NOW, "test", "site put", "quillmere", "revision 1")
    for words in ("UPDATE trail SET actor = 'x'", "DELETE FROM trail"):
        with pytest.raises(sa.exc.DBAPIError, match="stays as it is"), with_site.writing() as writing:
            writing.exec_driver_sql(words)
    with with_site.reading() as reading:
        assert [entry.did for entry in trail.entries(reading)] == ["site put"]


def test_of_many_at_once_one_claims(with_site):
    url, start, claims = str(with_site.url), Barrier(8), []

    def race(number):
        own = Database(url)
        start.wait()
        claims.append(job_runs.claim(own, TONIGHT, f"worker {number}", NOW))
        own.close()

    racers = [Thread(target=race, args=(number,)) for number in range(8)]
    for racer in racers:
        racer.start()
    for racer in racers:
        racer.join()
    assert len(claims) == 8
    assert sum(claim is not None for claim in claims) == 1


def test_who_lost_a_claim_commits_nothing(with_site):
    slow = job_runs.claim(with_site, TONIGHT, "slow", NOW)
    assert job_runs.claim(with_site, TONIGHT, "early", NOW + job_runs.LEASE - timedelta(seconds=1)) is None
    quick = job_runs.claim(with_site, TONIGHT, "quick", NOW + job_runs.LEASE)
    assert (quick.fence, quick.tries) == (slow.fence + 1, 2)
    plan = KeptPlan("quillmere", 1, date(2026, 7, 14), NOW, NOW, "{}", "")

    def commit(claim):
        with with_site.writing() as writing:
            plans.put_plan(writing, plan)
            job_runs.finish(writing, claim, NOW, JobState.DONE)

    with pytest.raises(ClaimLost):
        commit(slow)
    commit(quick)
    assert job_runs.claim(with_site, TONIGHT, "late", NOW + timedelta(days=1)) is None


def test_a_failed_period_is_tried_again_after_a_wait_and_not_for_ever(with_site):
    now = NOW
    for tries in range(1, job_runs.MOST_TRIES + 1):
        claim = job_runs.claim(with_site, TONIGHT, "one", now)
        assert claim.tries == tries
        with with_site.writing() as writing:
            job_runs.finish(writing, claim, now, JobState.FAILED, "the feed is down")
        assert job_runs.claim(with_site, TONIGHT, "one", now) is None
        now += timedelta(minutes=2**tries)
    assert job_runs.claim(with_site, TONIGHT, "one", now + timedelta(days=9)) is None


@pytest.mark.parametrize(
    ("url", "said"),
    [
        ("mysql://host/name", "no database that etsched keeps things in"),
        ("not an address", "address cannot be read"),
        ("sqlite:////no/such/folder/x.db", "name a file in a folder that exists"),
        ("postgresql://nobody@127.0.0.1:1/none", "does not answer"),
    ],
)
def test_what_is_no_database_is_said(url, said):
    with pytest.raises(StoreRefused, match=said), Database(url) as named:
        migrate.check(named)


def test_a_file_that_is_no_database_is_said(tmp_path):
    (tmp_path / "x.db").write_bytes(b"this is a letter to the manager, and no database at all" * 40)
    said = pytest.raises(StoreRefused, match="is no database; name another file")
    with Database(f"sqlite:///{tmp_path / 'x.db'}") as letter, said:
        migrate.check(letter)


def refused_by(database, work):
    """What a whole transaction is refused with."""
    with pytest.raises(StoreRefused) as refused, database.writing() as writing:
        work(writing)
    return str(refused.value)


def put_again(writing):
    sites.put_site(writing, SITE, NOW, "test")


def test_a_database_that_may_only_be_read_is_read_and_says_so(with_site):
    with Database(read_only(with_site)) as readable:
        with readable.reading() as reading:
            assert sites.find_site(reading, "quillmere") == SITE
        assert "it may not be written; give this user the right" in refused_by(readable, put_again)
    with with_site.reading() as reading:
        assert sites.find_site(reading, "quillmere") == SITE


@pytest.mark.parametrize("kind", ["postgresql"])
def test_a_user_without_rights_is_told(with_site):
    with with_site.reading() as reading:
        if not reading.exec_driver_sql("SELECT rolsuper FROM pg_roles WHERE rolname = current_user").scalar():
            pytest.skip("the server does not let this user take another role")
    url = address(with_site, options="-c role=pg_monitor")  # one of the server's own roles, without rights here
    with Database(url) as stranger:
        said = refused_by(stranger, put_again)
    assert "this user lacks a right; give the user the right to read and write its tables (permission denied" in said


def test_missing_tables_are_told_by_name(with_site):
    with with_site.writing() as writing:
        writing.exec_driver_sql("ALTER TABLE plans RENAME TO away")
    said = refused_by(with_site, lambda writing: plans.latest_plan(writing, "quillmere"))
    assert "its tables are missing; run etsched migrate (" in said
    assert "plans" in said


@pytest.mark.parametrize("words", ["SELECT nothing_such FROM sites", "SELEKT 1", "SELECT nothing_such(1)"])
def test_sql_that_cannot_be_done_is_a_defect_and_no_refusal(database, words):
    with pytest.raises(sa.exc.DBAPIError), database.writing() as writing:
        writing.exec_driver_sql(words)


def test_whoever_is_locked_out_is_told_and_gets_in_later(with_site):
    with Database(impatient(with_site)) as waiting:
        with held(with_site):
            assert "another program is writing to it; try again" in refused_by(waiting, put_again)
        with waiting.writing() as writing:
            assert sites.find_site(writing, "quillmere") == SITE


@pytest.mark.parametrize("kind", ["postgresql"])
def test_nobody_waits_for_ever(database):
    with database.reading() as reading:
        assert reading.exec_driver_sql("SHOW lock_timeout").scalar() == "10s"


def test_a_wait_that_is_no_number_is_refused():
    with pytest.raises(StoreRefused, match=r"write \?timeout=10"):
        Database("sqlite:///x.db?timeout=long")
