"""Failed tries by address: counted, forgotten after the window, bounded in memory."""

from datetime import UTC, datetime, timedelta

import pytest

from etsched.usecases.try_limit import TryLimit

NOON = datetime(2026, 7, 14, 12, tzinfo=UTC)


def after(seconds):
    return NOON + timedelta(seconds=seconds)


def test_after_the_most_failures_an_address_waits_until_the_first_leaves_the_window():
    limit = TryLimit(most=3, window=timedelta(seconds=60))
    for at in (0, 10, 20):
        assert limit.wait_s("192.0.2.1", after(at)) == 0
        limit.failed("192.0.2.1", after(at))
    assert limit.wait_s("192.0.2.1", after(20.5)) == 40  # 39.5, in whole seconds
    assert limit.wait_s("192.0.2.2", after(21)) == 0
    assert limit.wait_s("192.0.2.1", after(60)) == 0
    limit.failed("192.0.2.1", after(60))
    assert limit.wait_s("192.0.2.1", after(61)) == 9  # the failure of second 10 is the third last now


@pytest.mark.parametrize(
    ("one", "other", "together"),
    [
        ("2001:db8::1", "2001:db8::ffff:1", True),
        ("2001:db8::1", "2001:db8:0:1::1", False),
        ("::ffff:192.0.2.1", "192.0.2.1", True),
        ("::ffff:192.0.2.1", "::ffff:192.0.2.2", False),
        ("testclient", "testclient", True),
    ],
)
def test_what_counts_as_one_address(one, other, together):
    limit = TryLimit(most=1)
    limit.failed(one, NOON)
    assert (limit.wait_s(other, NOON) > 0) is together


def test_memory_is_bounded_and_the_oldest_is_forgotten():
    limit = TryLimit(most=1, most_addresses=100)
    for number in range(250):
        limit.failed(f"10.0.{number // 256}.{number % 256}", NOON)
    assert len(limit) == 100
    assert limit.wait_s("10.0.0.249", NOON) > 0
    assert limit.wait_s("10.0.0.149", NOON) == 0
