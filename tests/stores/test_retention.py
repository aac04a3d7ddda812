"""What is past its limit goes; what holds now, what is in a clock and the trail never do."""

from datetime import UTC, date, datetime, timedelta

import pytest
import sqlalchemy as sa

from etsched.model.access import GivenAnswer
from etsched.model.service import JobState, KeptPlan, KeptSite, KeyedIn, Period
from etsched.model.webhook import OutboxEvent, Webhook
from etsched.stores import answers, job_runs, plans, sites, trail, users, water, webhooks
from etsched.stores.retention import Limits, prune
from etsched.stores.schema import job_runs as job_table
from etsched.stores.schema import outbox, sessions, site_revisions, weathers
from etsched.stores.schema import plans as plans_table
from etsched.usecases import access

NOW = datetime(2026, 7, 14, 3, 0, tzinfo=UTC)
LIMITS = Limits(*(timedelta(days=days) for days in (10, 20, 30, 5, 15, 40)))


def ago(days, seconds=0):
    return NOW - timedelta(days=days, seconds=seconds)


@pytest.fixture
def with_sites(database):
    with database.writing() as writing:
        for site in ("quillmere", "otherby"):
            sites.put_site(writing, KeptSite(site, site.title(), "America/Denver", 1, "1"), ago(900), "test")
    return database


def kept(database, column):
    with database.reading() as reading:
        return list(reading.execute(sa.select(column).order_by(column)).scalars())


def test_a_weather_goes_when_it_was_replaced_long_enough_ago(with_sites):
    with with_sites.writing() as writing:
        for days in (100, 50, 11, 9, 1):
            water.put_weather(writing, "quillmere", ago(days), f"{days}")
        water.put_weather(writing, "otherby", ago(300), "the only one")
    with with_sites.writing() as writing:
        assert prune(writing, NOW, LIMITS)["weathers"] == 2
    # 100 days ago was replaced 50 days ago, 50 days ago 11 days ago; 11 days ago held until 9 days ago.
    assert kept(with_sites, weathers.c.fetched) == [ago(300), ago(11), ago(9), ago(1)]


def test_exactly_at_the_limit_it_is_kept(with_sites):
    with with_sites.writing() as writing:
        water.put_weather(writing, "quillmere", ago(50), "old")
        water.put_weather(writing, "quillmere", ago(10), "new")
        assert prune(writing, NOW, LIMITS)["weathers"] == 0
        assert prune(writing, NOW + timedelta(microseconds=1), LIMITS)["weathers"] == 1


def test_the_site_file_that_holds_now_stays_however_old(with_sites):
    with with_sites.writing() as writing:
        for revision, days in ((2, 40), (3, 25), (4, 19)):
            sites.put_site(writing, KeptSite("quillmere", "Q", "America/Denver", revision, "x"), ago(days), "test")
        assert prune(writing, NOW, LIMITS)["site_revisions"] == 2
    with with_sites.reading() as reading:
        rows = reading.execute(sa.select(site_revisions.c.site, site_revisions.c.revision))
        assert sorted(tuple(row) for row in rows) == [("otherby", 1), ("quillmere", 3), ("quillmere", 4)]
        assert sites.find_site(reading, "quillmere").revision == 4
        assert sites.find_site(reading, "otherby").document == "1"


def test_the_last_plan_and_every_plan_that_was_keyed_in_stay(with_sites):
    with with_sites.writing() as writing:
        for revision, days in ((1, 90), (2, 80), (3, 70), (4, 60), (5, 40)):
            day = (NOW - timedelta(days=days)).date()
            plans.put_plan(writing, KeptPlan("quillmere", revision, day, ago(days), ago(days - 7), "{}", "0"))
        plans.keep_keyed_in(writing, "quillmere", KeyedIn(date(2026, 5, 1), 2, ago(80), "test"))
        plans.put_plan(writing, KeptPlan("otherby", 1, date(2025, 1, 1), ago(500), ago(493), "{}", "0"))
        assert prune(writing, NOW, LIMITS)["plans"] == 3
    assert kept(with_sites, plans_table.c.revision) == [1, 2, 5]
    with with_sites.reading() as reading:
        assert plans.latest_plan(reading, "otherby").revision == 1
        assert plans.keyed_in_on(reading, "quillmere", date(2026, 7, 1)).plan_revision == 2


def test_answers_events_and_sessions(with_sites):
    with with_sites.writing() as writing:
        for name, days in (("old", 5.1), ("new", 4.9)):
            answers.put_answer(writing, GivenAnswer("key a", name, "0" * 64, 200, "{}", ago(days)))
        webhooks.put_webhook(writing, Webhook("w", "quillmere", "https://x.example/", "whsec_", ago(90)))
        for name, made, next_try, delivered in (
            ("delivered long ago", 30, None, ago(16)),
            ("delivered lately", 30, None, ago(14)),
            ("given up long ago", 16, None, None),
            ("given up lately", 14, None, None),
            ("still waiting", 80, NOW, None),
        ):
            event = OutboxEvent(name, "w", "plan made", "{}", ago(made), 1, next_try, delivered)
            webhooks.put_event(writing, event)
    password = "grass grows at night"  # noqa: S105 - an invented one
    access.make_user(with_sites, NOW, "ann", password, access.Role.MANAGER, None)
    with with_sites.writing() as writing:
        users.put_session(writing, "over", "ann", ago(2), NOW)
        users.put_session(writing, "open", "ann", ago(2), NOW + timedelta(seconds=1))
        before = trail.entries(writing)
        removed = prune(writing, NOW, LIMITS)
        assert trail.entries(writing) == before
        assert answers.find_answer(writing, "key a", "old") is None
        assert answers.find_answer(writing, "key a", "new") is not None
    assert (removed["answers_given"], removed["outbox"], removed["sessions"]) == (1, 2, 1)
    assert kept(with_sites, sessions.c.token_hash) == ["open"]
    assert sorted(kept(with_sites, outbox.c.event)) == ["delivered lately", "given up lately", "still waiting"]


def run(database, site, job, days, state, tries=1):
    """Bring a job's period into a state so many days ago, by as many claims as it takes."""
    at = ago(days)
    for number in range(1, tries + 1):
        claim = job_runs.claim(database, Period(site, job, ago(days).date()), "test", at)
        if state is not JobState.RUNNING:
            with database.writing() as writing:
                job_runs.finish(writing, claim, at, state if number == tries else JobState.FAILED)
        at += timedelta(minutes=2**number)


def periods(database):
    """What is left, as days ago, by site and job."""
    left = {}
    with database.reading() as reading:
        for site, job, day in reading.execute(
            sa.select(job_table.c.site, job_table.c.job, job_table.c.period).order_by(job_table.c.period)
        ):
            left.setdefault((site, job), []).append((NOW.date() - day).days)
    return left


def test_job_runs_go_but_the_last_of_each_job_and_what_has_not_ended(with_sites):
    for days in (90, 60, 41, 39, 1):
        run(with_sites, "quillmere", "plan tonight", days, JobState.DONE)
    for days, state, tries in (
        (80, JobState.DONE, 1),
        (70, JobState.RUNNING, 1),
        (65, JobState.FAILED, job_runs.MOST_TRIES - 1),
        (60, JobState.FAILED, job_runs.MOST_TRIES),
        (50, JobState.SKIPPED, 1),
        (45, JobState.DONE, 1),
    ):
        run(with_sites, "quillmere", "close day", days, state, tries)
    run(with_sites, "otherby", "plan tonight", 300, JobState.DONE)
    with with_sites.writing() as writing:
        assert prune(writing, NOW, LIMITS)["job_runs"] == 6
        assert prune(writing, NOW, LIMITS)["job_runs"] == 0
    assert periods(with_sites) == {
        ("quillmere", "plan tonight"): [39, 1],
        ("quillmere", "close day"): [70, 65, 45],  # it runs, it may be tried again, it is the last
        ("otherby", "plan tonight"): [300],
    }
    with with_sites.reading() as reading:
        assert job_runs.last_periods(reading, "otherby", ("plan tonight",)) == {"plan tonight": ago(300).date()}
        unfinished = [period.day for period in job_runs.unfinished(reading, NOW)]
        assert unfinished == [ago(70).date(), ago(65).date()]


def test_a_job_run_that_ended_exactly_at_the_limit_is_kept(with_sites):
    for days in (40, 2):
        run(with_sites, "quillmere", "close day", days, JobState.DONE)
    with with_sites.writing() as writing:
        assert prune(writing, NOW, LIMITS)["job_runs"] == 0
        assert prune(writing, NOW + timedelta(microseconds=1), LIMITS)["job_runs"] == 1


def test_nothing_is_left_to_remove_the_second_time(with_sites):
    with with_sites.writing() as writing:
        for days in (100, 50, 1):
            water.put_weather(writing, "quillmere", ago(days), f"{days}")
        assert sum(prune(writing, NOW, LIMITS).values()) == 1
        assert set(prune(writing, NOW, LIMITS).values()) == {0}
