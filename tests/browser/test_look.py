"""The colours can be told from the ground they stand on, by the contrast that WCAG 2.2 (1.4.3) defines."""

import re

import pytest

NORMAL_TEXT = 4.5  # the least ratio of level AA
PAIRS = [
    ("ink", "paper"), ("soft", "paper"), ("turf", "paper"), ("water", "paper"), ("soil", "paper"), ("wrong", "paper"),
    ("ink", "pale-soil"), ("ink", "pale-turf"), ("ink", "pale-water"), ("soil", "pale-soil"), ("soft", "pale-turf"),
]  # fmt: skip


@pytest.fixture(scope="module")
def colours(root):
    style = (root / "etsched" / "web" / "static" / "etsched.css").read_text("utf-8")
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", style))


def luminance(colour):
    """Relative luminance (WCAG 2.2, its definition in the glossary)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_is_21_to_1():
    """By hand: (1 + 0.05) / (0 + 0.05)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize(("text", "ground"), PAIRS)
def test_text_stands_off_its_ground(colours, text, ground):
    assert contrast(colours[text], colours[ground]) >= NORMAL_TEXT


def test_every_colour_of_the_look_is_looked_at(colours):
    used = {name for pair in PAIRS for name in pair}
    assert set(colours) - used == {"line"}  # rules between rows; nothing is read off them
