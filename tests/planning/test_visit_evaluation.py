"""A visit judged as a whole: the water of its week by hand, what earlier books become, and what is refused."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from etsched.errors import PlanRefused
from etsched.model.plan import WaterState
from etsched.model.recovery import RecoveryAsk
from etsched.model.visit import AreaSeen, Core, CoreLayer, Cup, CupTest, HeadSeen, StationRun, Visit
from etsched.planning.start import Reading
from etsched.planning.visit_evaluation import VisitCase, after_visits, evaluate
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import Earlier, plan_week
from tests.planning.made import known, site, station, weather

DAY = date(2026, 7, 13)
FIRST = DAY + timedelta(days=1)
SKY = weather(days=45)


def plain(terminal, **over):
    """A station whose turf uses 0.8 ETo, and whose roots hold 0.18 × 150 = 27 mm, half of which may go."""
    fixed = {"available_water": 0.18, "allowable_depletion": 0.5, "crop_factor": 0.8, "density": 1.0}
    return station(terminal, **({name: known(value) for name, value in fixed.items()} | over))


SITE = site(plain(1), plain(2), target_depth_mm=150.0)


def judge(visit, *before, made=SITE, sky=SKY, first_day=None, earlier=None):
    first_day = first_day or visit.day + timedelta(days=1)
    return evaluate(VisitCase(made, visit, sky, first_day, earlier or Earlier(), before))


def cores(feel, terminal=1, depth_mm=150.0, **over):
    return tuple(Core(station=terminal, layers=(CoreLayer(0.0, depth_mm, feel),), **over) for _ in range(3))


def use_mm(day):
    days = days_from_weather(SKY, SITE)
    return 0.8 * float(days.eto_mm[(day - days.first).days])


def begins(outcome, terminal=1):
    return outcome.plan.start.deficit_mm[terminal][0]


# --- the date alone


def test_a_visit_of_which_only_the_date_is_known_changes_nothing():
    told = judge(Visit(DAY))
    assert told.plan == plan_week(SITE, SKY, FIRST)
    assert told.found == told.filed == SITE
    assert (told.clock, told.valves, told.proof) == (None, None, None)
    assert (told.coils, told.cups, told.cores, told.diagnoses, told.repairs) == ((), (), (), (), ())


# --- the water


def test_the_books_start_from_the_cores_and_the_day_that_follows():
    told = judge(Visit(DAY, cores=cores("moist")))
    # "moist" is 50 to 75 %: 37.5 % of 27 mm is missing, less than the half that may go, so nothing slows the use.
    assert begins(told) == pytest.approx(0.375 * 27.0 + use_mm(DAY))
    assert begins(told, 2) == begins(judge(Visit(DAY)), 2)


def test_a_plan_made_some_days_later_counts_the_days_between_and_says_that_nobody_told_what_ran():
    told = judge(Visit(DAY, cores=cores("wet")), first_day=DAY + timedelta(days=2))
    assert begins(told) == pytest.approx(0.125 * 27.0 + use_mm(DAY) + use_mm(FIRST))
    assert any("nobody said what ran since" in note for note in told.plan.notes)
    assert not any("nobody said what ran since" in note for note in judge(Visit(DAY, cores=cores("wet"))).plan.notes)


def test_minutes_that_ran_after_the_reading_are_credited():
    visit = Visit(DAY, cores=cores("wet"))
    told = judge(visit, first_day=DAY + timedelta(days=2), earlier=Earlier(applied_min={(1, FIRST): 9}))
    # 9 min at 40 mm/h are 6 mm, of which DU 0.6, a multiplier of 1 ÷ 0.76, credits 4.56.
    assert begins(told) == pytest.approx(0.125 * 27.0 + use_mm(DAY) - 4.56 + use_mm(FIRST))


def test_the_night_before_the_cores_is_in_them_already():
    # Cores are taken after the night's water and before the day's ET, as the return visit has it.
    ran = Earlier(applied_min={(1, DAY): 12})
    assert begins(judge(Visit(DAY, cores=cores("slightly moist")), earlier=ran)) == pytest.approx(
        begins(judge(Visit(DAY, cores=cores("slightly moist"))))
    )


def test_the_working_names_the_cores_and_the_reading_is_no_guess():
    told = judge(Visit(DAY, cores=cores("slightly moist")))
    run = next(run for run in told.plan.nights[0].runs if run.terminal == 1)
    dusk = next(step for step in run.working if step.name == "depletion at dusk")
    assert dusk.source == "cores read by feel, visit of Mon Jul 13, 2026, carried on in the water books"
    guessed = {guess.terminal for guess in told.plan.assumptions if guess.field == "depletion"}
    assert guessed == {2}


def test_of_two_readings_the_later_stands():
    first = Visit(DAY - timedelta(days=7), cores=cores("dry"))
    told = judge(Visit(DAY, cores=cores("wet")), first)
    assert begins(told) == pytest.approx(0.125 * 27.0 + use_mm(DAY))


def test_cores_of_the_visit_before_still_count_where_none_were_taken_since():
    first = Visit(DAY - timedelta(days=1), cores=cores("wet"))
    assert begins(judge(Visit(DAY), first)) == pytest.approx(
        0.125 * 27.0 + use_mm(DAY - timedelta(days=1)) + use_mm(DAY)
    )


def test_books_that_begin_after_the_cores_hold_them_already():
    books = WaterState(FIRST, dict.fromkeys((1, 2), (5.0, 0.0, 0.0)), dict.fromkeys((1, 2), (150.0, 0.0, 0.0)))
    assert begins(judge(Visit(DAY, cores=cores("dry")), earlier=Earlier(books))) == pytest.approx(5.0)


def test_cores_outrank_the_depletion_that_the_site_file_states():
    made = replace(SITE, stations=(plain(1, depletion=known(2.0)), plain(2)))
    assert begins(judge(Visit(DAY, cores=cores("moist")), made=made)) == pytest.approx(0.375 * 27.0 + use_mm(DAY))


def test_roots_that_were_found_are_the_layers_of_the_reading():
    made = replace(SITE, target_depth_mm=200.0)
    told = judge(Visit(DAY, cores=cores("wet", depth_mm=200.0, roots_mm=100.0)), made=made)
    assert told.plan.start.thickness_mm[1] == pytest.approx((100.0, 50.0, 50.0))
    # 0.18 × 100 mm of roots and 0.18 × 50 mm below each lack an eighth; then the turf takes its day from the roots.
    assert told.plan.start.deficit_mm[1] == pytest.approx((0.125 * 18.0 + use_mm(DAY), 1.125, 1.125))


def test_a_lone_dry_core_under_a_bad_head_runs_nothing_longer():
    heads = (HeadSeen(1, "tilted"),)
    lone = Visit(DAY, heads=heads, cores=cores("dry", colour="brown")[:1])
    assert judge(lone).plan.nights == judge(Visit(DAY, heads=heads)).plan.nights


# --- wires

CROSSED = (StationRun(1, True, None, ("lawn 2",)), StationRun(2, True, None, ("lawn 1",)))
LAYERS = dict.fromkeys((1, 2), (150.0, 0.0, 0.0))


def test_water_known_before_goes_with_the_ground_when_its_terminal_proves_another():
    books = Earlier(WaterState(DAY, {1: (3.0, 0.0, 0.0), 2: (9.0, 0.0, 0.0)}, LAYERS))
    straight, crossed = judge(Visit(DAY), earlier=books), judge(Visit(DAY, runs=CROSSED), earlier=books)
    assert begins(straight, 1) == pytest.approx(3.0 + use_mm(DAY))
    assert [each.area for each in crossed.found.stations] == ["lawn 2", "lawn 1"]
    assert begins(crossed, 2) == pytest.approx(3.0 + use_mm(DAY))
    assert begins(crossed, 1) == pytest.approx(9.0 + use_mm(DAY))


def test_minutes_that_ran_watered_what_hangs_on_the_terminal():
    books = Earlier(WaterState(DAY, {1: (12.0, 0.0, 0.0), 2: (12.0, 0.0, 0.0)}, LAYERS), {(1, DAY): 9})
    crossed = judge(Visit(DAY, runs=CROSSED), earlier=books)
    # 9 min at 40 mm/h, through DU 0.6: 6 × 0.76 mm, to the ground that terminal 1 waters.
    assert begins(crossed, 1) == pytest.approx(12.0 - 4.56 + use_mm(DAY))
    assert begins(crossed, 2) == pytest.approx(12.0 + use_mm(DAY))


def test_books_that_were_made_with_the_visit_are_not_crossed_again():
    books = Earlier(WaterState(FIRST, {1: (3.0, 0.0, 0.0), 2: (9.0, 0.0, 0.0)}, LAYERS))
    crossed = judge(Visit(DAY, runs=CROSSED), earlier=books)
    assert (begins(crossed, 1), begins(crossed, 2)) == (3.0, 9.0)


def test_cores_of_the_visit_before_go_with_their_ground():
    first = Visit(DAY - timedelta(days=1), cores=cores("wet"))
    told = judge(Visit(DAY, runs=CROSSED), first)
    assert begins(told, 2) == pytest.approx(0.125 * 27.0 + use_mm(DAY - timedelta(days=1)) + use_mm(DAY))


def test_a_terminal_that_the_file_lacks_takes_the_water_of_its_ground():
    books = Earlier(WaterState(DAY, {1: (3.0, 0.0, 0.0), 2: (9.0, 0.0, 0.0)}, LAYERS))
    told = judge(Visit(DAY, runs=(StationRun(7, True, None, ("lawn 2",)),)), earlier=books)
    assert set(told.plan.start.deficit_mm) == {1, 7}
    assert begins(told, 7) == pytest.approx(9.0 + use_mm(DAY))


def test_cores_of_the_same_visit_go_by_the_terminal_as_it_is_wired():
    told = judge(Visit(DAY, runs=CROSSED, cores=cores("wet", terminal=2)))
    assert [each.area for each in told.found.stations if each.terminal == 2] == ["lawn 1"]
    assert begins(told, 2) == pytest.approx(0.125 * 27.0 + use_mm(DAY))


# --- dead stations

DEAD = (StationRun(1, False, True, ("lawn 1",)),)


def test_a_dead_station_is_in_the_plan_as_a_reason_and_in_the_recovery_by_hand():
    told = judge(Visit(DAY, runs=DEAD))
    assert 1 not in {run.terminal for night in told.plan.nights for run in night.runs}
    assert any(note.startswith("Station 1 (lawn 1) gets no minutes: it waters when opened") for note in told.plan.notes)
    assert [each.terminal for each in told.recovery.by_hand] == [1]
    assert told.recovery.rewets[0].nights == ()
    assert [each.terminal for each in told.repairs] == [1]


def test_a_dead_station_is_rewetted_from_the_day_of_its_repair_and_no_sooner():
    mended = DAY + timedelta(days=5)
    told = judge(Visit(DAY, runs=DEAD, recovery=RecoveryAsk(ready={1: mended})))
    rewet = told.recovery.rewets[0]
    assert rewet.nights
    # The night that serves the day of the repair is over before it.
    assert min(night.serves for night in rewet.nights) > mended
    # The week's table knows no promise of a repair.
    assert 1 not in {run.terminal for night in told.plan.nights for run in night.runs}


def test_a_station_dead_on_the_first_visit_and_mended_on_the_second_gets_minutes_again():
    first = Visit(DAY - timedelta(days=7), runs=DEAD)
    still, mended = judge(Visit(DAY), first), judge(Visit(DAY, runs=(StationRun(1, True, None, ("lawn 1",)),)), first)
    ran = [{run.terminal for night in told.plan.nights for run in night.runs} for told in (still, mended)]
    assert ran == [{2}, {1, 2}]
    assert still.filed.stations[0].blocked
    assert mended.repairs == ()


def test_repairs_are_the_first_words_of_the_recovery():
    told = judge(Visit(DAY, runs=DEAD, heads=(HeadSeen(2, "tilted"),)))
    assert [each.terminal for each in told.repairs] == [1, 2]
    assert told.recovery.repairs[0].startswith("Station 1 (lawn 1): ")
    assert told.recovery.repairs[1] == "Station 2 (lawn 2): set it upright and firm the ground."


def test_soil_that_sheds_water_is_rewetted_as_such_and_what_the_record_asks_stays():
    area = AreaSeen("LAWN 2", signs=("water_beads",), drop_s=600.0)
    told = judge(Visit(DAY, areas=(area,), recovery=RecoveryAsk(target_depth_mm=180.0, repellent=frozenset({1}))))
    (shed,) = [cause for cause in told.diagnoses[0].causes if cause.key == "repellency"]
    assert shed.state == "supported"
    assert [each.path for each in told.recovery.rewets] == ["repellent", "repellent"]
    assert told.recovery.target_depth_mm == 180.0


# --- visits in order


def test_visits_enter_in_order_and_the_later_number_stands():
    def test_of(depth_mm):
        return CupTest((1,), (15.0,), (Cup(depth_mm=depth_mm),) * 24)

    one = Visit(DAY - timedelta(days=7), cup_tests=(test_of(5.0),))
    other = Visit(DAY, cup_tests=(test_of(10.0),))
    made, earlier = after_visits(SITE, (one, other), Earlier())
    assert made.stations[0].precip_rate.value == pytest.approx(40.0)
    assert made.stations[0].precip_rate.note.endswith("visit of Mon Jul 13, 2026")
    assert earlier == Earlier()
    assert after_visits(SITE, (), Earlier()) == (SITE, Earlier())


def test_readings_gather_in_order_of_visits():
    visits = (Visit(DAY - timedelta(days=7), cores=cores("dry")), Visit(DAY, cores=cores("wet", terminal=2)))
    _, earlier = after_visits(SITE, visits, Earlier())
    assert [(reading.water.morning, set(reading.water.deficit_mm)) for reading in earlier.readings] == [
        (DAY - timedelta(days=7), {1}),
        (DAY, {2}),
    ]


# --- the proof


def test_a_return_visit_proves_the_books_from_the_last_visit_on():
    # Full on Sunday, one hot day: 27 mm lack a day's use, which "wet", 0 to 25 %, or "moist" agrees with.
    first = Visit(DAY - timedelta(days=1), cores=cores("at field capacity"))
    lacks = use_mm(DAY - timedelta(days=1)) / 27.0
    agrees, differs = ("moist", "dry") if lacks >= 0.25 else ("wet", "dry")
    proved, refuted = judge(Visit(DAY, cores=cores(agrees)), first), judge(Visit(DAY, cores=cores(differs)), first)
    assert [each.verdict for each in proved.proof.stations] == ["proved"]
    assert [each.verdict for each in refuted.proof.stations] == ["refuted"]
    assert proved.proof.since == first
    assert proved.proof.stations[0].cores[0].predicted_deficit_mm == pytest.approx(lacks * 27.0)


def test_books_kept_since_the_last_visit_are_those_that_are_held_to_proof():
    first = Visit(DAY - timedelta(days=7))
    books = WaterState(DAY - timedelta(days=1), dict.fromkeys((1, 2), (0.0, 0.0, 0.0)), LAYERS)
    told = judge(Visit(DAY, cores=cores("dry")), first, earlier=Earlier(books))
    assert told.proof.stations[0].cores[0].predicted_deficit_mm == pytest.approx(use_mm(DAY - timedelta(days=1)))


def test_books_that_begin_after_the_return_visit_prove_nothing_of_the_days_before_it():
    first = Visit(DAY - timedelta(days=1), cores=cores("at field capacity"))
    books = WaterState(FIRST, dict.fromkeys((1, 2), (20.0, 0.0, 0.0)), LAYERS)
    told = judge(Visit(DAY, cores=cores("moist")), first, earlier=Earlier(books))
    assert told.proof.stations[0].cores[0].predicted_deficit_mm == pytest.approx(use_mm(DAY - timedelta(days=1)))


@pytest.mark.parametrize("before", [(), (Visit(DAY - timedelta(days=7)),)])
def test_no_cores_or_no_visit_before_no_proof(before):
    seen = () if before else cores("moist")
    assert judge(Visit(DAY, cores=seen), *before).proof is None


def test_two_visits_of_one_day_are_judged_in_the_order_they_are_given():
    told = judge(Visit(DAY, cores=cores("moist")), Visit(DAY, cores=cores("moist")))
    assert [each.verdict for each in told.proof.stations] == ["proved"]


# --- what is refused


@pytest.mark.parametrize(
    ("visit", "before", "sky"),
    [
        (Visit(DAY), (), weather(DAY + timedelta(days=5), days=20)),
        (Visit(DAY), (), weather(DAY - timedelta(days=40), days=20)),
        (Visit(DAY), (Visit(date(2026, 5, 1), cores=cores("wet")),), SKY),
    ],
)
def test_weather_that_does_not_reach_is_one_sentence(visit, before, sky):
    with pytest.raises(PlanRefused, match="weather") as refused:
        judge(visit, *before, sky=sky)
    assert "\n" not in str(refused.value)


def test_a_visit_before_the_weather_without_cores_is_no_hindrance_where_nothing_is_to_be_proved():
    first = Visit(date(2026, 5, 1), runs=DEAD)
    assert judge(Visit(DAY), first).filed.stations[0].blocked


def test_cores_after_a_visit_before_the_weather_prove_nothing_and_say_so():
    proof = judge(Visit(DAY, cores=cores("wet")), Visit(date(2025, 5, 1))).proof
    assert proof.stations == ()
    assert "The cores prove nothing of the visit of Thu May 1, 2025" in proof.statement


def test_who_forgets_is_not_held_up_by_cores_from_before_the_weather():
    old, visit = Visit(date(2025, 5, 1), cores=cores("wet")), Visit(DAY, cores=cores("dry"))
    case = VisitCase(SITE, visit, SKY, DAY + timedelta(days=1), Earlier(), (old,), forgets=True)
    assert begins(evaluate(case)) == begins(judge(visit))


def test_a_reading_is_of_its_stations_alone():
    reading = Reading(WaterState(DAY, {1: (4.0, 0.0, 0.0)}, {1: (150.0, 0.0, 0.0)}), "cores")
    told, alone = plan_week(SITE, SKY, FIRST, Earlier(readings=(reading,))), plan_week(SITE, SKY, FIRST)
    assert told.start.deficit_mm[1][0] == pytest.approx(4.0 + use_mm(DAY))
    assert told.start.deficit_mm[2] == alone.start.deficit_mm[2]
