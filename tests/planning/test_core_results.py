"""What cores may and may not do to a station's books, by hand arithmetic."""

from __future__ import annotations

from datetime import date

import pytest

from etsched.model.visit import Core, CoreLayer, Cup, CupTest, HeadSeen, Visit
from etsched.planning.core_results import (
    CoverageFaults,
    core_results,
    coverage_faults,
    inches_remarks,
    place_factor,
    stray_cores,
)
from etsched.planning.ground import facts_by_station, ground
from tests.planning.made import known, site, station

FEEL = {
    "dry": (0.0, 0.25),
    "slightly moist": (0.25, 0.5),
    "moist": (0.5, 0.75),
    "wet": (0.75, 1.0),
    "at field capacity": (1.0, 1.0),
}
NOBODY = CoverageFaults()


def core(feel, depth=200.0, **over):
    return Core(station=over.pop("station", 1), layers=(CoreLayer(0.0, depth, feel),), **over)


def judge(*cores, faults=NOBODY, stations=None, **over):
    made = site(*(stations or (station(1, available_water=known(0.18)),)), target_depth_mm=200.0)
    visit = Visit(date(2026, 7, 13), cores=cores, **over)
    return core_results(made, visit, ground(made, facts_by_station(made, 7)), FEEL, faults)


def test_three_cores_set_the_deficit_by_layer():
    (result,) = judge(core("dry"), core("slightly moist"), core("moist"))
    # 0.18 × 150 = 27 mm in the roots, 0.18 × 25 = 4.5 mm in each layer below; the median lacks 62.5 %.
    assert result.thickness_mm == pytest.approx((150.0, 25.0, 25.0))
    assert result.deficit_mm == pytest.approx((16.875, 2.8125, 2.8125))
    assert result.deficit_low_mm[0] == pytest.approx(13.5)
    assert result.deficit_high_mm[0] == pytest.approx(20.25)
    assert result.reason == ""
    assert "62%" in result.sentence
    assert "books start from there" in result.sentence


def test_at_field_capacity_lacks_nothing_and_does_not_outweigh_the_others():
    assert judge(*[core("at field capacity")] * 3)[0].deficit_mm == (0.0, 0.0, 0.0)
    assert judge(core("dry"), core("dry"), core("at field capacity"))[0].deficit_mm[0] == pytest.approx(0.875 * 27)


def test_a_core_read_in_part_weighs_less():
    # 150 mm of roots, 80 read: the class reaches 0.25 × 8/15 + 7/15 = 0.6 about its middle of 12.5 or 87.5 %, cut off
    # at nothing and all: 0.425 wide. Full cores weigh 4 then, these 2.35.
    cores = (core("slightly moist"), core("dry"), core("wet", depth=80.0))
    (result,) = judge(*cores)
    assert result.deficit_mm[0] == pytest.approx(0.625 * 27)
    even = (core("slightly moist"), core("dry"), core("dry", depth=80.0), core("wet", depth=80.0))
    assert judge(*even)[0].deficit_mm[0] == pytest.approx(0.75 * 27)
    # Uncut, a class read in part is 0.6 wide: 4 of the full core against 1.67 each of the other two.
    one = (core("wet"), core("moist", depth=80.0), core("slightly moist", depth=80.0))
    assert judge(*one)[0].deficit_mm[0] == pytest.approx(0.125 * 27)


@pytest.mark.parametrize("count", [1, 2])
def test_fewer_than_three_leave_the_books_alone(count):
    (result,) = judge(*[core("dry")] * count)
    assert result.deficit_mm is None
    assert result.reason.startswith(f"{count} core")
    assert "still reckoned from the weather" in result.sentence


def test_a_lone_dry_core_under_a_bad_head_is_a_local_finding():
    moist = [core("moist", colour="green")] * 3
    heads = (HeadSeen(1, "tilted"),)
    faults = coverage_faults(Visit(date(2026, 7, 13), heads=heads))
    (result,) = judge(*moist, core("dry", colour="brown", area="lawn 1"), faults=faults, heads=heads)
    assert result.deficit_mm[0] == pytest.approx(0.375 * 27)
    assert result.used_count == 3
    assert len(result.local) == 1
    assert "does not run longer" in result.local[0]


def test_dry_cores_in_faulty_patches_only_never_set_the_station():
    named = judge(*[core("dry", area="lawn 1")] * 4, faults=CoverageFaults(areas=frozenset({"lawn 1"})))[0]
    assert named.deficit_mm is None
    assert len(named.local) == 4
    cups = tuple(Cup(depth_mm=depth, x_m=float(n), y_m=0.0) for n, depth in enumerate((2.0, 10.0, 10.0, 10.0)))
    test = CupTest((1,), (10.0,), cups)
    under_a_bad_cup = judge(*[core("dry", x_m=0.0, y_m=0.0)] * 3, cup_tests=(test,))[0]
    assert under_a_bad_cup.deficit_mm is None
    assert judge(*[core("dry", x_m=1.0, y_m=0.0)] * 3, cup_tests=(test,))[0].deficit_mm is not None


def test_a_fault_that_only_warns_makes_no_faulty_patch():
    assert coverage_faults(Visit(date(2026, 7, 13), heads=(HeadSeen(1, "no such word"),))).stations == frozenset()


def test_a_core_of_a_patch_with_a_fault_does_not_set_the_stations_roots():
    """Three sound cores of 200 mm; the fourth, under the bad head, has 127 and would pull the median down."""
    heads = (HeadSeen(1, "tilted"),)
    faults = coverage_faults(Visit(date(2026, 7, 13), heads=heads))
    sound = [core("moist", colour="green", roots_mm=depth) for depth in (190.0, 200.0, 200.0)]
    (result,) = judge(*sound, core("dry", colour="brown", area="lawn 1", roots_mm=127.0), faults=faults, heads=heads)
    assert (result.root_depth_mm, result.rooted_count, result.cores_count) == (200.0, 3, 4)
    (alone,) = judge(core("dry", colour="brown", area="lawn 1", roots_mm=127.0), faults=faults, heads=heads)
    assert (alone.root_depth_mm, alone.rooted_count) == (None, 0)


def test_effective_roots_are_the_median_and_cut_the_layers():
    (result,) = judge(*[core("dry", roots_mm=depth) for depth in (80.0, 100.0, 140.0)])
    assert result.root_depth_mm == 100.0
    assert result.thickness_mm == pytest.approx((100.0, 50.0, 50.0))
    assert result.deficit_mm == pytest.approx((0.875 * 18, 0.875 * 9, 0.875 * 9))


def test_a_depth_that_ends_on_a_stone_is_not_counted_and_said():
    cores = [core("dry", roots_mm=100.0, moist_mm=90.0), core("dry", roots_mm=40.0, moist_mm=40.0, stone_mm=40.0)]
    (result,) = judge(*cores)
    assert (result.root_depth_mm, result.moist_mm) == (100.0, 90.0)
    said = "Station 1: the probe stopped short in 1 of 2 cores; a depth that ends where it stopped is not counted."
    assert said in result.remarks
    assert not any("stone" in remark for remark in result.remarks)  # it may have been a root


def test_below_the_deepest_reading_it_is_said_that_nobody_looked():
    (result,) = judge(*[core("dry", depth=150.0)] * 3)
    assert result.deficit_mm == pytest.approx((23.625, 3.9375, 3.9375))
    assert any("nobody looked" in remark for remark in result.remarks)


@pytest.mark.parametrize(
    ("green", "brown", "words"), [(150, 60, "speaks for water"), (100, 100, "dryness alone"), (60, 150, "deeper")]
)
def test_green_is_held_against_brown(green, brown, words):
    (result,) = judge(Core(station=1, colour="green", moist_mm=green), Core(station=1, colour="brown", moist_mm=brown))
    assert (result.green_moist_mm, result.brown_moist_mm) == (green, brown)
    assert any(words in remark for remark in result.remarks)


def test_a_core_that_names_only_an_area_tells_of_its_stations_and_a_stray_one_is_named():
    shared = (station(1, area="front"), station(2, area="front"), station(3, area="back"))
    results = judge(Core(area="front", moist_mm=100.0), stations=shared)
    assert [result.terminal for result in results] == [1, 2]
    made = site(*shared)
    visit = Visit(date(2026, 7, 13), cores=(Core(area="front"), Core(area="moon"), Core(station=9)))
    assert [text[:6] for text in stray_cores(made, visit)] == ["Core 2", "Core 3"]


def test_a_place_without_position_or_cups_has_no_factor():
    cups = CupTest((1,), (10.0,), (Cup(depth_mm=5.0, x_m=0.0, y_m=0.0), Cup(depth_mm=15.0, x_m=9.0, y_m=0.0)))
    assert place_factor(Core(station=1), (cups,), 1) is None
    assert place_factor(Core(station=1, x_m=1.0, y_m=0.0), (cups,), 2) is None
    assert place_factor(Core(station=1, x_m=1.0, y_m=0.0), (cups,), 1) == pytest.approx(0.5)


def test_printed_inches_are_a_check_that_changes_nothing():
    # Coarse soils, 0–25 %: 1.2 to 0.5 in short a foot. Sand at 8 %: 0.84 in. At 16 % it would lack 1.68 in.
    stations = [station(n, soil="sand", available_water=known(share)) for n, share in ((1, 0.08), (2, 0.16), (3, 0.16))]
    made = site(*stations, target_depth_mm=200.0)
    visit = Visit(date(2026, 7, 13), cores=(core("dry"), core("dry", station=2), core("wet", station=3)))
    under = ground(made, facts_by_station(made, 7))
    printed = {("sand", "dry"): (0.5 * 25.4, 1.2 * 25.4)}
    remarks = inches_remarks(made, visit, under, FEEL, lambda soil, feel: printed.get((soil, feel)))
    assert [remark[:9] for remark in remarks] == ["Station 2"]
