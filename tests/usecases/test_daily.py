"""The daily jobs: what the books credit, what silence does, and that a result and its job stand or fall together."""

import json
from datetime import UTC, datetime, time, timedelta

import numpy as np
import pytest

from etsched.errors import ClaimLost, NotKept, PlanRefused, RevisionMoved, StoreRefused
from etsched.frames.weather_text import weather_text
from etsched.model.service import How, JobState, Supposing
from etsched.model.visit import Program
from etsched.stores import job_runs, plans, trail, water
from etsched.timetable.tick import Ticker
from etsched.usecases import books, controller, daily, properties, reports_in
from etsched.usecases.what_ran import what_ran
from tests.usecases.made import TIMES, claimed, day, live, plan_minutes, put, service_on, site_text, told, weather_on

ALL = set(Supposing)


@pytest.fixture
def service(database):
    made = service_on(database)
    put(made)
    return made


@pytest.fixture
def ticker(service):
    return Ticker(service, "test", TIMES)


@pytest.fixture
def announced(monkeypatch):
    """What was announced, instead of an outbox."""
    found = []
    monkeypatch.setattr(
        controller.outbox, "announce", lambda writing, now, site, kind, body: found.append((site, kind, dict(body)))
    )
    return found


def balance(service, number, supposing):
    with service.database.reading() as reading:
        kept = water.latest_balance(reading, "quillmere", supposing, day(number))
    assert kept.water.morning == day(number)
    return kept.water.deficit_mm


def latest(service):
    with service.database.reading() as reading:
        return plans.latest_plan(reading, "quillmere")


def runs(service):
    with service.database.reading() as reading:
        return {
            (run.period.job, run.period.day): run for run in job_runs.last_runs(reading, "quillmere", most=10_000)
        }


def test_what_is_reported_is_credited_by_hand_worked_depth(service, ticker):
    """Ten minutes of 1.5 in/h that all land evenly are 38.1 mm/h × 10/60 h = 6.35 mm in the roots.

    Both stations lack 12.7 mm, less than they may, so that neither's turf use is held back and the sums differ by
    what ran alone.
    """
    last_night = day(30, 6)
    reports_in.report_applied(service, "quillmere", [told(1, last_night, 10.0)], [last_night], "controller")
    live(service, ticker, 1)
    live(service, ticker, 2)
    for supposing in ALL:
        roots = {terminal: layers[0] for terminal, layers in balance(service, 2, supposing).items()}
        assert roots[2] - roots[1] == pytest.approx(38.1 * 10 / 60, abs=1e-9)


def test_a_night_nobody_told_is_credited_by_one_supposition_alone(service, ticker):
    live(service, ticker, 1)
    planned = plan_minutes(latest(service))
    assert planned[1] > 0
    live(service, ticker, 2)
    live(service, ticker, 3)
    wet, dry = (balance(service, 3, each)[1][0] for each in (Supposing.PLANNED, Supposing.REPORTED))
    # 38.1 mm/h is between them, less what the drier turf no longer uses for want of water.
    assert 0.9 * 38.1 * planned[1] / 60 < dry - wet <= 38.1 * planned[1] / 60
    with service.database.reading() as reading:
        site = properties.site_of(properties.site_in(reading, "quillmere"))
        ran = what_ran(reading, "quillmere", site, day(2), day(2), service.clock.now())
    assert ran[Supposing.REPORTED] == {}
    assert ran[Supposing.PLANNED] == {(terminal, day(2)): minutes for terminal, minutes in planned.items()}


def test_a_controller_that_tells_all_leaves_no_doubt(service, ticker):
    for number in (1, 2, 3):
        live(service, ticker, number)
        service.clock.set(day(number + 1), time(4))
        ran = [told(terminal, day(number), minutes) for terminal, minutes in plan_minutes(latest(service)).items()]
        reports_in.report_applied(service, "quillmere", ran, [day(number)], "controller")
    live(service, ticker, 4)
    assert balance(service, 4, Supposing.REPORTED) == balance(service, 4, Supposing.PLANNED)
    assert reports_in.controller_state(service, "quillmere").kind == "reporting"
    assert not any("not known what ran" in note for note in json.loads(latest(service).document)["notes"])


def test_silence_is_a_state_with_a_date_and_somebody_is_told_once(service, ticker, announced):
    live(service, ticker, 1)
    service.clock.set(day(2), time(4))
    reports_in.report_applied(service, "quillmere", [], [day(1)], "controller")
    live(service, ticker, 2)
    assert reports_in.controller_state(service, "quillmere").kind == "reporting"
    for number in (3, 4, 5):
        live(service, ticker, number)
    state = reports_in.controller_state(service, "quillmere")
    assert (state.kind, state.since) == ("silent", day(2))
    silent = [body for _, kind, body in announced if kind == "controller silent"]
    assert [body["since"] for body in silent] == ["2026-07-02"]
    notes = json.loads(latest(service).document)["notes"]
    assert any("told nothing since the night of Thu Jul 2" in note for note in notes)


def test_in_silence_the_plan_goes_by_the_drier_and_tonight_is_one_refill(service, ticker):
    live(service, ticker, 1)
    service.clock.set(day(2), time(4))
    reports_in.report_applied(service, "quillmere", [], [day(1)], "controller")
    for number in (2, 3, 4, 5, 6):
        live(service, ticker, number)
    plan = latest(service)
    with service.database.reading() as reading:
        site = properties.site_of(properties.site_in(reading, "quillmere"))
    kept = books.read_books(service, "quillmere", plan.first_day)
    dry, wet = (
        books.morning_of(kept, each, plan.first_day).deficit_mm for each in (Supposing.REPORTED, Supposing.PLANNED)
    )
    assert (dry[:, 0] > wet[:, 0] + 1.0).all()
    document = json.loads(plan.document)
    for at, station in enumerate(site.stations):
        assert document["water"]["deficit_mm"][str(station.terminal)][0] == pytest.approx(dry[at, 0])
    tonight = document["nights"][0]
    assert tonight["serves"] == plan.first_day.isoformat()
    assert tonight["runs"]
    for run in tonight["runs"]:
        # By hand from the minutes: 38.1 mm/h, all of it credited.
        assert 38.1 * run["minutes"] / 60 <= run["depletion_mm"] + 1e-9


def test_the_drier_is_taken_station_by_station():
    one = np.array([[5.0, 1.0], [2.0, 0.0], [3.0, 3.0]])
    other = np.array([[4.0, 9.0], [6.0, 0.0], [3.0, 4.0]])
    assert books.drier(one, other).tolist() == [[5.0, 1.0], [6.0, 0.0], [3.0, 4.0]]


def test_a_late_word_counts_as_if_it_had_come_in_time(database):
    """Two properties of one site file: of one a night is told next morning, of the other three days after."""
    service = service_on(database)
    put(service, "early")
    put(service, "late")
    ticker = Ticker(service, "test", TIMES)
    for number in range(1, 7):
        if number > 1:
            service.clock.set(day(number), time(4))
            told_now = {"early": [number - 1], "late": []}
            if number == 6:
                told_now["late"] = [1, 2, 3, 4, 5]
            for key, nights in told_now.items():
                for night in nights:
                    ran = [told(1, day(night), 12.0 + night), told(2, day(night), 3.5)]
                    reports_in.report_applied(service, key, ran, [day(night)], "controller")
        live(service, ticker, number)
    with database.reading() as reading:
        for supposing in ALL:
            for number in range(3, 7):
                one, other = (water.latest_balance(reading, key, supposing, day(number)) for key in ("early", "late"))
                assert one.water == other.water
                assert one.water.morning == day(number)


def test_a_table_in_the_clock_is_credited_by_its_weekdays(service, ticker):
    live(service, ticker, 1)
    plan = latest(service)
    reports_in.confirm_keyed_in(service, "quillmere", day(1), plan.revision, "a manager")
    week = {
        (run["terminal"], run["serves"]): run["minutes"] for run in json.loads(plan.document)["applied"]
    }
    service.clock.set(day(20), time(12))
    with service.database.reading() as reading:
        site = properties.site_of(properties.site_in(reading, "quillmere"))
        ran = what_ran(reading, "quillmere", site, day(2), day(15), service.clock.now())
    assert ran[Supposing.REPORTED] == ran[Supposing.PLANNED]
    for (terminal, serves), minutes in week.items():
        first = datetime.fromisoformat(serves).date()
        assert ran[Supposing.REPORTED][terminal, first] == minutes
        if (later := first + timedelta(days=7)) <= day(15):
            assert ran[Supposing.REPORTED][terminal, later] == minutes
    assert len(ran[Supposing.REPORTED]) == 2 * len(week)
    state = reports_in.controller_state(service, "quillmere")
    assert (state.kind, state.since) == ("keyed in", day(1))


def test_programs_in_the_clock_are_credited_by_the_nights_their_valves_open_in(service, ticker):
    """Window 22:00 to 06:00, as the arithmetic below: on Mondays 10 min twice, at 4 am on Tuesdays 5 and 7."""
    live(service, ticker, 1)
    evening = Program("A", (time(22, 0), time(23, 30)), frozenset({0}), {1: 10.0})
    before_dawn = Program("B", (time(4, 0),), frozenset({1}), {1: 5.0, 2: 7.0})
    revision = latest(service).revision
    reports_in.confirm_keyed_in(service, "quillmere", day(1), revision, "a manager", (evening, before_dawn))
    service.clock.set(day(20), time(12))
    with service.database.reading() as reading:
        site = properties.site_of(properties.site_in(reading, "quillmere"))
        ran = what_ran(reading, "quillmere", site, day(2), day(15), service.clock.now())
    tuesdays = [day(number) for number in range(2, 16) if day(number).weekday() == 1]
    assert len(tuesdays) == 2
    expected = {(terminal, serves): 25 if terminal == 1 else 7 for serves in tuesdays for terminal in (1, 2)}
    assert ran[Supposing.REPORTED] == ran[Supposing.PLANNED] == expected


def test_what_ran_by_hand_beside_the_clock_is_added(service, ticker):
    live(service, ticker, 1)
    plan = latest(service)
    reports_in.confirm_keyed_in(service, "quillmere", day(1), plan.revision, "a manager")
    service.clock.set(day(2), time(12))
    reports_in.report_applied(service, "quillmere", [told(1, day(1), 7.0, How.HAND)], [], "a technician")
    with service.database.reading() as reading:
        site = properties.site_of(properties.site_in(reading, "quillmere"))
        ran = what_ran(reading, "quillmere", site, day(2), day(2), service.clock.now())
    assert ran[Supposing.REPORTED][1, day(2)] == plan_minutes(plan)[1] + 7


def test_what_was_skipped_cut_short_or_run_by_hand_is_seen(service, ticker):
    live(service, ticker, 1)
    planned = plan_minutes(latest(service))
    service.clock.set(day(2), time(4))
    ran = [told(1, day(1), planned[1] - 5.0, How.CUT_SHORT), told(1, day(1), 2.0, How.PROGRAM)]
    reports_in.report_applied(service, "quillmere", ran, [day(1)], "controller")
    seen = {each.terminal: each for each in reports_in.what_was_seen(service, "quillmere", day(1))}
    assert (seen[1].what, seen[1].planned_min, seen[1].ran_min) == ("cut short", planned[1], planned[1] - 3)
    assert (seen[2].what, seen[2].ran_min) == ("skipped", 0)
    live(service, ticker, 2)
    live(service, ticker, 3)
    note = runs(service)["close day", day(2)].note
    assert f"station 1 cut short ({planned[1] - 3} min of {planned[1]})" in note
    assert f"station 2 skipped (0 min of {planned[2]})" in note


def test_the_plan_is_kept_with_its_validity_and_the_same_again_is_no_revision(service):
    service.clock.set(day(1), time(17, 1))
    daily.refresh_weather(service, claimed(service, "refresh weather evening", 1))
    daily.plan_tonight(service, claimed(service, "plan tonight", 1))
    plan = latest(service)
    assert (plan.revision, plan.first_day) == (1, day(2))
    # The window closes at six on the wall in Denver, which is six hours behind UTC in July.
    assert plan.valid_until == datetime(2026, 7, 2, 12, 0, tzinfo=UTC)
    again = daily.plan_now(service, "quillmere", "a manager")
    assert again == plan
    assert latest(service).revision == 1


def test_a_job_that_lost_its_claim_leaves_nothing(service):
    service.clock.set(day(1), time(17, 1))
    daily.refresh_weather(service, claimed(service, "refresh weather evening", 1))
    slow = claimed(service, "plan tonight", 1)
    service.clock.at += job_runs.LEASE
    quick = claimed(service, "plan tonight", 1)
    with pytest.raises(ClaimLost):
        daily.plan_tonight(service, slow)
    assert latest(service) is None
    daily.plan_tonight(service, quick)
    assert latest(service).revision == 1


def test_what_changed_meanwhile_undoes_the_try(service, monkeypatch):
    service.clock.set(day(1), time(17, 1))
    daily.refresh_weather(service, claimed(service, "refresh weather evening", 1))
    claim = claimed(service, "plan tonight", 1)
    week = daily.week_json

    def changed_meanwhile(plan):
        reports_in.report_applied(service, "quillmere", [told(1, day(1), 5.0)], [], "controller")
        return week(plan)

    monkeypatch.setattr(daily, "week_json", changed_meanwhile)
    with pytest.raises(RevisionMoved, match="changed while it was reckoned"):
        daily.plan_tonight(service, claim)
    assert latest(service) is None
    monkeypatch.setattr(daily, "week_json", week)
    daily.plan_tonight(service, claim)
    assert latest(service).revision == 1


def test_no_plan_is_made_into_an_open_window(service):
    service.clock.set(day(1), time(22, 1))
    with pytest.raises(PlanRefused, match="the window of Wed Jul 1 is open already"):
        daily.plan_now(service, "quillmere", "a manager")


def test_a_property_nobody_put_is_said(service):
    with pytest.raises(NotKept, match="no property of that name"):
        daily.plan_now(service, "nowhere", "a manager")


def test_a_failure_of_the_database_leaves_the_job_to_be_done_again(service, ticker, monkeypatch):
    def full(*words):
        raise StoreRefused("the disk is full; make room, nothing was changed")

    with monkeypatch.context() as spoilt:
        spoilt.setattr(job_runs, "finish", full)
        service.clock.set(day(1), time(16, 31))
        ticker.tick()
    assert {run.state for run in runs(service).values()} == {JobState.RUNNING}
    service.clock.at += job_runs.LEASE
    ticker.tick()
    done = runs(service)
    assert done["refresh weather evening", day(1)].state is JobState.DONE
    assert done["refresh weather evening", day(1)].tries == 2


def test_a_balance_from_before_the_weather_is_let_go(service, ticker):
    live(service, ticker, 1)
    live(service, ticker, 2)
    service.clock.set(day(20, 10), time(17, 1))
    plan = daily_plan_after_a_gap(service)
    assert plan.first_day == day(21, 10)


def daily_plan_after_a_gap(service):
    with service.database.writing() as writing:
        water.put_weather(writing, "quillmere", service.clock.now(), weather_text(weather_on(day(20, 10))))
    return daily.plan_now(service, "quillmere", "a manager")


def test_old_weather_is_told_on_the_plan(service):
    service.clock.set(day(1), time(9))
    daily.plan_now(service, "quillmere", "a manager")
    service.clock.set(day(3), time(9))
    plan = daily.plan_now(service, "quillmere", "a manager")
    notes = json.loads(plan.document)["notes"]
    assert any("fetched on Wed Jul 1 and no feed has answered since" in note for note in notes)


def test_the_trail_says_who_planned(service):
    service.clock.set(day(1), time(9))
    daily.plan_now(service, "quillmere", "a manager")
    with service.database.reading() as reading:
        assert [(each.actor, each.did) for each in trail.entries(reading, "quillmere")] == [
            ("test", "site put"),
            ("a manager", "plan made"),
        ]


def test_a_station_that_came_later_begins_like_ground_nobody_read(service, ticker):
    live(service, ticker, 1)
    live(service, ticker, 2)
    more = site_text() + site_text()[site_text().rindex("[[station]]") :].replace("terminal = 2", "terminal = 3")
    properties.put_site(service, "quillmere", more, "test")
    live(service, ticker, 3)
    assert sorted(balance(service, 3, Supposing.REPORTED)) == [1, 2, 3]
