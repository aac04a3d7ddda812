import pytest

from etsched.reports.strip import Bar, night_strip
from tests.reports.sample_week import sample_week


def test_bars_lie_where_the_cycles_lie_in_the_window():
    plan = sample_week()
    strip = night_strip(plan, plan.nights[0], "us")  # 150 min long
    assert [lane.terminal for lane in strip.lanes] == [1, 4, 7]
    # Station 7: 42 to 54, 84 to 95 and 134 to 145 min; 12/150 = 8 %, 11/150 = 7.333 %.
    assert strip.lanes[2].bars == (Bar(28.0, 8.0), Bar(56.0, 7.333), Bar(89.333, 7.333))
    assert strip.ticks == ((0.0, "10:00 pm"), (40.0, "11:00 pm"), (80.0, "12:00 am"))


@pytest.mark.parametrize("night", [0, 1])
def test_no_bar_leaves_the_night(night):
    plan = sample_week()
    for lane in night_strip(plan, plan.nights[night], "us").lanes:
        assert all(0.0 <= bar.left_pct <= bar.left_pct + bar.width_pct <= 100.0 for bar in lane.bars)
