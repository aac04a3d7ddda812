"""Before a property's first plan: when it comes, by hand from the times of the jobs and the window, and what lacks."""

from datetime import time

import pytest

from etsched.errors import FeedFailed, NoPlanYet, NotKept
from etsched.model.service import JobState
from etsched.stores import job_runs
from etsched.timetable import due
from etsched.timetable.tick import Ticker
from etsched.usecases.first_plan import first_plan, next_plan
from etsched.usecases.kept_plans import tonight_json, week_json, week_plan, why_json
from etsched.usecases.properties import put_away, put_site
from tests.usecases.made import TIMES, claimed, day, live, put, service_on, site_text


def told_at(service, number, wall):
    service.clock.set(day(number), wall)
    return first_plan(service, "quillmere")


# The window opens at 22:00 and the plan is made at 17:00; 1 July 2026 is a Wednesday.
@pytest.mark.parametrize(
    ("wall", "words"),
    [
        (time(6), "on Wed Jul 1 at 5:00 pm"),
        (time(16, 59), "on Wed Jul 1 at 5:00 pm"),
        (time(17), "is due now"),
        (time(21, 59), "is due now"),
        (time(22), "on Thu Jul 2 at 5:00 pm"),
        (time(23, 59), "on Thu Jul 2 at 5:00 pm"),
    ],
)
def test_it_comes_at_the_time_of_the_next_plan_that_can_be_made(database, wall, words):
    service = service_on(database)
    put(service)
    assert words in told_at(service, 1, wall).comes


@pytest.mark.parametrize(
    ("wall", "words"),
    [(time(6), "today about 5:00 pm"), (time(17), "in some minutes"), (time(22), "on Thu Jul 2 about 5:00 pm")],
)
def test_whoever_records_a_visit_is_told_when_the_next_plan_is_made(database, wall, words):
    service = service_on(database)
    put(service)
    service.clock.set(day(1), wall)
    assert next_plan(service, "quillmere") == words


def test_of_a_property_that_is_put_away_no_next_plan_is_told(database):
    service = service_on(database)
    put(service)
    put_away(service, "quillmere", "test")
    assert next_plan(service, "quillmere") == ""


def test_an_early_window_brings_it_forward_by_its_hour(database):
    service = service_on(database)
    put_site(service, "quillmere", site_text().replace('"22:00"', '"17:30"'), "test")
    assert "on Wed Jul 1 at 4:30 pm" in told_at(service, 1, time(6)).comes


def test_what_lacks_is_the_weather_and_then_nothing(database):
    service = service_on(database)
    put(service)
    (lacks,) = first_plan(service, "quillmere").missing
    assert lacks == "Weather: none of it is kept yet. It is fetched every day at 5:00 am and 4:30 pm."
    service.clock.set(day(1), time(5, 1))
    Ticker(service, "test", TIMES).tick()
    assert first_plan(service, "quillmere").missing == ()


def test_a_failed_fetch_is_told_with_its_reason(database):
    service = service_on(database)
    service.weather_of.fails = lambda _: FeedFailed("the feed is away")
    put(service)
    service.clock.set(day(1), time(5, 1))
    Ticker(service, "test", TIMES).tick()
    missing = first_plan(service, "quillmere").missing
    assert 'The last try of the job "refresh weather morning" failed: the feed is away' in missing
    assert len(missing) >= 2


def test_a_plan_that_was_given_up_comes_the_day_after(database):
    service = service_on(database)
    put(service)
    service.clock.set(day(1), time(17, 5))
    claim = claimed(service, due.PLAN_TONIGHT, 1)
    with database.writing() as writing:
        job_runs.finish(writing, claim, service.clock.now(), JobState.FAILED, "no weather")
    assert "is due now" in first_plan(service, "quillmere").comes  # one try of five
    for _ in range(job_runs.MOST_TRIES - 1):
        service.clock.at += job_runs.LEASE * 4
        claim = claimed(service, due.PLAN_TONIGHT, 1)
        with database.writing() as writing:
            job_runs.finish(writing, claim, service.clock.now(), JobState.FAILED, "no weather")
    assert "on Thu Jul 2 at 5:00 pm" in first_plan(service, "quillmere").comes


def test_put_away_nothing_comes(database):
    service = service_on(database)
    put(service)
    put_away(service, "quillmere", "test")
    told = first_plan(service, "quillmere")
    assert told.comes == "No plan comes as things are."
    assert "put away" in told.missing[0]


def test_no_plan_yet_is_not_no_property(database):
    service = service_on(database)
    put(service)
    asks = [
        lambda key: week_plan(service, key),
        lambda key: tonight_json(service, key, None),
        lambda key: week_json(service, key, None),
        lambda key: why_json(service, key, 1, None, None),
    ]
    for ask in asks:
        with pytest.raises(NoPlanYet):
            ask("quillmere")
        with pytest.raises(NotKept) as refused:
            ask("nowhere")
        assert type(refused.value) is NotKept
    live(service, Ticker(service, "test", TIMES), 1)
    for ask in asks:
        ask("quillmere")
