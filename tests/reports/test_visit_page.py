"""The visit's page: it stands alone, shows hostile texts as texts, and leaves out what nobody looked at."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from etsched.reports.visit_page import visit_page
from tests.reports.sample_visit import empty_outcome, first_outcome, hostile_outcome, return_outcome
from tests.reports.test_week_page import Page

HEADINGS = (
    "What to do next", "What to mend", "Why it fails", "How it comes back", "Rewetting, night by night",
    "To water by hand", "Measured and reckoned",
    "What the clock delivered when it was found", "What was seen", "Cup tests", "Soil cores", "Causes weighed",
    "What the repairs are worth", "What each station waters", "What enters the plan",
    "Who says so",
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
        "As it was found, the clock gives 5 of 5 stations less water than their turf uses.",
        "wedges by heads",
        "Photos: gate.jpg.",
        "The gate was locked until nine.",
        "“Tonight” on the map is the first night in which the station runs: ",
        "Next test:",
        "Don't feed or spray until the watering is right.",
        "As seen on Tue Jul 14, 2026 by R. Vale.",
        "Key in from the clock's paper, not from this.",
        "To key in for a station tonight: until it is wet, its rewetting nights, in place of its minutes on ",
        "Terminal 2 waters Orchard bank and not Long border",
        "Left out of the plan: no minutes help until they are mended",
        "Local bans and blackout dates for fertiliser come before any date here",
        "Never open a valve bonnet under pressure",
        "Watering restrictions of the place override every plan",
        "What only lacked water should be green again between",
    ],
)
def test_says(sentence):
    assert sentence in page(first_outcome()).text


def test_an_areas_place_stands_beside_its_pattern_and_a_voltage_says_where_it_was_read():
    text = visit_page(first_outcome())
    assert "wedges by heads, by the gate</td>" in text
    assert "26 V at the valve: the voltage is good" in text
    assert "Read at the terminals" not in text


def test_what_only_a_checker_reads_begins_on_a_sheet_of_its_own_and_its_sources_stand_there():
    text = visit_page(first_outcome())
    assert re.search(r"\.checked \{[^}]*break-before: page", text)
    customers, checkers = Page(text).text.split("Measured and reckoned")
    for source in ("common practice, no source", "California", "from memory"):
        assert source not in customers
        assert source in checkers


def test_whose_weather_it_is_stands_with_what_a_checker_reads():
    customers, checkers = page(first_outcome()).text.split("Measured and reckoned")
    assert "Weather: " not in customers
    assert "Weather: " in checkers


def test_a_telephone_folds_the_nights_away_and_not_what_to_key_in():
    text = visit_page(first_outcome())
    before, nights = text.split('<div class="folds">')
    assert "To key in for a station tonight: " in before
    heading, table = nights.split("<table", 1)
    assert re.search(r'<h3>\s*<label><input type="checkbox" class="fold"[^>]*> Rewetting, night by night<', heading)
    assert "Left for the next night: cycles for which this night is too short." in heading
    for gone in ("Lacks at dusk", "Lays down", "Does not fit"):
        assert gone not in text
    for head in ("Short at dusk", "Put on", "Short in the morning", "Left for the next night"):
        assert f">{head}</th>" in table


def test_no_sentence_of_the_report_is_said_twice():
    lines = [text.strip() for text in page(first_outcome()).texts if len(text.strip()) > 60]
    twice = {line for line in lines if lines.count(line) > 1}
    # Cautions at two places of work, the one test that tells of several causes.
    kept = ("Have buried lines", "Anything on the mains", "The cabinet holds", "take a core")
    assert not [line for line in twice if not line.startswith(kept)]


def test_the_report_leads_back_where_it_is_a_page_of_a_service():
    assert "Back to" not in page(first_outcome()).text
    text = visit_page(first_outcome(), back="/sites/grange")
    assert '<a href="/sites/grange">Back to Thistledown Grange</a>' in text


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
        ("clock", None, "What the clock delivered when it was found"),
        ("cups", (), "Cup tests"),
        ("diagnoses", (), "Why it fails"),
        ("mends", (), "What to mend"),
        ("repairs", (), "What the repairs are worth"),
        ("valves", None, "What each station waters"),
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
