from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched.documents.lines import line_of

TEXT = '''# a comment with [brackets] and "quotes"
name = "Somewhere # not a comment"

[place]
  latitude = 37.4
"time_zone" = 'America/Los_Angeles'   # [no.header]
note = """
[[station]]
soil = "inside a string"
"""

[watering]
water_days = [
    "Mon",  # ]
    "Thu",
]
max_flow = "20 gpm"

[[station]]
terminal = 1
soil = "loam"

[[station]]
terminal = 2
precip_rate = { value = "0.4 in/h", known = "measured" }

[[ station ]]
terminal = 3

[station.extra]
deep.key = 1
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("name",), 2),
        (("place",), 4),
        (("place", "latitude"), 5),
        (("place", "time_zone"), 6),
        (("place", "note"), 7),
        (("watering",), 12),
        (("watering", "water_days"), 13),
        (("watering", "water_days", 1), 13),
        (("watering", "max_flow"), 17),
        (("station",), 19),
        (("station", 0), 19),
        (("station", 0, "soil"), 21),
        (("station", 1, "terminal"), 24),
        (("station", 1, "precip_rate", "known"), 25),
        (("station", 1, "soil"), 23),
        (("station", 2), 27),
        (("station", 2, "terminal"), 28),
        (("station", 2, "extra"), 30),
        (("station", 2, "extra", "deep", "key"), 31),
        (("place", "elevation"), 4),
        (("units",), None),
        ((), None),
    ],
)
def test_finds_the_line_of_a_key_or_of_the_table_around_it(path, line):
    assert line_of(TEXT, path) == line


def test_counts_windows_line_ends_once():
    assert line_of(TEXT.replace("\n", "\r\n"), ("station", 1, "terminal")) == 24


def test_a_broken_text_still_gives_the_lines_above_the_break():
    assert line_of('name = "x"\n[place]\nlatitude = [1, 2\n"""', ("place", "latitude")) == 3


KEY = st.from_regex(r"[a-z]{1,6}", fullmatch=True)


@given(st.lists(st.lists(KEY, unique=True, max_size=4), min_size=1, max_size=5), st.integers(0, 3))
def test_agrees_with_a_count_made_while_writing(tables, blanks):
    lines: list[str] = []
    wanted: dict[tuple[str | int, ...], int] = {}
    for number, keys in enumerate(tables):
        lines += [""] * blanks + ["[[t]]"]
        wanted["t", number] = len(lines)
        for key in keys:
            lines += [f'{key} = [ "]",', " # ]", "]"]
            wanted["t", number, key] = len(lines) - 2
    text = "\n".join(lines)
    tomllib.loads(text)
    assert {path: line_of(text, path) for path in wanted} == wanted


@given(st.text(alphabet="[]{}\"'#=.a\n\\ ", max_size=60))
def test_never_raises(text):
    assert line_of(text, ("a", 0, "a")) in {None, *range(1, text.count("\n") + 2)}
