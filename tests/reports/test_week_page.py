import re
from dataclasses import replace
from html.parser import HTMLParser
from importlib import resources
from typing import get_args

import pytest

from etsched.reports.week_page import week_page
from etsched.tables.week import State
from tests.reports.sample_week import large_week, renamed, sample_week

VOID = {"meta", "br", "input"}


class Page(HTMLParser):
    """Collects tags, attributes and text, and checks that every element is closed in its turn."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.tags, self.attributes, self.open, self.texts = [], [], [], []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, *pair) for pair in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" not in self.open:
            self.texts.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.texts).split())


def test_stands_alone():
    text = week_page(sample_week())
    page = Page(text)
    assert text.startswith("<!DOCTYPE html>")
    assert not {"script", "link", "img", "a", "iframe", "form"} & set(page.tags)
    assert not [a for a in page.attributes if a[1] in {"src", "href"} or a[1].startswith("on")]
    assert "url(" not in text
    assert "@import" not in text
    assert "http" not in re.sub(r'http-equiv="Content-Security-Policy"', "", text)


def test_same_bytes_for_the_same_plan():
    assert week_page(sample_week()) == week_page(sample_week())


@pytest.mark.parametrize(
    "sentence",
    [
        "Larkmoor Green",
        "Nights Sun Jul 12–Sat Jul 18, 2026",
        "Weather observed through Mon Jul 13; forecast Tue Jul 14–Fri Jul 17;",
        "The weather taken From larkmoor.csv.",
        "Times: wall clock, America/New_York.",
        "BLOCKED valve does not open by hand",
        "11 min late or left out",
        "* some of its figures are guessed, not measured.",
        "92 min , ends 12:25 am at least 433 gal (flow of 1 station not known)",
        "92 watering minutes; the last valve closes at 12:25 am.",
        "Mon Jul 13 into Tue Jul 14: the last valve closes 145 min after opening; no order of these cycles and soaks",
        "What does not fit the night it is due What one night leaves out is asked for again the next;",
        "If you measure one thing, measure the root depth on stations 1, 7, by a soil core: the 96 min wanted there",
        "left out; its third cycle could start only after the window closes",
        "root depth 1, 7 6.00 in 4.00–12.00 in 96 → 118 / 74 a soil core typical; common practice, no source",
        "wind: 2 m/s taken, none was given",
        "Station 12 gets no minutes until its valve opens.",
        "The watering restrictions of the place override this plan.",
        "venomous spiders, wasps and snakes",
        "mains voltage",
        "licensed electrician",
        "Never open a valve bonnet under pressure.",
    ],
)
def test_says(sentence):
    assert sentence in Page(week_page(sample_week())).text


def test_a_box_for_initials_for_every_run():
    assert week_page(sample_week()).count('class="initials"') == 6  # three stations, two nights


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</style><b>", "{{ 7*7 }}"]
)
def test_hostile_text_is_shown_and_never_obeyed(text):
    ordinary, hostile = Page(week_page(sample_week())), Page(week_page(renamed(sample_week(), text)))
    assert set(hostile.tags) == set(ordinary.tags)
    assert {a[:2] for a in hostile.attributes} == {a[:2] for a in ordinary.attributes}
    assert text in hostile.text
    assert "49" not in hostile.text


def test_hostile_note_of_the_site_is_shown():
    plan = sample_week()
    page = Page(week_page(replace(plan, notes=("<i>gate code</i>",))))
    assert "<i>gate code</i>" in page.text


@pytest.mark.parametrize(("nights", "sheet"), [(3, "portrait"), (4, "landscape")])
def test_many_nights_lie_on_their_side(nights, sheet):
    assert f"@page {{ size: {sheet};" in week_page(large_week(5, nights))


def test_night_without_water_takes_no_column_but_is_named():
    plan = sample_week()
    empty = replace(plan.nights[1], runs=(), used_min=0, bound_min=0, shortfalls=())
    page = Page(week_page(replace(plan, nights=(plan.nights[0], empty))))
    assert "No valve opens: Thu Jul 16 into Fri Jul 17." in page.text
    assert "Order of starts, Thu Jul 16" not in page.text


def test_week_without_any_water_is_still_a_page():
    plan = sample_week()
    page = Page(week_page(replace(plan, nights=(), assumptions=(), notes=())))
    assert "valve does not open by hand" in page.text
    assert "Watering minutes 0" in page.text


def test_whose_weather_it_is_stands_on_the_page():
    page = Page(week_page(replace(sample_week(), attributions=("Sky data by the <Larkmoor> observers.",))))
    assert "Sky data by the <Larkmoor> observers." in page.text


def test_a_state_of_a_row_is_styled_by_no_rule_that_is_meant_for_words():
    """A row named after its state stays a row: no bare class rule may carry the name of one."""
    templates = resources.files("etsched.reports").joinpath("templates").iterdir()
    styles = "".join(path.read_text("utf-8") for path in templates if path.name.endswith(".css"))
    for state in get_args(State):
        assert not re.search(rf"(^|[\s,}}])\.{state}\b[^{{]*\{{[^}}]*display", styles)
