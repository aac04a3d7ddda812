"""New seed, new sod and dormant turf: light runs, young roots and the one run that keeps crowns alive, by hand."""

import csv
import json
from dataclasses import replace
from datetime import date, time, timedelta
from io import StringIO
from math import ceil

import pytest

from etsched.documents.earlier_week import read_week_document
from etsched.model.site import Ban, NewTurfHours, TurfMode, WateringRules
from etsched.planning.modes import stage_on
from etsched.planning.season import replay_season
from etsched.planning.week import Earlier, plan_week
from etsched.reports.week_csv import week_csv
from etsched.reports.week_json import week_json
from etsched.reports.week_page import week_page
from etsched.tables.light_runs import light_table
from etsched.tables.totals import totals
from tests.planning.made import EVERY_DAY, known, site, station, weather

FIRST = date(2026, 7, 14)
HOURS = NewTurfHours(time(9), time(17), "the town's permit")
# DU(lq) 0.6 in `made`: 1 / (0.4 + 0.6 × 0.6).
MULTIPLIER = 1 / 0.76
DEPTH_MM = 0.375 * 25.4


def seed(terminal=1, days_old=5, mode=TurfMode.NEW_SEED, **over):
    usual = {"crop_factor": known(1.0), "density": known(1.0), "depletion": known(0.0), "intake": known(60.0)}
    since = FIRST - timedelta(days=days_old)
    return station(terminal, mode=mode, mode_since=since, **(usual | over))


def planned(*stations, sky=None, earlier=None, **over):
    return plan_week(site(*stations, new_turf=over.pop("new_turf", HOURS), **over), sky or weather(), FIRST, earlier)


def runs_of(plan, terminal):
    return {night.night.serves: run for night in plan.nights for run in night.runs if run.terminal == terminal}


@pytest.mark.parametrize(
    ("mode", "age", "runs"),
    [
        (TurfMode.NEW_SEED, -1, None),
        (TurfMode.NEW_SEED, 0, 4),
        (TurfMode.NEW_SEED, 13, 4),
        (TurfMode.NEW_SEED, 14, 2),
        (TurfMode.NEW_SEED, 27, 2),
        (TurfMode.NEW_SEED, 28, None),
        (TurfMode.NEW_SOD, 13, 2),
        (TurfMode.NEW_SOD, 14, 1),
        (TurfMode.NEW_SOD, 20, 1),
        (TurfMode.NEW_SOD, 21, None),
        (TurfMode.DORMANT, 3, None),
        (TurfMode.NORMAL, 3, None),
    ],
)
def test_light_runs_taper_by_date(mode, age, runs):
    stage = stage_on(seed(mode=mode, days_old=0), FIRST + timedelta(days=age))
    assert (None if stage is None else stage.runs_count) == runs


def test_a_light_run_brings_back_a_quarter_of_the_days_use_in_whole_minutes():
    plan = planned(seed())
    assert [day.hours.serves for day in plan.light] == [FIRST + timedelta(days=later) for later in range(7)]
    for light, weather_of in zip(plan.light, plan.days, strict=True):
        # Every factor on reference ET is 1; 40 mm/h land; sprays run 2 min at least.
        minutes = max(ceil(60 * weather_of.eto_mm / 4 * MULTIPLIER / 40), 2)
        assert [run.length_min for run in light.runs] == [minutes] * 4
        # 9 am to 5 pm are 480 min, so a run every 120.
        assert [run.start_min for run in light.runs] == [0, 120, 240, 360]
        assert light.runs[0].credited_mm == pytest.approx(minutes * 40 / 60 * 0.76)


def test_the_books_take_light_runs_through_the_day_so_that_none_is_lost_below_full_roots():
    plan = planned(seed())
    for light, line, weather_of in zip(plan.light, plan.books, plan.days, strict=True):
        assert line.irrigation_mm == pytest.approx(sum(run.credited_mm for run in light.runs))
        assert line.et_mm == pytest.approx(weather_of.eto_mm)
        # A run that is rounded up brings a little more than what was used: only that passes the roots.
        assert line.passed_mm <= 4 * 40 / 60 * 0.76
        assert line.end_mm == pytest.approx(0.0, abs=1e-9)
    assert runs_of(plan, 1) == {}


def test_new_turf_waters_at_night_only_past_its_allowable_depletion():
    dry = seed(depletion=known(9.0), allowable_depletion=known(0.5), available_water=known(0.15))
    # Young roots of 3 in hold 0.15 × 76.2 = 11.43 mm, half of which may go: 9 mm is past it.
    plan = planned(dry)
    assert list(runs_of(plan, 1)) == [FIRST]
    assert runs_of(plan, 1)[FIRST].allowable_mm == pytest.approx(11.43 / 2)
    assert "in spite of its runs by day" in runs_of(plan, 1)[FIRST].reason
    within = replace(dry, depletion=known(5.7))
    assert runs_of(planned(within), 1) == {}


def test_a_light_run_is_never_longer_than_the_ground_takes_nor_holds_more_than_the_moist_depth():
    short = planned(seed(first_runoff=known(2.0), precip_rate=known(20.0)))
    assert {run.length_min for day in short.light for run in day.runs} == {2}
    # An inch that holds 4 % is 1.016 mm: 60 × 1.016 / 0.76 / 40 = 2.005, so 3 min, where a quarter of the day's use
    # would ask for more.
    sandy = planned(seed(available_water=known(0.04)))
    assert {run.length_min for day in sandy.light for run in day.runs} == {3}
    assert all(60 * day.eto_mm / 4 * MULTIPLIER / 40 > 3 for day in sandy.days)


def test_rain_that_fell_is_counted_on_and_rain_that_is_forecast_is_not():
    wet = [0.0] * 30
    wet[26] = 40.0  # 16 July
    fell = planned(seed(), sky=weather(rain_mm=wet))
    assert date(2026, 7, 16) not in {day.hours.serves for day in fell.light}
    assert len(fell.light) == 6
    forecast = planned(seed(), sky=weather(rain_mm=wet, forecast_from=FIRST))
    assert len(forecast.light) == 7


def test_runs_of_several_stations_lie_one_after_the_other_with_the_delay_between_valves():
    made = site(seed(1), seed(2), seed(3, mode=TurfMode.NEW_SOD), new_turf=HOURS)
    rules = WateringRules(time(22), time(6), EVERY_DAY, valve_delay_min=2)
    for day in plan_week(replace(made, rules=rules), weather(), FIRST).light:
        assert len(day.runs) == 4 + 4 + 2
        for before, after in zip(day.runs, day.runs[1:], strict=False):
            assert after.start_min >= before.start_min + before.length_min + 2
        assert day.runs[-1].start_min + day.runs[-1].length_min <= 480


def test_hours_too_short_for_all_runs_are_said():
    plan = planned(seed(1), seed(2), new_turf=NewTurfHours(time(9), time(9, 20), "permit"))
    for day in plan.light:
        assert sum(run.length_min for run in day.runs) <= 20
        assert len(day.runs) + sum(count for _, count in day.dropped) == 8
    assert any("do not fit the hours" in note for note in plan.notes)


def test_no_light_run_begins_on_a_day_of_a_ban():
    of_all = planned(seed(), bans=(Ban(FIRST, FIRST, "town"),))
    assert FIRST not in {day.hours.serves for day in of_all.light}
    of_one = planned(seed(1), seed(2), bans=(Ban(FIRST, FIRST, "town", frozenset({1})),))
    assert {run.terminal for run in of_one.light[0].runs} == {2}


def test_without_hours_by_day_new_turf_has_every_allowed_night_and_the_note_says_what_is_missing():
    plan = planned(seed(), new_turf=None, water_days=[0, 2, 4])
    assert plan.light == ()
    # The first morning's root zone is full, so the first night has nothing to bring.
    assert len(plan.nights) == 3
    assert set(runs_of(plan, 1)) >= {night.night.serves for night in plan.nights[1:]}
    assert any("[new_turf]" in note and "permit" in note for note in plan.notes)


def test_roots_of_new_turf_are_young_unless_a_core_after_the_light_runs_says_otherwise():
    def capacity(days_old, mode=TurfMode.NEW_SEED):
        made = seed(days_old=days_old, mode=mode, root_depth=known(150.0), available_water=known(0.1))
        return planned(made).books[0].capacity_mm

    assert capacity(5) == pytest.approx(7.62)  # 3 in
    assert capacity(5, TurfMode.NEW_SOD) == pytest.approx(10.16)  # 4 in
    assert capacity(30) == pytest.approx(15.0)


def test_the_notes_say_what_comes_next_by_date():
    (note,) = [each for each in planned(seed(days_old=5)).notes if each.startswith("Station 1 (lawn 1) is new seed")]
    # Sown on 9 July: 14 days to the 22nd, 14 more to 5 August, young until 3 September, the 56th day.
    next_ones = ("4 light runs a day to Wed Jul 22", "2 light runs a day to Wed Aug 5", "young roots to Wed Sep 2")
    for part in ("since Thu Jul 9", *next_ones):
        assert part in note


def test_what_is_applied_and_what_is_printed_hold_the_light_runs():
    plan = planned(seed(), station(2))
    document = json.loads(week_json(plan))
    by_day = sum(run.length_min for day in plan.light for run in day.runs)
    at_night = sum(run.length_min for night in plan.nights for run in night.runs)
    assert sum(each["minutes"] for each in document["applied"]) == by_day + at_night
    assert sum(each["minutes"] for each in document["applied"] if each["terminal"] == 1) == by_day
    assert sum(each["minutes"] for each in document["light_runs"]) == by_day
    assert totals(plan).minutes == by_day + at_night
    assert light_table(plan)[0].starts == ("9:00 am", "11:00 am", "1:00 pm", "3:00 pm")
    rows = [row for row in csv.DictReader(StringIO(week_csv(plan))) if row["state"] == "by day"]
    assert sum(int(row["minutes"]) for row in rows) == by_day
    page = week_page(plan)
    assert "By day: new seed and sod" in page
    assert "9:00 am, 11:00 am, 1:00 pm, 3:00 pm" in page
    assert "By day" not in week_page(planned(station(2)))


def asleep(days_ago, **over):
    return seed(mode=TurfMode.DORMANT, days_old=days_ago, **over)


def test_dormant_turf_gets_one_run_when_three_weeks_have_passed_and_no_other():
    plan = planned(asleep(18))
    (day,) = runs_of(plan, 1)
    assert day == FIRST + timedelta(days=3)
    run = runs_of(plan, 1)[day]
    # 60 × 9.525 / 0.76 / 40 = 18.8 min.
    assert run.net_mm == pytest.approx(DEPTH_MM)
    assert run.length_min >= 19
    assert run.credited_mm == pytest.approx(run.length_min * 40 / 60 * 0.76)
    assert "dormant" in run.reason
    assert "Fri Jun 26" in run.reason
    assert not any("past the allowable" in note for note in plan.notes)
    assert runs_of(planned(asleep(5)), 1) == {}
    assert list(runs_of(planned(asleep(40)), 1)) == [FIRST]


def test_dormant_turf_keeps_to_its_own_cap_and_rests_after_it_all_the_same():
    # 10 min bring 5.1 mm, less than what else counts as having wetted it.
    capped = asleep(40, most_min=10.0)
    plan = planned(capped)
    assert list(runs_of(plan, 1)) == [FIRST]
    assert runs_of(plan, 1)[FIRST].length_min == 10
    assert runs_of(planned(capped, earlier=Earlier(applied_min={(1, date(2026, 7, 4)): 10})), 1) == {}
    assert list(runs_of(planned(capped, earlier=Earlier(applied_min={(1, date(2026, 7, 4)): 9})), 1)) == [FIRST]


def test_dormant_turf_waits_for_the_first_allowed_night():
    # A night that opens on Friday 17 July serves the 18th.
    assert list(runs_of(planned(asleep(18), water_days=[4]), 1)) == [date(2026, 7, 18)]


def test_rain_of_the_depth_counts_and_less_does_not():
    rain = [0.0] * 30
    rain[20] = 12.0  # 10 July
    assert runs_of(planned(asleep(60), sky=weather(rain_mm=rain)), 1) == {}
    rain[20] = 4.0
    assert list(runs_of(planned(asleep(60), sky=weather(rain_mm=rain)), 1)) == [FIRST]


def test_an_earlier_run_counts_and_goes_on_into_the_next_weeks_document(tmp_path):
    # 19 min at 40 mm/h are 12.67 mm, 9.63 of which are credited; 10 min are too little.
    ran = {(1, date(2026, 7, 4)): 19}
    plan = planned(asleep(60), earlier=Earlier(applied_min=ran))
    assert runs_of(plan, 1) == {}
    assert list(runs_of(planned(asleep(60), earlier=Earlier(applied_min={(1, date(2026, 7, 4)): 10})), 1)) == [FIRST]
    document = tmp_path / "week.json"
    document.write_text(week_json(plan))
    state, applied = read_week_document(document, plan.site)
    assert applied == ran
    after = plan_week(plan.site, weather(days=40), FIRST + timedelta(days=7), Earlier(state, applied))
    assert list(runs_of(after, 1)) == [date(2026, 7, 25)]


def test_a_season_waters_dormant_turf_every_three_weeks():
    made, sky = site(asleep(0)), weather(days=80)
    weeks = list(replay_season(made, sky, FIRST, FIRST + timedelta(days=48)))
    watered = [day for week in weeks for day in runs_of(week, 1)]
    assert watered == [FIRST + timedelta(days=21), FIRST + timedelta(days=42)]
