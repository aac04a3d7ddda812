"""The sentence that holds a week against the best that its nights allow."""

from dataclasses import replace
from datetime import date

from etsched.model.plan import WeekBound
from etsched.planning.week import plan_week
from etsched.tables.shortfalls import bound_text
from tests.planning.made import site, station, weather

PLAN = plan_week(site(station(1), units="us"), weather(), date(2026, 7, 14))


def said(*depths_mm, system="us"):
    return bound_text(replace(PLAN, bound=WeekBound(*depths_mm)), system)


def test_the_four_depths_stand_in_it_in_the_readers_unit():
    text = said(25.4, 12.7, 254.0, 251.46)
    assert text.startswith("Turf drier than it should be: 1.00 in this week")
    assert "No plan on these nights could bring that below 0.50 in." in text
    assert "puts 10.00 in of water into the root zones, all stations added up; 9.90 in would leave them" in text
    assert "25.4 mm this week" in said(25.4, 12.7, 254.0, 251.46, system="metric")


def test_a_week_that_leaves_nobody_too_dry_says_so():
    text = said(0.0, 0.0, 254.0, 254.0)
    assert text.startswith("No working station ends a day drier than its allowable depletion.")
    assert "No plan on these nights" not in text


def test_without_a_bound_there_is_nothing_to_say():
    assert bound_text(replace(PLAN, bound=None)) == ""
