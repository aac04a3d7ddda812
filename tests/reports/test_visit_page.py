"""The visit's page: it stands alone, shows hostile texts as texts, and leaves out what nobody looked at."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from etsched.reports.visit_page import visit_page
from tests.reports.sample_visit import empty_outcome, first_outcome, hostile_outcome, return_outcome
from tests.reports.test_week_page import Page

HEADINGS = (
    "What the clock delivers today", "What was seen", "Cup tests", "Soil cores", "Why it fails",
    "Repairs, the one worth most first", "Which valve waters what", "How it comes back", "What enters the plan",
)  # fmt: skip


def page(outcome, system=None):
    return Page(visit_page(outcome, system))


def test_stands_alone():
    text = visit_page(first_outcome())
    found = Page(text)
    assert text.startswith("<!DOCTYPE html>")
    assert not {"script", "link", "img", "a", "iframe", "form"} & set(found.tags)
    assert not [a for a in found.attributes if a[1] in {"src", "href"} or a[1].startswith("on")]
    assert "url(" not in text
    assert "@import" not in text
    # The name of SVG's namespace looks like an address and is none.
    without = re.sub(r'http-equiv="Content-Security-Policy"|xmlns="http://www.w3.org/2000/svg"', "", text)
    assert "http" not in without


def test_same_bytes_for_the_same_visit():
    assert visit_page(first_outcome()) == visit_page(first_outcome())


def test_parts_stand_in_their_order():
    texts = [text.strip() for text in page(first_outcome()).texts]
    places = [texts.index(heading) for heading in HEADINGS]
    assert places == sorted(places)


def test_the_proof_comes_first_and_last_on_a_return_visit():
    found = page(return_outcome())
    statement = return_outcome().proof.statement
    assert statement in found.text
    assert (
        found.text.index(statement)
        < found.text.index("Soil cores")
        < found.text.index("Proof: predicted against found")
    )
    assert "Return visit" in found.text
    assert "Proof" not in page(first_outcome()).text


@pytest.mark.parametrize(
    "sentence",
    [
        "Tue Jul 14, 2026, R. Vale",
        "Station 5 (Bowling strip) gets 0.42 in of water a week, 30% of the",
        "brown in wedges round heads",
        "Photos: gate.jpg.",
        "The gate was locked until nine.",
        "“Tonight” on the map is the first night in which the station runs: ",
        "Next test, the one that tells most:",
        "No feeding and no chemistry while the water may be wrong",
        "For the controller door, as found on Tue Jul 14, 2026 by R. Vale.",
        "Terminal 2 waters Orchard bank and not Long border",
        "Left out of the plan: no minutes help until they are mended",
        "Local bans and blackout dates for fertiliser come before any date here",
        "Never open a valve bonnet under pressure",
        "Watering restrictions of the place override every plan",
        "Look again:",
    ],
)
def test_says(sentence):
    assert sentence in page(first_outcome()).text


def test_the_chart_for_the_door_is_a_sheet_of_its_own():
    text = visit_page(first_outcome())
    assert text.count('<section class="door">') == 1
    assert re.search(r"\.door \{[^}]*break-before: page", text)


def test_a_cup_test_has_its_map_and_a_refused_one_has_none():
    text = visit_page(first_outcome())
    assert text.count('class="cup-map"') == 1
    assert "The cups tell nothing: 3 cups tell nothing" in Page(text).text


def test_a_visit_of_which_only_the_day_is_known_is_a_short_page_without_headings():
    found = page(empty_outcome())
    assert not {"h2", "h3", "table", "ul", "section"} & set(found.tags)
    assert "Only the day was written down" in found.text
    assert "Tue Jul 14, 2026" in found.text


@pytest.mark.parametrize(
    ("part", "gone", "heading"),
    [
        ("clock", None, "What the clock delivers today"),
        ("cups", (), "Cup tests"),
        ("diagnoses", (), "Why it fails"),
        ("repairs", (), "Repairs, the one worth most first"),
        ("valves", None, "Which valve waters what"),
    ],
)
def test_a_part_that_nobody_looked_at_is_left_out(part, gone, heading):
    outcome = first_outcome()
    visit = replace(outcome.visit, clock=None) if part == "clock" else outcome.visit
    assert heading not in page(replace(outcome, visit=visit, **{part: gone})).text


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</style><b>", "{{ 7*7 }}", "]]></svg><i>"]
)
def test_hostile_text_is_shown_and_never_obeyed(text):
    ordinary, hostile = page(hostile_outcome("lawn")), page(hostile_outcome(text))
    assert hostile.tags.count("script") == hostile.tags.count("img") == 0
    assert set(hostile.tags) == set(ordinary.tags)
    assert {a[:2] for a in hostile.attributes} == {a[:2] for a in ordinary.attributes}
    assert hostile.text.count(text) > 20
    assert "{{ 49 }}" not in hostile.text


def test_metric_readers_see_no_inches_and_no_gallons():
    found = page(first_outcome(), "metric").text
    assert not re.search(r"\d\.\d+ in\b|\d (gal|gpm|psi|lb|in/h)\b", found)
    assert re.search(r"\d mm\b", found)
    us = page(first_outcome()).text
    assert not re.search(r"\d (mm|L|kPa|kg)\b", us)
