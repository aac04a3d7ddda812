"""Cup tests from record to result: hand arithmetic, what is said and what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from etsched.errors import PlanRefused
from etsched.model.visit import Cup, CupTest
from etsched.planning.cup_results import cup_depths, cup_result

ML = (24, 26, 28, 30, 31, 32, 33, 33, 34, 35, 35, 36, 36, 37, 38, 38, 39, 40, 41, 42, 43, 44, 46, 49)
THROAT_CM2 = 16.5 * 2.54**2


def volumes(readings, **fields):
    cups = tuple(Cup(volume_ml=float(ml)) for ml in readings)
    return CupTest(**{"stations": (3,), "minutes_min": (15.0,), "cups": cups, "throat_cm2": THROAT_CM2, **fields})


def depths(readings, **fields):
    return replace(volumes([], **fields), cups=tuple(Cup(depth_mm=float(mm)) for mm in readings), throat_cm2=None)


def test_the_24_cups_of_the_trade():
    result = cup_result(volumes(ML), ("rotor",))
    # 36.25 × 3.66 / (16.5 × 15) = 0.536 in/h with the trade's constant, itself 60 / 2.54³ = 3.6614.
    assert result.rate_mm_h == pytest.approx(36.25 * 60 / 2.54**3 / (16.5 * 15) * 25.4)
    assert result.rate_low_mm_h < result.rate_mm_h < result.rate_high_mm_h
    found = result.uniformity
    assert found.du_lq_caught_fraction == pytest.approx(28.5 / 36.25)
    assert found.du_lq_low_fraction < found.du_lq_fraction < found.du_lq_caught_fraction < found.du_lq_high_fraction
    # The wettest six: 41 to 49 without 40: (42 + 43 + 44 + 46 + 49 + 41) / 6.
    assert result.wettest_quarter_rate_mm_h == pytest.approx(result.rate_mm_h * 265 / 6 / 36.25)
    assert result.remarks == ()
    assert not result.of_area


def test_depths_in_place_of_volumes_say_the_same():
    by_volume, by_depth = cup_result(volumes(ML)), cup_result(depths(cup_depths(volumes(ML))))
    assert by_depth.rate_mm_h == pytest.approx(by_volume.rate_mm_h)
    assert by_depth.uniformity.du_lq_fraction == pytest.approx(by_volume.uniformity.du_lq_fraction)


def test_below_8_cups_there_is_a_rate_and_no_uniformity():
    result = cup_result(depths([3, 4, 5, 4, 3, 5, 4]))
    assert result.rate_mm_h == pytest.approx(16.0)  # 4 mm in 15 min
    assert result.uniformity is None
    assert "7 cups tell a rate and no uniformity" in result.remarks[0]
    assert cup_result(depths([3, 4, 5, 4, 3, 5, 4, 4])).uniformity is not None


def test_fewer_cups_give_wider_ranges():
    def width(result):
        return result.uniformity.du_lq_high_fraction - result.uniformity.du_lq_low_fraction

    eight, twelve, many = (cup_result(depths([3, 4, 5, 4] * times)) for times in (2, 3, 12))
    assert width(eight) > width(twelve) > width(many) > 0.0
    assert eight.rate_high_mm_h > twelve.rate_high_mm_h > many.rate_high_mm_h


def test_stations_that_overlap_tell_the_depth_of_the_area():
    result = cup_result(depths([3, 4, 5, 4] * 6, stations=(4, 7), minutes_min=(15.0, 20.0)))
    assert result.of_area
    assert result.depth_mm == pytest.approx(4.0)
    assert (result.rate_mm_h, result.rate_low_mm_h, result.wettest_quarter_rate_mm_h) == (None, None, None)
    assert result.uniformity is not None
    assert any("Stations 4, 7 ran together" in remark for remark in result.remarks)


@pytest.mark.parametrize(
    ("test", "heads", "said"),
    [
        (volumes(ML[:20]), (), "20 cups, and an audit asks for 24"),
        (volumes(ML[:22]), (), "22 cups are no multiple of 4"),
        (volumes(ML, wind_m_s=3.0), (), "Wind was 7 mph (3.0 m/s), and an audit stops at 5 mph (2.2 m/s)"),
        (volumes([ml / 2 for ml in ML]), (), "The cups caught 18 mL on average, and 25 mL"),
        (volumes(ML), ("spray",), "Station 3 ran 15 min; a spray runs 5 to 10 min"),
        (volumes(ML, minutes_min=(31.0,)), ("rotor",), "a rotor runs 15 to 30 min"),
        # The last cup at 449 mL: mean 1270/24 = 52.9, of the others 821/23 = 35.7: 67 %, so it raises the mean by 33 %.
        (volumes((*ML[:-1], 449)), (), "Cup 24 alone raises the mean by 33%"),
    ],
)
def test_a_broken_rule_is_said_and_not_refused(test, heads, said):
    assert any(said in remark for remark in cup_result(test, heads).remarks)


@pytest.mark.parametrize("wind", [None, 2.0])
def test_nothing_is_said_where_no_rule_is_broken(wind):
    assert cup_result(volumes(ML, wind_m_s=wind), ("multi-stream",)).remarks == ()


@pytest.mark.parametrize(
    ("test", "wrong"),
    [
        (depths([3, 4, 5]), "3 cups tell nothing"),
        (depths([0, 0, 0, 0]), "no cup caught anything"),
        (depths([3, 4, 5, -1]), "less than nothing"),
        (depths([3, 4, 5, float("nan")]), "less than nothing"),
        (volumes(ML, throat_cm2=None), "without the area of their throat"),
        (volumes(ML, throat_cm2=0.0), "without the area of their throat"),
        (volumes(ML, minutes_min=(0.0,)), "for how long"),
        (volumes(ML, stations=()), "which stations ran"),
        (replace(volumes(ML), cups=(Cup(),) * 4), "neither a volume nor a depth"),
    ],
)
def test_cups_that_tell_nothing_are_refused_with_a_reason(test, wrong):
    with pytest.raises(PlanRefused, match=wrong):
        cup_result(test)


def test_cups_that_agree_wholly_are_not_surer_than_cups_can_be():
    found = cup_result(depths([4.0] * 24)).uniformity
    assert found.du_lq_fraction == 1.0
    assert found.du_lq_low_fraction < 1.0
