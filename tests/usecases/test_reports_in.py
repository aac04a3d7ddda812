"""What comes in from the ground: runs, whole nights, tables in the clock, visits and site files, good and bad."""

from datetime import time

import pytest

from etsched.errors import AppliedRefused, NotKept, RevisionMoved, SiteRefused, VisitRefused
from etsched.model.plan import WaterState
from etsched.model.service import How, KeptBalance, Supposing
from etsched.stores import plans, sites, trail, visits, water
from etsched.timetable.tick import Ticker
from etsched.usecases import daily, properties, record_visit, reports_in
from tests.usecases.made import TIMES, day, live, put, service_on, site_text, told

VISIT = """
date = 2026-07-02
technician = "R. Vale"
site = "Quillmere Green"

[[run]]
station = 1
from_controller = true
wet = ["North lawn"]
first_runoff = "4 min"
"""


@pytest.fixture
def service(database):
    made = service_on(database)
    put(made)
    made.clock.set(day(2), time(7))
    return made


def stored(service):
    with service.database.reading() as reading:
        return water.applied_between(reading, "quillmere", day(1), day(31))


def test_the_same_report_twice_counts_once(service):
    ran = [told(1, day(1), 10.0), told(2, day(1), 4.0)]
    assert reports_in.report_applied(service, "quillmere", ran, [day(1)], "controller") == 2
    assert reports_in.report_applied(service, "quillmere", ran, [day(1)], "controller") == 0
    assert [(run.terminal, run.minutes_min) for run in stored(service)] == [(1, 10.0), (2, 4.0)]
    with service.database.reading() as reading:
        assert [each.did for each in trail.entries(reading, "quillmere")] == ["site put", "applied reported"]


def test_two_properties_may_use_the_same_ids(service):
    put(service, "elsewhere")
    for key in ("quillmere", "elsewhere"):
        ran = [told(1, day(1), 10.0, report="7")]
        assert reports_in.report_applied(service, key, ran, [], "controller") == 1


@pytest.mark.parametrize(
    ("runs", "nights", "field", "said"),
    [
        ([told(9, day(1), 1.0)], [], "runs.0.terminal", "there is no station 9"),
        ([told(1, day(1), 1.0), told(1, day(1), -1.0)], [], "runs.1.minutes", "no number of minutes"),
        ([told(1, day(1), float("nan"))], [], "runs.0.minutes", "no number of minutes"),
        ([told(1, day(1), 1441.0)], [], "runs.0.minutes", "no number of minutes"),
        ([told(1, day(3), 1.0)], [], "runs.0.opens_on", "lies ahead"),
        ([told(1, day(1).replace(year=2016), 1.0)], [], "runs.0.opens_on", "more than a year ago"),
        ([told(1, day(1), 1.0, report="x" * 129)], [], "runs.0.report", "it is no id"),
        ([], [day(1), day(2)], "nights_whole.1", "has not begun"),
        ([], [day(3)], "nights_whole.0", "lies ahead"),
    ],
)
def test_a_report_that_cannot_be_is_refused_whole(service, runs, nights, field, said):
    with pytest.raises(AppliedRefused, match=said) as refused:
        reports_in.report_applied(service, "quillmere", [told(2, day(1), 3.0), *runs][1:], nights, "controller")
    assert [problem.field for problem in refused.value.problems] == [field]
    assert stored(service) == []
    with service.database.reading() as reading:
        assert water.last_report(reading, "quillmere") is None


def test_a_report_of_nobody_is_said(service):
    with pytest.raises(NotKept, match="no property of that name"):
        reports_in.report_applied(service, "nowhere", [], [day(1)], "controller")


def test_a_table_that_no_plan_holds_cannot_be_in_the_clock(service):
    with pytest.raises(AppliedRefused, match="plan_revision: quillmere has no plan of revision 4"):
        reports_in.confirm_keyed_in(service, "quillmere", day(1), 4, "a manager")


def test_a_table_cannot_be_in_the_clock_before_it_was_made_nor_ahead(service):
    plan = daily.plan_now(service, "quillmere", "a manager")
    for since, said in ((day(1), "was made after"), (day(3), "lies ahead")):
        with pytest.raises(AppliedRefused, match=said):
            reports_in.confirm_keyed_in(service, "quillmere", since, plan.revision, "a manager")
    with service.database.reading() as reading:
        assert plans.keyed_in_on(reading, "quillmere", day(31)) is None


def test_the_later_of_a_report_and_a_word_says_who_is_believed(service):
    plan = daily.plan_now(service, "quillmere", "a manager")
    assert reports_in.controller_state(service, "quillmere").kind == "nobody said"
    reports_in.confirm_keyed_in(service, "quillmere", day(2), plan.revision, "a manager")
    state = reports_in.controller_state(service, "quillmere")
    assert (state.kind, state.since) == ("keyed in", day(2))
    service.clock.set(day(3), time(7))
    reports_in.report_applied(service, "quillmere", [], [day(2)], "controller")
    assert reports_in.controller_state(service, "quillmere").kind == "reporting"


def test_a_night_is_silent_three_hours_after_its_window_closed_and_not_before(service):
    reports_in.report_applied(service, "quillmere", [], [day(1)], "controller")
    for wall, kind in ((time(8, 59), "reporting"), (time(9, 0), "silent")):
        service.clock.set(day(3), wall)
        assert reports_in.controller_state(service, "quillmere").kind == kind


def test_a_visit_is_kept_once_and_enters_the_plan(service):
    before = daily.plan_now(service, "quillmere", "a manager")
    kept = record_visit.record_visit(service, "quillmere", VISIT, "a technician")
    assert kept.day == day(2)
    assert record_visit.record_visit(service, "quillmere", VISIT, "a technician") == kept
    with service.database.reading() as reading:
        assert visits.visits_of(reading, "quillmere") == [kept]
    after = daily.plan_now(service, "quillmere", "a manager")
    assert after.revision == before.revision + 1
    assert "visit of" in after.document
    assert "visit of" not in before.document


def test_another_record_of_a_day_replaces_the_first_where_that_is_meant(service):
    first = record_visit.record_visit(service, "quillmere", VISIT, "a technician")
    other = VISIT.replace("4 min", "5 min")
    with pytest.raises(VisitRefused, match="a visit of Thu Jul 2, 2026 is kept already"):
        record_visit.record_visit(service, "quillmere", other, "another")
    seen = []
    second = record_visit.record_visit(service, "quillmere", other, "another", lambda kept: not seen.append(kept))
    assert seen == [first]
    assert (second.document, second.actor) == (other, "another")
    with service.database.reading() as reading:
        assert visits.visits_of(reading, "quillmere") == [second]
        told = {each.did: each.detail for each in trail.entries(reading, "quillmere")}
    assert VISIT in told["visit replaced"]


def test_a_second_visit_of_a_day_and_one_that_cannot_be_read_are_refused(service):
    record_visit.record_visit(service, "quillmere", VISIT, "a technician")
    with pytest.raises(VisitRefused, match="a visit of Thu Jul 2, 2026 is kept already"):
        record_visit.record_visit(service, "quillmere", VISIT.replace("4 min", "5 min"), "a technician")
    with pytest.raises(VisitRefused):
        record_visit.record_visit(service, "quillmere", VISIT.replace("2026-07-02", "2026-07-09"), "a technician")
    with service.database.reading() as reading:
        assert len(visits.visits_of(reading, "quillmere")) == 1


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("1900-01-01", "Mon Jan 1, 1900 is more than 60 days ago"),
        ("2025-07-02", "Wed Jul 2, 2025 is more than 60 days ago"),
        # July 2 less 60 days is May 3.
        ("2026-05-02", "a visit is recorded from Sun May 3, 2026 on"),
    ],
)
def test_a_visit_of_another_year_is_a_slip_of_the_date(service, typed, said):
    with pytest.raises(VisitRefused, match=said) as refused:
        record_visit.record_visit(service, "quillmere", VISIT.replace("2026-07-02", typed), "a technician")
    assert [problem.field for problem in refused.value.problems] == ["date"]
    with service.database.reading() as reading:
        assert visits.visits_of(reading, "quillmere") == []
    record_visit.record_visit(service, "quillmere", VISIT.replace("2026-07-02", "2026-05-03"), "a technician")


def test_a_withdrawn_visit_leaves_the_plan_and_stays_in_the_trail(service):
    before = daily.plan_now(service, "quillmere", "a manager")
    kept = record_visit.record_visit(service, "quillmere", VISIT, "a technician")
    assert daily.plan_now(service, "quillmere", "a manager").digest != before.digest
    for _ in range(2):
        record_visit.withdraw_visit(service, "quillmere", kept.visit, "a technician")
    with service.database.reading() as reading:
        assert visits.visits_of(reading, "quillmere") == []
        (last,) = (each for each in trail.entries(reading, "quillmere") if each.did == "visit withdrawn")
    assert last.actor == "a technician"
    assert VISIT in last.detail
    assert daily.plan_now(service, "quillmere", "a manager").digest == before.digest
    # The same day may be told again.
    assert record_visit.record_visit(service, "quillmere", VISIT, "a technician").day == day(2)


def test_the_water_of_mornings_after_a_withdrawn_visit_is_void(service):
    kept = record_visit.record_visit(service, "quillmere", VISIT, "a technician")
    with service.database.writing() as writing:
        for morning in (day(2), day(3)):
            state = WaterState(morning, {1: (1.0,), 2: (1.0,)}, {1: (100.0,), 2: (100.0,)})
            water.put_balance(writing, KeptBalance("quillmere", Supposing.REPORTED, state, service.clock.now()))
    record_visit.withdraw_visit(service, "quillmere", kept.visit, "a technician")
    with service.database.reading() as reading:
        last = water.latest_balance(reading, "quillmere", Supposing.REPORTED, day(9))
    assert last.water.morning == day(2)


def test_only_a_visit_that_is_kept_of_the_property_can_be_withdrawn(service):
    kept = record_visit.record_visit(service, "quillmere", VISIT, "a technician")
    put(service, "elsewhere")
    for key, visit in (("elsewhere", kept.visit), ("quillmere", "none"), ("nowhere", kept.visit)):
        with pytest.raises(NotKept):
            record_visit.withdraw_visit(service, key, visit, "a technician")
    with service.database.reading() as reading:
        assert visits.visits_of(reading, "quillmere") == [kept]


def test_a_site_file_is_checked_before_it_is_kept(service):
    with pytest.raises(SiteRefused):
        properties.put_site(service, "quillmere", "name = 3", "test")
    with pytest.raises(SiteRefused, match="no short name"):
        properties.put_site(service, "Quill Mere", site_text(), "test")
    assert properties.get_site(service, "quillmere").revision == 1


def test_a_change_from_an_older_revision_is_refused(service):
    changed = site_text().replace("North lawn", "Upper lawn")
    assert properties.put_site(service, "quillmere", changed, "test", revision=1).revision == 2
    with pytest.raises(RevisionMoved, match="is at revision 2 and the change was made from revision 1"):
        properties.put_site(service, "quillmere", site_text(), "test", revision=1)
    with pytest.raises(RevisionMoved):
        properties.put_site(service, "brand-new", site_text(), "test", revision=3)
    assert properties.put_site(service, "quillmere", changed, "test").revision == 2
    with service.database.reading() as reading:
        assert sites.find_revision(reading, "quillmere", 1) == site_text()
    assert properties.site_of(properties.get_site(service, "quillmere")).stations[0].area == "Upper lawn"


def test_who_is_put_away_has_no_jobs_until_taken_up_again(service):
    ticker = Ticker(service, "test", TIMES)
    properties.put_away(service, "quillmere", "a manager")
    live(service, ticker, 3)
    with service.database.reading() as reading:
        assert plans.latest_plan(reading, "quillmere") is None
    properties.put_site(service, "quillmere", site_text().replace("North", "Upper"), "test")
    assert properties.get_site(service, "quillmere").put_away is not None
    assert properties.put_away(service, "quillmere", "a manager", away=False).put_away is None
    live(service, ticker, 4)
    with service.database.reading() as reading:
        assert plans.latest_plan(reading, "quillmere").first_day == day(5)


def test_what_ran_in_parts_is_added_up_and_the_rest_of_a_minute_left_out(service):
    ran = [told(1, day(1), 4.4, How.PROGRAM, "a"), told(1, day(1), 4.4, How.PROGRAM, "b")]
    reports_in.report_applied(service, "quillmere", ran, [day(1)], "controller")
    (seen,) = reports_in.what_was_seen(service, "quillmere", day(1))
    assert seen.ran_min == 8
