"""When jobs are due: every local date once, whatever the clocks do, and what was missed is caught up in order."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched.timetable import due
from tests.clock_changes import ZONES, changes
from tests.usecases.made import TIMES

DENVER = due.Wall(ZoneInfo("America/Denver"), time(22), time(6))
DAY = timedelta(days=1)
FIRST = datetime(2020, 1, 1, tzinfo=UTC)


def lived(wall, times, begun, until, step):
    """Live through some time as a tick does, and give what was settled, in order."""
    next_days, now, settled = due.first_days(wall, begun), begun, []
    while now < until:
        for each in due.due_periods("x", wall, times, now, next_days):
            settled.append((each.period.job, each.period.day, each.passed, now))
            next_days[each.period.job] = each.period.day + DAY
        now += step
    return settled


def check_every_date_once(wall, times, first, last, step=timedelta(minutes=20)):
    begun = datetime.combine(first, time(12), tzinfo=wall.zone).astimezone(UTC)
    until = datetime.combine(last + DAY, time(12), tzinfo=wall.zone).astimezone(UTC)
    settled = lived(wall, times, begun, until, step)
    every = [first + n * DAY for n in range((last - first).days + 1)]
    for job in due.JOBS:
        own = [(day, passed) for name, day, passed, _ in settled if name == job]
        days = [day for day, _ in own]
        assert days == [days[0] + n * DAY for n in range(len(days))], (wall.zone, job)
        assert set(every) <= set(days), (wall.zone, job)
        # The property was put at noon, so that only the morning's fetch of its first day is over.
        assert [day for day, passed in own if passed and day > first] == [], (wall.zone, job)


# At the hours at which clocks change, so that both doubtful hours hold every job.
NIGHTLY = replace(
    TIMES, refresh_morning=time(0, 30), close_day=time(1, 30), refresh_evening=time(2, 30), plan_tonight=time(3, 10)
)


@pytest.mark.parametrize("name", ZONES)
def test_every_local_date_comes_once_around_each_change(name):
    zone = ZoneInfo(name)
    for change in changes(zone, 2025, 2026)[:4]:
        for times in (TIMES, NIGHTLY):
            check_every_date_once(due.Wall(zone, time(22), time(6)), times, change - 3 * DAY, change + 3 * DAY)


@pytest.mark.slow
@pytest.mark.parametrize("name", ZONES)
def test_every_local_date_comes_once_2020_to_2037(name):
    zone = ZoneInfo(name)
    for change in changes(zone, 2020, 2037):
        for times in (TIMES, NIGHTLY):
            check_every_date_once(due.Wall(zone, time(22), time(6)), times, change - 3 * DAY, change + 3 * DAY)


def test_a_time_that_is_left_out_comes_at_the_first_instant_after_the_gap():
    # In Denver on 8 March 2026 the clock goes from 2:00 (9:00 UTC) to 3:00.
    times = replace(TIMES, refresh_morning=time(2, 30))
    assert due.due_at(due.REFRESH_MORNING, date(2026, 3, 8), DENVER, times) == datetime(2026, 3, 8, 9, 0, tzinfo=UTC)


def test_a_time_that_comes_twice_is_taken_at_its_first_reading():
    # On 1 November 2026 it shows 1:30 at 7:30 UTC and again at 8:30 UTC.
    times = replace(TIMES, refresh_morning=time(1, 30))
    assert due.due_at(due.REFRESH_MORNING, date(2026, 11, 1), DENVER, times) == datetime(2026, 11, 1, 7, 30, tzinfo=UTC)


def test_a_plan_comes_an_hour_before_a_window_that_opens_early():
    early = replace(DENVER, opens_at=time(16))
    assert due.due_at(due.PLAN_TONIGHT, date(2026, 7, 1), early, TIMES) == datetime(2026, 7, 1, 21, 0, tzinfo=UTC)
    assert due.due_at(due.PLAN_TONIGHT, date(2026, 7, 1), DENVER, TIMES) == datetime(2026, 7, 1, 23, 0, tzinfo=UTC)


def test_after_three_days_down_days_are_closed_in_order_and_what_is_over_is_passed_over():
    begun = datetime(2026, 7, 1, 12, tzinfo=UTC)
    next_days = due.after_last(DENVER, begun, [(job, date(2026, 7, 1)) for job in due.JOBS])
    now = datetime(2026, 7, 5, 0, 0, tzinfo=UTC)  # six in the evening of the fourth in Denver
    found = due.due_periods("x", DENVER, TIMES, now, next_days)
    todo = [(each.period.job, each.period.day.day) for each in found if not each.passed]
    # Closing the third is the last; the fourth is not over.
    assert todo == [
        ("refresh weather evening", 4),
        ("close day", 2),
        ("close day", 3),
        ("plan tonight", 4),
    ]
    over = {(each.period.job, each.period.day.day): each.passed for each in found if each.passed}
    assert sorted(over) == [
        ("plan tonight", 2),
        ("plan tonight", 3),
        ("refresh weather evening", 2),
        ("refresh weather evening", 3),
        ("refresh weather morning", 2),
        ("refresh weather morning", 3),
        ("refresh weather morning", 4),
    ]
    assert "its window opened before it could be made" in over["plan tonight", 2]


@given(
    st.sampled_from(ZONES),
    st.integers(0, 17 * 365 * 24 * 60).map(lambda minutes: FIRST + timedelta(minutes=minutes)),
    st.lists(st.timedeltas(timedelta(minutes=1), timedelta(days=4)), min_size=1, max_size=30),
    st.times(),
)
def test_whatever_the_pauses_no_date_is_left_out_or_doubled(name, begun, pauses, opens_at):
    wall = due.Wall(ZoneInfo(name), opens_at.replace(second=0, microsecond=0), time(6))
    next_days, now, days = due.first_days(wall, begun), begun, {job: [] for job in due.JOBS}
    for pause in pauses:
        for each in due.due_periods("x", wall, TIMES, now, next_days):
            assert each.since <= now
            days[each.period.job].append(each.period.day)
            next_days[each.period.job] = each.period.day + DAY
        assert due.next_due(wall, TIMES, next_days) > now
        now += pause
    for own in days.values():
        assert own == [own[0] + n * DAY for n in range(len(own))] if own else True
