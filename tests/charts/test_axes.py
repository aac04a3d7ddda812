from datetime import date

import pytest

from etsched.charts.axes import DayAxis, round_axis


@pytest.mark.parametrize(
    ("low", "high", "length", "ticks", "texts"),
    [
        # A tick has 24 px: 148 px hold six steps, 98 px four, 30 px one.
        (0.0, 0.33, 148.0, (0.0, 0.1, 0.2, 0.3, 0.4), ("0.0", "0.1", "0.2", "0.3", "0.4")),
        (
            0.0,
            0.3,
            148.0,
            (0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3),
            ("0.00", "0.05", "0.10", "0.15", "0.20", "0.25", "0.30"),
        ),
        (0.0, 20.0, 98.0, (0.0, 5.0, 10.0, 15.0, 20.0), ("0", "5", "10", "15", "20")),
        (0.0, 20.1, 98.0, (0.0, 10.0, 20.0, 30.0), ("0", "10", "20", "30")),
        (-12.0, 3.0, 98.0, (-15.0, -10.0, -5.0, 0.0, 5.0), ("-15", "-10", "-5", "0", "5")),
        (
            59.0,
            104.0,
            148.0,
            (50.0, 60.0, 70.0, 80.0, 90.0, 100.0, 110.0),
            ("50", "60", "70", "80", "90", "100", "110"),
        ),
        (0.0, 800.0, 98.0, (0.0, 200.0, 400.0, 600.0, 800.0), ("0", "200", "400", "600", "800")),
        (0.0, 7.0, 30.0, (0.0, 10.0), ("0", "10")),
    ],
)
def test_ticks_are_round_and_have_room(low, high, length, ticks, texts):
    axis = round_axis(low, high, length, 0.0)
    assert axis.ticks == ticks
    assert tuple(axis.text(tick) for tick in axis.ticks) == texts


def test_numbers_lie_between_the_ends_in_proportion():
    up, down = round_axis(0.0, 0.4, 148.0, 0.0), round_axis(0.0, 20.0, 30.0, 128.0)
    frost = round_axis(-12.0, 3.0, 98.0, 0.0)  # from -15 to 5
    assert [frost.y(number) for number in (-15.0, 0.0, 5.0)] == pytest.approx([98.0, 24.5, 0.0])
    assert [up.y(number) for number in (0.0, 0.1, 0.4)] == pytest.approx([148.0, 111.0, 0.0])
    assert [down.y(number) for number in (0.0, 5.0, 20.0)] == pytest.approx([30.0, 54.5, 128.0])


def test_days_share_the_width_and_a_missing_day_keeps_its_slot():
    axis = DayAxis(date(2026, 7, 13), 4, 70.0, 400.0)
    assert axis.slot_px == 100.0
    assert axis.begin(date(2026, 7, 15)) == 270.0
    assert axis.middle(date(2026, 7, 16)) == 420.0
