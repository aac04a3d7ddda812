from __future__ import annotations

import itertools

import pytest

from etsched.model.site import Exposure, Head, TurfGroup
from etsched.reference import tables
from etsched.reference.figure import Figure

# FAO-56 Table 19, field capacity minus wilting point, as printed.
TABLE_19 = {
    "sand": (0.05, 0.11),
    "loamy sand": (0.06, 0.12),
    "sandy loam": (0.11, 0.15),
    "loam": (0.13, 0.18),
    "silt loam": (0.13, 0.19),
    "silt": (0.16, 0.20),
    "silty clay loam": (0.13, 0.18),
    "silty clay": (0.13, 0.19),
    "clay": (0.12, 0.20),
}
# Trade table: intake in/h, then surface accumulation in inches on 0-3, 4-6, 7-12 and over 12 %.
TRADE = {
    "clay": (0.10, 0.20, 0.15, 0.10, 0.10),
    "silty clay": (0.15, 0.23, 0.19, 0.16, 0.13),
    "clay loam": (0.20, 0.26, 0.22, 0.18, 0.15),
    "loam": (0.35, 0.30, 0.25, 0.21, 0.17),
    "sandy loam": (0.40, 0.33, 0.29, 0.24, 0.20),
    "loamy sand": (0.50, 0.36, 0.30, 0.26, 0.22),
    "sand": (0.60, 0.40, 0.35, 0.30, 0.25),
}


@pytest.mark.parametrize("texture", TABLE_19)
def test_available_water_is_the_middle_of_the_printed_range(texture):
    low, high = TABLE_19[texture]
    figure = tables.available_water(texture)
    assert (figure.low, figure.high, figure.mark) == (low, high, "read")
    assert figure.value == pytest.approx((low + high) / 2)
    assert "Table 19" in figure.source


def test_clay_loam_which_table_19_lacks_comes_from_memory():
    figure = tables.available_water("clay loam")
    assert (figure.value, figure.low, figure.high, figure.mark) == (0.18, 0.12, 0.20, "memory")
    assert figure.source.endswith("(from memory, to be verified)")


@pytest.mark.parametrize("texture", TRADE)
def test_intake_and_surface_storage_are_the_trade_table_in_millimetres(texture):
    rate, *storage = TRADE[texture]
    assert tables.intake(texture).value == pytest.approx(rate * 25.4)
    assert tables.intake(texture).mark == "read2"
    slopes = (1, 5, 9, 20)
    found = [tables.surface_storage(texture, slope).value for slope in slopes]
    assert found == pytest.approx([depth * 25.4 for depth in storage])
    assert [tables.surface_storage(texture, slope).mark for slope in slopes] == ["read2"] + ["memory"] * 3


@pytest.mark.parametrize(
    ("slope_pct", "inches"),
    [(0, 0.26), (3, 0.26), (3.5, 0.22), (6, 0.22), (6.1, 0.18), (12, 0.18), (12.1, 0.15)],
)
def test_a_slope_between_two_classes_counts_as_the_steeper(slope_pct, inches):
    assert tables.surface_storage("clay loam", slope_pct).value == pytest.approx(inches * 25.4)


@pytest.mark.parametrize(
    ("texture", "nearest"),
    [
        ("silt", "loam"),
        ("silt loam", "loam"),
        ("silty clay loam", "clay loam"),
        ("sandy clay loam", "clay loam"),
        ("sandy clay", "silty clay"),
    ],
)
def test_textures_no_source_prints_take_the_nearest_and_say_so(texture, nearest):
    for found, like in (
        (tables.intake(texture), tables.intake(nearest)),
        (tables.surface_storage(texture, 5), tables.surface_storage(nearest, 5)),
    ):
        assert (found.value, found.low, found.high) == (like.value, like.low, like.high)
        assert found.mark == "memory"
        assert found.source == f"as for {nearest}, by analogy (from memory, to be verified)"


def test_all_twelve_textures_of_the_usda_triangle_are_known():
    assert set(tables.soil_textures()) == {*TABLE_19, *TRADE, "sandy clay loam", "sandy clay"}
    assert len(tables.soil_textures()) == 12


def test_plausible_intake_is_half_to_twice_the_figure():
    figure = tables.intake("clay")
    assert (figure.low, figure.high) == pytest.approx((0.05 * 25.4, 0.20 * 25.4))


def test_typical_heads():
    inches = {head: tables.precip_rate(head) for head in Head}
    assert [inches[head].low / 25.4 for head in Head] == pytest.approx([1.5, 0.3, 0.4])
    assert [inches[head].high / 25.4 for head in Head] == pytest.approx([2.0, 0.6, 0.6])
    assert [inches[head].value / 25.4 for head in Head] == pytest.approx([1.75, 0.45, 0.5])
    assert [tables.uniformity(head).low for head in Head] == [0.40, 0.50, 0.50]
    assert [tables.uniformity(head).high for head in Head] == [0.55, 0.70, 0.70]
    assert [tables.application_efficiency(head).value for head in Head] == [0.85, 0.90, 0.90]
    assert [tables.least_cycle(head).value for head in Head] == [3, 3, 3]


def test_depths_are_held_in_millimetres():
    assert tables.root_depth().value == pytest.approx(152.4)
    assert (tables.root_depth().low, tables.root_depth().high) == pytest.approx((101.6, 203.2))
    assert tables.target_depth().value == pytest.approx(203.2)
    assert tables.target_depth().low == pytest.approx(152.4)


def test_turf_factors():
    assert tables.depletion_fraction("cool-season").value == 0.40
    assert tables.depletion_fraction("warm-season").value == 0.50
    assert [tables.microclimate(exposure).value for exposure in Exposure] == [1.0, 0.85, 0.7, 1.2]
    assert tables.density().value == 1.0
    assert tables.slope().value == 2.0


def test_crop_factors_by_month():
    assert set(tables.crop_sets()) == {"monthly", "flat"}
    cool = tables.crop_factors("monthly", "cool-season")
    warm = tables.crop_factors("monthly", "warm-season")
    assert [figure.value for figure in cool[5:8]] == [0.88, 0.94, 0.86]
    assert [figure.value for figure in warm[:2]] == [0.55, 0.54]
    assert warm[6].value == 0.71
    assert {figure.mark for figure in (*cool, *warm)} == {"read2"}
    assert [figure.value for figure in tables.crop_factors("flat", "cool-season")] == [0.95] * 12
    assert [figure.value for figure in tables.crop_factors("flat", "warm-season")] == [0.85] * 12
    assert "Arizona" in tables.crop_factors("flat", "warm-season")[0].source


def every_figure() -> list[Figure]:
    soils = [
        figure
        for texture in tables.soil_textures()
        for figure in (
            tables.available_water(texture),
            tables.intake(texture),
            *(tables.surface_storage(texture, slope) for slope in (0, 5, 10, 15)),
        )
    ]
    heads = [
        of(head)
        for of in (tables.precip_rate, tables.uniformity, tables.application_efficiency, tables.least_cycle)
        for head in Head
    ]
    turf = [
        figure
        for crop_set, group in itertools.product(tables.crop_sets(), TurfGroup)
        for figure in tables.crop_factors(crop_set, group)
    ]
    rest = [
        tables.slope(),
        tables.density(),
        tables.root_depth(),
        tables.target_depth(),
        *(tables.microclimate(exposure) for exposure in Exposure),
        *(tables.depletion_fraction(group) for group in TurfGroup),
    ]
    return [*soils, *heads, *turf, *rest]


def test_every_figure_lies_within_its_bounds_and_says_how_it_is_known():
    words = {
        "read": "",
        "read2": "second-hand",
        "practice": "common practice, no source",
        "memory": "from memory, to be verified",
    }
    figures = every_figure()
    assert len(figures) > 100
    for figure in figures:
        assert 0 <= figure.low <= figure.value <= figure.high, figure
        assert figure.low < figure.high, figure
        assert len(figure.source) > 20, figure
        assert words[figure.mark] in figure.source, figure


def test_steeper_ground_never_holds_more_water():
    for texture in tables.soil_textures():
        storage = [tables.surface_storage(texture, slope).value for slope in (0, 5, 10, 15)]
        assert storage == sorted(storage, reverse=True)


def test_an_unknown_word_is_an_error():
    with pytest.raises(KeyError):
        tables.available_water("gravel")
    with pytest.raises(KeyError):
        tables.precip_rate("drip")
