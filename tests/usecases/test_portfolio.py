"""The list of properties says whose controller has fallen silent, and puts it where somebody looks."""

from datetime import time

import pytest

from etsched.usecases import daily, reports_in
from etsched.usecases.portfolio import Urgency, WeeksInShort, standings
from etsched.usecases.properties import put_site
from tests.usecases.made import day, put, service_on, site_text

SILENT_SINCE_2 = (
    "The controller has told nothing since the night of Thu Jul 2; until it does, the plan goes by the drier of what "
    "was planned and what was reported: look at the controller and its connection, or say that a table is in the clock."
)


@pytest.fixture
def service(database):
    """Two properties with a plan each; at one, a controller told the night of July 1."""
    made = service_on(database)
    for key in ("quillmere", "elsewhere"):
        put(made, key)
    made.clock.set(day(2), time(7))
    reports_in.report_applied(made, "quillmere", [], [day(1)], "controller")
    made.clock.set(day(3), time(8))
    for key in ("quillmere", "elsewhere"):
        daily.plan_now(made, key, "a test")
    return made


def seen(service, number, wall, key="quillmere"):
    service.clock.set(day(number), wall)
    found = standings(service, None, WeeksInShort())
    return next(each for each in found if each.site == key)


def test_silence_is_said_from_its_hour_on_with_its_night(service):
    """The window of July 2 closes at six on the 3rd and may be told until nine."""
    assert SILENT_SINCE_2 not in seen(service, 3, time(8, 59)).matters
    late = seen(service, 3, time(9, 0))
    assert SILENT_SINCE_2 in late.matters
    assert (late.urgency, late.matters[0]) == (Urgency.SILENT, SILENT_SINCE_2)


def test_a_silent_property_stands_above_one_without_a_controller(service):
    service.clock.set(day(3), time(9, 0))
    assert [each.site for each in standings(service, None, WeeksInShort())] == ["quillmere", "elsewhere"]
    assert "controller" not in " ".join(seen(service, 3, time(9, 0), "elsewhere").matters)


def test_where_nobody_ever_said_what_is_in_the_clock_that_comes_first(service):
    unsaid = "Nobody has said what is in the clock: key the plan in, and say so."
    new = seen(service, 3, time(9), "elsewhere")
    assert (new.urgency, new.matters[0]) == (Urgency.UNSAID, unsaid)
    assert unsaid not in seen(service, 3, time(9)).matters  # a controller told it
    reports_in.confirm_keyed_in(service, "elsewhere", day(3), 1, "a manager")
    assert unsaid not in seen(service, 3, time(9), "elsewhere").matters


def test_the_silence_ends_with_the_next_word(service):
    service.clock.set(day(3), time(9, 0))
    reports_in.report_applied(service, "quillmere", [], [day(2)], "controller")
    assert seen(service, 3, time(9, 30)).urgency is not Urgency.SILENT
    reports_in.confirm_keyed_in(service, "quillmere", day(3), 1, "a manager")
    assert "controller" not in " ".join(seen(service, 6, time(12)).matters)


def test_a_plan_that_is_over_is_worse_and_both_are_said(service):
    late = seen(service, 20, time(12))
    assert late.urgency is Urgency.NO_PLAN
    assert late.matters[0].startswith("The last plan is out of date")
    assert SILENT_SINCE_2 in late.matters


@pytest.mark.parametrize(("wall", "late"), [(time(9), False), (time(16, 30), False), (time(18, 30), True)])
def test_between_a_night_and_the_afternoon_a_plan_is_not_out_of_date(service, wall, late):
    """The plan of the third holds until six in the morning of the fourth, and the next is made at five."""
    told = "The last plan is out of date and no newer one was made." in seen(service, 4, wall).matters
    assert told is late


@pytest.mark.parametrize(
    ("why", "said"),
    [
        (("wire cut.", ""), ["Station 1 is left out until mended: wire cut."]),
        (("wire cut", "wire cut"), ["Stations 1, 2 are left out until mended: wire cut."]),
        (
            ("wire cut", "a stuck valve"),
            [
                "Station 1 is left out until mended: wire cut.",
                "Station 2 is left out until mended: a stuck valve.",
            ],
        ),
    ],
)
def test_who_is_left_out_is_named_with_the_reason(service, why, said):
    first, second = (f'blocked = "{each}"\n' if each else "" for each in why)
    text = site_text().replace("terminal = 1\n", f"terminal = 1\n{first}")
    text = text.replace("terminal = 2\n", f"terminal = 2\n{second}")
    put_site(service, "elsewhere", text, "a test")
    plan = daily.plan_now(service, "elsewhere", "a test")
    reports_in.confirm_keyed_in(service, "elsewhere", day(3), plan.revision, "a manager")
    found = seen(service, 3, time(9), "elsewhere")
    assert found.urgency is Urgency.BLOCKED
    assert [each for each in found.matters if "left out" in each] == said
