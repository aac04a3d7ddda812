from xml.etree.ElementTree import Element, tostring

import pytest

from etsched.charts.drawing import element, legible, px, width_px, words, wrapped


@pytest.mark.parametrize(
    ("value", "text"), [(1.0, "1"), (12.3456, "12.35"), (-0.001, "0"), (100.0, "100"), (0.5, "0.5"), (-3.25, "-3.25")]
)
def test_coordinates_are_short(value, text):
    assert px(value) == text


def test_attributes_keep_their_order_and_text_is_escaped():
    root = Element("svg")
    words(root, '<b>&"', 1.0, 2.5, text_anchor="end", class_="x")
    element(root, "rect", stroke_width=1.5, patternUnits="a")
    assert tostring(root, encoding="unicode") == (
        '<svg><text x="1" y="2.5" text-anchor="end" class="x">&lt;b&gt;&amp;"</text>'
        '<rect stroke-width="1.5" patternUnits="a" /></svg>'
    )


def test_what_xml_cannot_hold_becomes_a_space():
    assert legible("a\x00b\ufffec\ud800d\te\u202ef") == "a b c d ef"


def test_lines_break_at_spaces_and_long_words_anywhere():
    # A small letter is rated 0.57 of the size, a space 0.35: "aa aa" takes 2.63 em, "aa aa aa" 4.12 em.
    assert wrapped("aa aa aa", 10.0, 41.2) == ["aa aa aa"]
    assert wrapped("aa aa aa", 10.0, 41.0) == ["aa aa", "aa"]
    assert wrapped("a" * 7, 10.0, 18.0) == ["aaa", "aaa", "a"]
    assert wrapped("W", 10.0, 1.0) == ["W"]
    assert wrapped("", 10.0, 100.0) == []


def test_wide_letters_count_as_wide():
    assert width_px("WW", 10.0) > 1.5 * width_px("aa", 10.0)
    assert width_px("水", 10.0) >= 10.0
