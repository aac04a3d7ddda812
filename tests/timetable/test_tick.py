"""Ticks: every period once, whoever does it and whatever fails; one property's trouble stays its own."""

import gc
import logging
import random
import resource
import sqlite3
import tracemalloc
from collections import Counter
from contextlib import contextmanager
from datetime import UTC, date, datetime, time, timedelta
from multiprocessing import get_context
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
import sqlalchemy as sa
from psycopg.errors import DiskFull

from etsched.errors import FeedFailed, Stopping
from etsched.model.service import JobState
from etsched.stores import job_runs, migrate, plans
from etsched.stores.database import Database
from etsched.stores.schema import job_runs as job_table
from etsched.stores.schema import plans as plan_table
from etsched.stores.schema import site_revisions
from etsched.timetable import due, tick
from etsched.timetable.scheduler import Scheduler
from etsched.timetable.tick import Ticker
from tests.clock_changes import changes
from tests.usecases.made import TIMES, day, live, put, service_on

DAY = timedelta(days=1)
# From the first month to the twelfth, measured 2 MB (with 15 sites; with 200 none from April to May); 8 MB are 30 bytes
# for each of 270,000 jobs. From the fourth day of real jobs to the tenth, measured 0.02 MB; twelve documents that
# were left behind would be 0.8 MB.
MOST_GROWTH_MB, MOST_REAL_MB = 8.0, 0.25


def rows(database):
    with database.reading() as reading:
        return list(reading.execute(sa.select(job_table)).mappings())


def states(database, site):
    return Counter((row["job"], row["state"]) for row in rows(database) if row["site"] == site)


def kept_plans(database, site="quillmere"):
    with database.reading() as reading:
        query = sa.select(plan_table).where(plan_table.c.site == site).order_by(plan_table.c.revision)
        return list(reading.execute(query).mappings())


def check_whole(database, site, first, last):
    """Every job has a row for each date between two, all of them done, and each night one plan."""
    by_job = {job: {} for job in due.JOBS}
    for row in rows(database):
        if row["site"] == site:
            by_job[row["job"]][row["period"]] = row["state"]
    every = [first + n * DAY for n in range((last - first).days + 1)]
    for job, days in by_job.items():
        assert [days.get(each) for each in every] == ["done"] * len(every), job
    made = kept_plans(database, site)
    assert [row["revision"] for row in made] == list(range(1, len(made) + 1))
    assert [row["first_day"] for row in made] == sorted({row["first_day"] for row in made})
    assert {each + DAY for each in every} <= {row["first_day"] for row in made}


def test_a_month_is_lived_once(database):
    service = service_on(database)
    put(service)
    ticker = Ticker(service, "test", TIMES)
    for number in range(1, 32):
        live(service, ticker, number)
        assert ticker.tick() == 0
    check_whole(database, "quillmere", day(1), day(30))
    assert {row["tries"] for row in rows(database)} == {1}
    # Two fetches, a closed day and a plan for each of 31 days; the property was put after the morning's fetch was due.
    assert len(rows(database)) == 4 * 31


def _race(url, number, barrier, instants):
    with Database(url) as database:
        service = service_on(database)
        ticker = Ticker(service, f"racer {number}", TIMES)
        for each in instants:
            barrier.wait(120)
            service.clock.at = each
            ticker.tick()


def test_of_four_processes_each_result_is_made_by_one(database):
    service = service_on(database)
    for key in ("quillmere", "elsewhere"):
        put(service, key)
    zone = ZoneInfo("America/Denver")
    instants = [
        datetime.combine(day(number), wall, tzinfo=zone).astimezone(UTC)
        for number in (1, 2)
        for wall in (time(5, 1), time(5, 31), time(16, 31), time(17, 1))
    ]
    context = get_context("spawn")
    barrier = context.Barrier(4)
    url = database.url.render_as_string(hide_password=False)
    racers = [context.Process(target=_race, args=(url, number, barrier, instants)) for number in range(4)]
    for racer in racers:
        racer.start()
    for racer in racers:
        racer.join(300)
    assert [racer.exitcode for racer in racers] == [0, 0, 0, 0]
    for key in ("quillmere", "elsewhere"):
        check_whole(database, key, day(1), day(1))
    assert {row["fence"] for row in rows(database)} == {1}
    assert len(rows(database)) == 2 * 4 * 2


def test_a_dead_feed_hurts_its_own_property_and_is_told_when_given_up(database, monkeypatch, caplog):
    announced = []
    monkeypatch.setattr(
        tick.outbox, "announce", lambda writing, now, site, kind, body: announced.append((site, kind, body))
    )
    service = service_on(database)
    put(service)
    put(service, "without-weather", zone="America/Phoenix")
    service.weather_of.fails = lambda site: (
        FeedFailed("the feed did not answer") if site.place.zone.key == "America/Phoenix" else None
    )
    ticker = Ticker(service, "test", TIMES)
    with caplog.at_level(logging.WARNING):
        for number in (1, 2, 3):
            live(service, ticker, number)
        for _ in range(30):
            service.clock.at += timedelta(minutes=5)
            ticker.tick()
    check_whole(database, "quillmere", day(1), day(2))
    assert kept_plans(database, "without-weather") == []
    assert not any(state == "done" for _, state in states(database, "without-weather"))
    failed = [row for row in rows(database) if row["state"] == "failed" and row["tries"] == job_runs.MOST_TRIES]
    assert failed
    assert {row["note"] for row in failed if row["job"] in due.FETCHES} == {"the feed did not answer"}
    told = [(body["job"], body["day"]) for site, kind, body in announced if kind == "job failed"]
    assert sorted(told) == sorted((row["job"], row["period"].isoformat()) for row in failed)
    assert "the feed did not answer" in caplog.text
    assert "Traceback" not in caplog.text


def test_a_feed_that_answers_again_is_taken_up(database):
    service = service_on(database)
    put(service)
    ticker = Ticker(service, "test", TIMES)
    live(service, ticker, 1)
    service.weather_of.fails = lambda site: FeedFailed("the feed did not answer")
    live(service, ticker, 2)
    service.weather_of.fails = None
    live(service, ticker, 3)
    assert kept_plans(database)[-1]["first_day"] == day(4)
    assert states(database, "quillmere")["plan tonight", "done"] == 3


def test_a_broken_site_hurts_itself_alone(database):
    service = service_on(database)
    put(service)
    put(service, "broken")
    with database.writing() as writing:
        writing.execute(sa.update(site_revisions).where(site_revisions.c.site == "broken").values(document="name = 3"))
    ticker = Ticker(service, "test", TIMES)
    for number in (1, 2):
        live(service, ticker, number)
    check_whole(database, "quillmere", day(1), day(1))
    own = [row for row in rows(database) if row["site"] == "broken" and row["state"] != "skipped"]
    assert own
    assert {row["state"] for row in own} == {"failed"}
    assert all("broken, " in row["note"] for row in own)


@contextmanager
def full_for(database, site, spared):
    """Let the disk be full for every write of one property but so many first ones of each tick; gives their count."""
    spare = [0]

    def fail(connection, cursor, statement, given, *_):
        if site in str(given) and statement.lstrip().upper().startswith(("INSERT", "UPDATE", "DELETE")):
            spare[0] -= 1
            if spare[0] < 0:
                own = sqlite3.OperationalError("database or disk is full") if database.is_sqlite else DiskFull("full")
                raise sa.exc.OperationalError(statement, {}, own)

    def refill():
        spare[0] = spared

    sa.event.listen(database.engine, "before_cursor_execute", fail)
    try:
        yield refill
    finally:
        sa.event.remove(database.engine, "before_cursor_execute", fail)


@pytest.mark.parametrize("spared", [0, 1, 2], ids=["at the claim", "at the work", "in the midst of the work"])
def test_a_disk_that_is_full_for_one_property_hurts_it_alone(database, caplog, spared):
    service = service_on(database)
    for key in ("hurt", "quillmere"):  # in this order
        put(service, key)
    ticker = Ticker(service, "test", TIMES)
    live(service, ticker, 1)
    whole = kept_plans(database, "hurt")
    with full_for(database, "hurt", spared) as refill:
        for wall in (time(5, 1), time(5, 31), time(16, 31), time(17, 1)):
            service.clock.set(day(2), wall)
            refill()
            ticker.tick()
    assert kept_plans(database, "hurt") == whole
    hurt = [row for row in rows(database) if row["site"] == "hurt"]
    assert not any((row["period"], row["state"]) == (day(2), "done") for row in hurt)
    assert "the disk is full; make room, nothing was changed" in caplog.text
    live(service, ticker, 3)
    check_whole(database, "quillmere", day(1), day(2))
    # With room again it catches up, but for the night that is over.
    hurt = {(row["job"], row["period"]): row["state"] for row in rows(database) if row["site"] == "hurt"}
    assert [hurt[due.CLOSE_DAY, day(number)] for number in (1, 2)] == ["done", "done"]
    assert kept_plans(database, "hurt")[-1]["first_day"] == day(4)


def test_a_defect_is_logged_whole_and_told_in_a_line(database, caplog):
    service = service_on(database)
    put(service)

    def defect(service, claim):
        raise ZeroDivisionError("a secret place")

    ticker = Ticker(service, "test", TIMES, {**tick.WORKS, due.PLAN_TONIGHT: defect})
    live(service, ticker, 1)
    (row,) = (row for row in rows(database) if row["job"] == due.PLAN_TONIGHT)
    assert row["state"] == "failed"
    assert row["note"] == "a defect of the program (ZeroDivisionError); its log says more"
    assert "a secret place" in caplog.text


def test_what_a_dead_worker_left_is_passed_over_when_its_time_is_over(database):
    service = service_on(database)
    put(service)
    service.clock.set(day(1), time(17, 1))
    job_runs.claim(database, due.Period("quillmere", due.PLAN_TONIGHT, day(1)), "dead", service.clock.now())
    service.clock.set(day(1), time(22, 30))
    Ticker(service, "test", TIMES).tick()
    (row,) = (row for row in rows(database) if row["job"] == due.PLAN_TONIGHT)
    assert (row["state"], row["period"]) == ("skipped", day(1))
    assert "its window opened before it could be made" in row["note"]


def test_a_plan_that_a_slow_fetch_pushes_into_the_night_is_passed_over_and_no_failure(database, caplog):
    service = service_on(database)
    put(service)
    service.clock.set(day(1), time(21, 50))
    service.weather_of.fails = lambda site: service.clock.set(day(1), time(22, 5))
    Ticker(service, "test", TIMES).tick()
    assert service.clock.now().astimezone(ZoneInfo("America/Denver")).time() == time(22, 5)
    (row,) = (row for row in rows(database) if row["job"] == due.PLAN_TONIGHT)
    assert (row["state"], row["tries"]) == ("skipped", 1)
    assert row["note"] == "passed over: its window opened before it could be made, and the last plan went on"
    assert "plan tonight" not in caplog.text


class Killed(BaseException):
    """What a kill looks like from inside: nothing after it runs."""


def test_a_job_that_kills_its_process_again_and_again_is_given_up_and_told(database, monkeypatch):
    announced = []
    monkeypatch.setattr(
        tick.outbox, "announce", lambda writing, now, site, kind, body: announced.append((site, kind, body))
    )
    service, tried = service_on(database), []
    put(service)

    def kills(service, claim):
        if claim.period.day != day(1):
            return tick.WORKS[due.CLOSE_DAY](service, claim)
        tried.append(claim.tries)
        raise Killed

    ticker = Ticker(service, "test", TIMES, {**tick.WORKS, due.CLOSE_DAY: kills})
    service.clock.set(day(2), time(5, 31))
    for _ in range(job_runs.MOST_TRIES):
        with pytest.raises(Killed):
            ticker.tick()
        ticker.tick()  # its lease still runs
        service.clock.at += job_runs.LEASE
    for _ in range(3):
        ticker.tick()
        service.clock.at += timedelta(hours=1)
    assert tried == [1, 2, 3, 4, 5]
    closed = {row["period"]: row for row in rows(database) if row["job"] == due.CLOSE_DAY}
    words = closed[day(1)]["note"]
    assert closed[day(1)]["state"] == "failed"
    assert words.startswith("given up after 5 tries: the last one ended with its process")
    told = {"job": "close day", "day": "2026-07-01", "tries_count": 5, "words": words}
    assert announced == [("quillmere", "job failed", told)]
    # The rest of the property goes on, and so does the job itself with its next period.
    live(service, ticker, 3)
    closed = {row["period"]: row for row in rows(database) if row["job"] == due.CLOSE_DAY}
    assert (closed[day(2)]["state"], closed[day(2)]["tries"]) == ("done", 1)
    assert kept_plans(database)[-1]["first_day"] == day(4)


def test_a_fetch_that_a_stop_gives_up_is_made_at_the_next_start_as_if_it_had_not_been_tried(database):
    service = service_on(database)
    put(service)
    service.clock.set(day(1), time(16, 31))
    service.weather_of.fails = lambda site: Stopping("the program is to stop")
    for _ in range(job_runs.MOST_TRIES + 2):  # so many restarts are no failures
        with pytest.raises(Stopping):
            Ticker(service, "stopped", TIMES).tick()
    service.weather_of.fails = None
    Ticker(service, "started again", TIMES).tick()
    (row,) = (row for row in rows(database) if row["job"] == due.REFRESH_EVENING)
    assert (row["state"], row["tries"], row["worker"]) == ("done", 1, "started again")


def test_after_a_week_down_days_are_closed_in_order(database):
    service = service_on(database)
    put(service)
    ticker = Ticker(service, "test", TIMES)
    live(service, ticker, 1)
    service.clock.set(day(8), time(18))
    Ticker(service, "again", TIMES).tick()
    closed = {row["period"]: row["state"] for row in rows(database) if row["job"] == due.CLOSE_DAY}
    assert closed == {day(1) - DAY: "done"} | {day(number): "done" for number in range(1, 8)}
    assert kept_plans(database)[-1]["first_day"] == day(9)
    skipped = {row["period"] for row in rows(database) if row["job"] == due.PLAN_TONIGHT and row["state"] == "skipped"}
    assert skipped == {day(number) for number in range(2, 8)}


def test_days_whose_weather_is_not_kept_are_passed_over(database):
    service = service_on(database)
    put(service)
    ticker = Ticker(service, "test", TIMES)
    live(service, ticker, 1)
    service.weather_of.back_days = 5
    service.clock.set(day(12), time(18))
    ticker.tick()
    closed = {row["period"]: row for row in rows(database) if row["job"] == due.CLOSE_DAY}
    # The books of the seventh need a morning in the weather, which begins on it.
    assert {closed[day(number)]["state"] for number in range(1, 7)} == {"skipped"}
    assert "weather that is kept begins on 2026-07-07" in closed[day(2)]["note"]
    assert {closed[day(number)]["state"] for number in range(7, 12)} == {"done"}
    assert kept_plans(database)[-1]["first_day"] == day(13)


def test_a_tick_is_bounded_and_stops_when_told(database):
    service = service_on(database)
    done = []
    works = dict.fromkeys(due.JOBS, lambda service, claim: stub(service, claim, done))
    for number in range(5):
        put(service, f"site-{number}")
    ticker = Ticker(service, "test", TIMES, works)
    service.clock.set(day(1), time(17, 1))
    assert ticker.tick(most=7) == 7
    assert ticker.tick(stopping=lambda: len(done) >= 9) >= 1
    assert len(done) == 9
    while ticker.tick():
        pass
    assert len(done) == len(set(done))


def test_dead_feeds_do_not_hold_up_what_needs_none(database):
    service = service_on(database)
    asked, done = [], []

    def dead(service, claim):
        asked.append(claim.period.site)
        raise FeedFailed("no answer")

    works = dict.fromkeys(due.JOBS, lambda service, claim: stub(service, claim, done))
    works[due.REFRESH_EVENING] = dead
    for number in range(10):
        put(service, f"site-{number}")
    service.clock.set(day(1), time(17, 1))
    Ticker(service, "test", TIMES, works).tick()
    assert len(asked) == tick.MOST_FAILED_FETCHES
    assert len([each for each in done if each.job == due.PLAN_TONIGHT]) == 10


def stub(service, claim, done):
    """A job that only ends, for tests of the clockwork."""
    with service.database.writing() as writing:
        job_runs.finish(writing, claim, service.clock.now(), JobState.DONE)
    done.append(claim.period)


CITIES = ("America/Denver", "America/Santiago", "Europe/Berlin", "Australia/Lord_Howe", "America/St_Johns")
SITES_OF_A_CITY = 40


class Lived:
    """How often each job of each site was done for each date: a byte each, since a year has 290,000 of them."""

    def __init__(self, sites, begins):
        self.begins = begins - 2 * DAY
        self.counts = np.zeros((sites, len(due.JOBS), 400), np.uint8)

    def note(self, period):
        site, job = int(period.site.removeprefix("site-")), due.JOBS.index(period.job)
        self.counts[site, job, (period.day - self.begins).days] += 1

    def check(self, first, last):
        """Insist that nothing was done twice, and all of some days once."""
        assert self.counts.max() == 1
        within = self.counts[:, :, (first - self.begins).days : (last - self.begins).days + 1]
        missing = [(site, due.JOBS[job], first + int(day) * DAY) for site, job, day in np.argwhere(within != 1)]
        assert missing == []


def lived_by_stubs(database, cities, begins, days_count, seed, monkeypatch, after_day=lambda number: None):
    """Let 40 sites in each city live through days with stub jobs, of which one in twenty fetches fails."""
    chance, lived = random.Random(seed), Lived(SITES_OF_A_CITY * len(cities), begins)  # noqa: S311 - no secrets
    monkeypatch.setattr(tick.outbox, "announce", lambda *words: None)
    begin = datetime.combine(begins, time(0), tzinfo=UTC)
    service = service_on(database, begin)

    def work(service, claim):
        if claim.period.job in due.FETCHES and chance.random() < 0.05:
            raise FeedFailed("no answer")
        with service.database.writing() as writing:
            job_runs.finish(writing, claim, service.clock.now(), JobState.DONE)
        lived.note(claim.period)

    for number in range(SITES_OF_A_CITY * len(cities)):
        put(service, f"site-{number:03}", cities[number % len(cities)])
    ticker = Ticker(service, "test", TIMES, dict.fromkeys(due.JOBS, work))
    for half_hour in range(48 * days_count):
        while ticker.tick() >= tick.MOST_PERIODS:
            pass
        service.clock.at += timedelta(minutes=30)
        if half_hour % 48 == 47:
            after_day(half_hour // 48 + 1)
    return lived


# Cities, the day on which their sites are put, and how many days are lived. All five change their clocks within the
# two long spans, Denver and St John's to winter in the first; the short ones hold the changes that are left.
SPANS = (
    (CITIES, date(2026, 10, 21), 15),
    (CITIES, date(2026, 3, 26), 15),
    (("America/Denver", "America/St_Johns"), date(2026, 3, 5), 7),
    (("America/Santiago",), date(2026, 9, 3), 7),
    (("Australia/Lord_Howe",), date(2026, 10, 1), 7),
)


def checked_days(begins, days_count):
    """All but the ragged ends: the first day, and the last, which is not closed everywhere."""
    return begins + DAY, begins + (days_count - 2) * DAY


def test_the_spans_hold_every_change_of_the_clock_of_every_city():
    for city in CITIES:
        spans = [checked_days(begins, count) for cities, begins, count in SPANS if city in cities]
        of_city = changes(ZoneInfo(city), 2026, 2026)
        assert len(of_city) == 2
        for each in of_city:
            assert any(first + DAY < each < last - DAY for first, last in spans), (city, each)


@pytest.mark.parametrize(("cities", "begins", "days_count"), SPANS)
def test_many_sites_live_over_a_change_of_the_clock(cities, begins, days_count, monkeypatch):
    """Two hundred for a fortnight. With stub jobs: what is tried is the clockwork and the table of job runs."""
    with Database("sqlite://") as database:  # in memory, since a disk would be waited for tens of thousands of times
        migrate.upgrade(database)
        lived = lived_by_stubs(database, cities, begins, days_count, 7, monkeypatch)
    lived.check(*checked_days(begins, days_count))


def resident_kb():
    """Give the memory that this process holds now."""
    gc.collect()
    return int(Path("/proc/self/statm").read_text("ascii").split()[1]) * resource.getpagesize() // 1024


def _live_a_year(url, says):
    """In a process of its own, since in this one the room that other tests left would hide what is lost."""
    months = {}

    def after_day(number):
        if number % 30 == 0:
            months[number // 30] = resident_kb()

    with Database(url) as database, pytest.MonkeyPatch.context() as monkeypatch:
        lived = lived_by_stubs(database, CITIES, date(2026, 1, 1), 366, 9, monkeypatch, after_day)
    says.send((lived, months))


@pytest.mark.slow
def test_a_year_of_two_hundred_sites(tmp_path, record_property):
    """With stub jobs; one in twenty fetches fails, and memory at the end is what it was after a month."""
    url = f"sqlite:///{tmp_path / 'year.db'}"
    with Database(url) as database:
        migrate.upgrade(database)
    hears, says = get_context("spawn").Pipe(duplex=False)
    child = get_context("spawn").Process(target=_live_a_year, args=(url, says))
    child.start()
    says.close()
    lived, months = hears.recv()
    child.join()
    lived.check(date(2026, 1, 2), date(2026, 12, 31))
    growth_mb = (months[12] - months[1]) / 1024
    record_property("year_growth_mb", growth_mb)
    print("\nresident after each month, MB:", [kb // 1024 for kb in months.values()])  # noqa: T201 - it is to be read
    assert growth_mb < MOST_GROWTH_MB


def test_days_of_real_jobs_leave_nothing_in_memory(tmp_path, record_property):
    """What Python holds after ten days is what it held after four; what a plan's making takes is let go again."""
    held = {}
    with Database(f"sqlite:///{tmp_path / 'x.db'}") as database:
        migrate.upgrade(database)
        service = service_on(database)
        for key in ("quillmere", "elsewhere"):
            put(service, key)
        ticker = Ticker(service, "test", TIMES)
        tracemalloc.start()
        try:
            for number in range(1, 11):
                live(service, ticker, number)
                gc.collect()
                held[number] = tracemalloc.get_traced_memory()[0] / 2**20
        finally:
            tracemalloc.stop()
        assert len(kept_plans(database)) == 10
    record_property("real_jobs_growth_mb", held[10] - held[4])
    print("\nheld after each day, MB:", [round(mb, 2) for mb in held.values()])  # noqa: T201 - it is to be read
    assert held[10] - held[4] < MOST_REAL_MB


def test_the_scheduler_works_in_the_background_and_stops(database):
    from threading import Event

    service = service_on(database)
    put(service)
    service.clock.set(day(1), time(17, 1))
    ticked = Event()
    scheduler = Scheduler(service, after_tick=ticked.set)
    scheduler.start()
    assert ticked.wait(60)
    scheduler.stop()
    with database.reading() as reading:
        assert plans.latest_plan(reading, "quillmere").first_day == day(2)
    assert {row["state"] for row in rows(database)} <= {"done", "skipped"}


def test_the_scheduler_outlives_a_database_that_fails(database, caplog):
    service = service_on(database)
    put(service)
    with database.writing() as writing:
        writing.exec_driver_sql("ALTER TABLE job_runs RENAME TO away")
    scheduler = Scheduler(service)
    scheduler._work()
    assert "a tick was given up" in caplog.text
    with database.writing() as writing:
        writing.exec_driver_sql("ALTER TABLE away RENAME TO job_runs")
    service.clock.set(day(1), time(17, 1))
    scheduler._work()
    assert kept_plans(database)


def test_workers_have_names_of_their_own():
    from etsched.timetable.scheduler import worker_name

    assert worker_name() != worker_name()
