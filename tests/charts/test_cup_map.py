"""The cup map: what it shows, that it reads without colour, and that it lets no text through."""

from __future__ import annotations

from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from etsched.charts.cup_looks import SHADES, rings, shade
from etsched.charts.cup_map import cup_map_svg
from etsched.charts.cup_places import LEAST_APART_PX, cup_places
from etsched.model.visit import Cup, CupTest
from etsched.planning.cup_results import cup_depths, cup_result

SVG = "{http://www.w3.org/2000/svg}"
DEPTHS = (1.0, 3.0, 4.0, 4.0, 4.0, 5.0, 4.0, 7.0)


def grid_test(depths=DEPTHS, columns=4, spacing=2.0, *, placed=True):
    cups = [
        Cup(depth_mm=depth, x_m=at % columns * spacing, y_m=at // columns * spacing) if placed else Cup(depth_mm=depth)
        for at, depth in enumerate(depths)
    ]
    return CupTest((3,), (15.0,), tuple(cups))


def drawn(test, tonight_mm=None, title="Cups", system="metric"):
    text = cup_map_svg(test, cup_result(test), title, system, tonight_mm)
    return text, ElementTree.fromstring(text)  # noqa: S314 - our own


def cups_of(root):
    return {int(part.get("data-cup")): part for part in root.iter(f"{SVG}g") if part.get("data-cup")}


def luminance(colour):
    """Relative luminance as WCAG 2 defines it."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = np.array([int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_each_cup_bears_the_depth_that_its_place_gets_tonight():
    # Mean 4: the driest gets a quarter of tonight's 8 mm, the wettest 7/4 of it.
    _, root = drawn(grid_test(), 8.0)
    cups = cups_of(root)
    assert len(cups) == 8
    assert [cups[number].find(f"{SVG}text").text for number in (1, 2, 3, 8)] == ["2.0", "6.0", "8.0", "14.0"]
    assert cups[1].find(f"{SVG}title").text == "Cup 1: 2.0 mm tonight, 25% of the mean, driest quarter"


def test_without_a_run_each_cup_bears_its_share():
    text, root = drawn(grid_test())
    assert cups_of(root)[8].find(f"{SVG}text").text == "175"
    assert "percent of the mean" in text
    assert "onight" not in text


def test_the_driest_quarter_wears_a_thick_ring_and_the_wettest_a_second_one():
    _, root = drawn(grid_test(), 8.0)
    circles = {number: cup.findall(f"{SVG}circle") for number, cup in cups_of(root).items()}
    assert {number for number, drawn_ in circles.items() if drawn_[-1].get("stroke-width") == "5"} == {1, 2}
    assert {number for number, drawn_ in circles.items() if drawn_[0].get("stroke-width") == "1.8"} == {6, 8}


@pytest.mark.parametrize(
    ("depths", "worn"),
    [
        ([4, 1, 2, 3], ["wet", "dry", "", ""]),
        ([5, 5, 5, 5], ["", "", "", ""]),
        # Six cups: a quarter of 1.5 is two.
        ([1, 2, 3, 4, 5, 6], ["dry", "dry", "", "", "wet", "wet"]),
        # Where one leak carries the mean off, the cups at the top of the rest are not flooded.
        ([1, 1, 1, 1, 1, 1, 1, 99], ["dry", "dry", "", "", "", "", "", "wet"]),
    ],
)
def test_rings_go_to_quarters_that_are_off_the_mean(depths, worn):
    assert rings(np.array(depths, dtype=float)) == worn


def test_shades_darken_from_dry_to_wet_and_figures_stand_out():
    lights = [luminance(each.fill) for each in SHADES]
    assert all(dry - wet > 0.03 for dry, wet in pairwise(lights))
    for each in SHADES:
        low, high = sorted([luminance(each.fill), luminance(each.ink)])
        assert (high + 0.05) / (low + 0.05) >= 4.5  # WCAG 2, level AA
    assert [shade(share).words for share in (0.0, 0.5, 1.0, 1.5, 9.0)] == [SHADES[at].words for at in (0, 1, 3, 5, 5)]


def test_cups_lie_as_they_stood_with_north_up():
    test = grid_test()
    places = cup_places(test, cup_depths(test))
    assert places.x_px[1] - places.x_px[0] == pytest.approx(2.0 * places.px_per_m)
    assert places.y_px[0] - places.y_px[4] == pytest.approx(2.0 * places.px_per_m)
    assert places.has_figures


def test_many_cups_widen_the_sheet_until_figures_fit():
    test = grid_test([4.0, 5.0] * 80, columns=20)
    places = cup_places(test, cup_depths(test))
    assert places.x_px[1] - places.x_px[0] == pytest.approx(LEAST_APART_PX)
    assert places.width_px > 20 * LEAST_APART_PX


def test_two_cups_close_together_in_a_wide_field_do_not_make_a_giant():
    cups = tuple(Cup(depth_mm=4.0, x_m=x, y_m=0.0) for x in (0.0, 0.01, 50.0, 100.0))
    text, root = drawn(CupTest((3,), (15.0,), cups))
    assert float(root.get("width")) < 1700
    assert "too close for figures" in text


def test_cups_without_places_lie_from_dry_to_wet():
    test = grid_test((4.0, 1.0, 9.0, 3.0), placed=False)
    places = cup_places(test, cup_depths(test))
    assert np.argsort(places.x_px).tolist() == [1, 3, 0, 2]
    assert "Nobody noted" in drawn(test)[0]


def test_two_cups_at_one_place_are_not_drawn_over_each_other():
    cups = tuple(Cup(depth_mm=4.0, x_m=x, y_m=0.0) for x in (0.0, 1.0, 1.0, 2.0))
    assert "noted at one place" in drawn(CupTest((3,), (15.0,), cups))[0]


def test_it_tells_itself_to_those_who_do_not_see_it():
    _, root = drawn(grid_test(), 8.0)
    assert root.get("role") == "img"
    assert root.find(f"{SVG}title").text == "Cups"
    told = root.find(f"{SVG}desc").text
    # DU(lq) of the cups: (1 + 3) / 2 over 4.
    assert "8.0 mm on average: 4.0 mm in the driest quarter of the cups, 12.0 mm in the wettest." in told
    assert "Driest quarter: cups 1, 2. Wettest quarter: cups 6, 8." in told


def test_an_area_test_gives_a_depth_and_no_rate():
    test = CupTest((3, 4), (15.0, 10.0), grid_test().cups)
    assert "Depth of the test 4.0 mm" in drawn(test)[0]
    assert "recipitation rate" not in drawn(test)[0]


def test_few_cups_have_no_uniformity_on_the_map():
    text, _ = drawn(grid_test((3.0, 4.0, 4.0, 5.0)), 8.0)
    assert "Too few cups for a uniformity" in text
    # Mean 4: 3/4 and 5/4 of 8 mm.
    assert "6.0 mm in the driest cup, 10.0 mm in the wettest. Driest quarter: cup 1." in text


def test_the_map_says_how_often_its_ranges_hold():
    test = grid_test()
    text, _ = drawn(test)
    words = " ".join(line for line in ElementTree.fromstring(text).itertext())  # noqa: S314 - our own
    assert " ".join(cup_result(test).sureness.split()) in " ".join(words.split())
    assert "with 8 cups" in words


def test_titles_cannot_become_markup_and_the_same_input_gives_the_same_bytes():
    title = '<script>alert("x")</script>\x00 & ' + "very long " * 60
    first, root = drawn(grid_test(), 8.0, title)
    assert "<script" not in first
    assert first == drawn(grid_test(), 8.0, title)[0]
    assert not any(name.tag.endswith("script") for name in root.iter())


def test_american_readers_read_inches_and_feet():
    text, root = drawn(grid_test(), 25.4, system="us")
    # A quarter of an inch in the driest cup; spacing 2 m is 6.6 ft, so the bar is 5 ft long.
    assert cups_of(root)[1].find(f"{SVG}text").text == "0.25"
    assert "5 ft; up is north" in text
