"""The sentence that holds a week against the best that its nights allow."""

from dataclasses import replace
from datetime import date

import pytest

from etsched.model.plan import Remedy, Shortfall, WeekBound
from etsched.planning.week import plan_week
from etsched.tables.shortfalls import bound_text, remedies_words, remedy_table
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


@pytest.mark.parametrize(
    ("counted", "dry"),
    [
        ((3, 7), "3 stations too dry, 7 dry evenings all together"),
        ((1, 2), "1 station too dry, on 2 evenings"),
        ((0, 0), "nobody too dry on any evening"),
        ((None, None), ""),  # a document of an earlier version
    ],
)
def test_a_remedy_says_what_it_leaves_too_dry(counted, dry):
    (row,) = remedy_table(replace(PLAN, remedies=(Remedy("open 2 valves at once", 1234, 2.0, *counted),)))
    assert (row.missing.text, row.dry) == ("1,234 min", dry)


def test_the_week_as_it_stands_is_told_beside_its_remedies():
    """Two shortfalls of 20 and 15 min; two evenings of the one station end 1 mm past what it may lack."""
    night = replace(PLAN.nights[0], shortfalls=(Shortfall(1, 20, "full"), Shortfall(1, 15, "full")))
    dry = [replace(line, end_mm=line.allowable_mm + (1.0 if at < 2 else -1.0)) for at, line in enumerate(PLAN.books)]
    told = remedies_words(replace(PLAN, nights=(night, *PLAN.nights[1:]), books=tuple(dry)))
    assert told.endswith("As planned now: 35 min left out; 1 station too dry, on 2 evenings.")
