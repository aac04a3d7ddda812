"""The door by which a visit enters the plan: what sets a number, what blocks, what only warns."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from etsched.model.finding import Effect
from etsched.model.site import Basis, MultiplierRule
from etsched.model.visit import (
    AreaSeen,
    Core,
    CoreLayer,
    Cup,
    CupTest,
    HeadSeen,
    MeterReading,
    Salts,
    StationRun,
    Visit,
)
from etsched.planning.findings import found_by
from etsched.planning.week import plan_week
from etsched.reference.faults import head_faults
from tests.planning.made import known, site, station, weather

DAY = date(2026, 7, 13)
FIRST = DAY + timedelta(days=1)
NAME = "visit of Mon Jul 13, 2026"
POOR_SPRAY = 0.40  # DU(lq) of poor sprays (from memory, as reference/heads.toml marks it)


def find(made=None, **seen):
    return found_by(made or site(station(1), station(2)), Visit(DAY, **seen))


def at(found, terminal=1):
    (only,) = [each for each in found.site.stations if each.terminal == terminal]
    return only


def of(found, field, effect=None):
    each = found.findings.findings
    return [one for one in each if one.field == field and (effect is None or one.effect is effect)]


def cups(*depths_mm, stations=(1,), minutes=(15.0,)):
    return CupTest(stations, minutes, tuple(Cup(depth_mm=depth) for depth in depths_mm))


def core(feel="dry", **over):
    return Core(**({"station": 1, "layers": (CoreLayer(0.0, 250.0, feel),)} | over))


def minutes(made):
    plan = plan_week(made, weather(days=40), FIRST)
    total = dict.fromkeys((each.terminal for each in made.stations), 0)
    for night in plan.nights:
        for run in night.runs:
            total[run.terminal] += run.length_min
    return total


# --- cups


def test_cups_set_rate_wet_quarter_and_uniformity_and_name_the_visit():
    # Six of 24 cups hold 16 mm, the rest 8: the mean is 10, in a quarter of an hour.
    found = find(cup_tests=(cups(*[16.0] * 6, *[8.0] * 18),))
    one = at(found)
    assert one.precip_rate.value == pytest.approx(40.0)
    assert one.wettest_quarter_rate.value == pytest.approx(64.0)
    assert 0.7 < one.uniformity.value <= 0.8  # 8 ÷ 10 in the cups, less for so few of them
    for each in (one.precip_rate, one.wettest_quarter_rate, one.uniformity):
        assert each.basis is Basis.MEASURED
        assert each.note == f"24 cups, {NAME}"
    assert at(found, 2) == station(2)


def test_a_wet_cup_among_dry_ones_leaves_a_range_that_a_plan_can_be_tried_with():
    # Three dry cups and one of 10 mm: the range of the rate reaches down to no water at all.
    found = find(cup_tests=(cups(0.0, 0.0, 0.0, 10.0),))
    rate = at(found).precip_rate
    assert rate.value == pytest.approx(10.0)
    assert 0.0 < rate.low < rate.value < rate.high
    assert minutes(found.site)[1] > 0


def test_too_few_cups_for_a_uniformity_set_a_rate_alone():
    one = at(find(site(station(1, uniformity=None)), cup_tests=(cups(10.0, 10.0, 9.0, 11.0),)))
    assert one.precip_rate.value == pytest.approx(40.0)
    assert one.uniformity is None


def test_three_cups_set_nothing_and_are_told():
    found = find(cup_tests=(cups(10.0, 10.0, 10.0),))
    assert at(found) == station(1)
    assert any("3 cups" in said for said in found.findings.remarks)


@pytest.mark.parametrize("first", [True, False])
def test_of_two_tests_of_a_station_the_one_with_more_cups_stands(first):
    few, many = cups(*[5.0] * 8), cups(*[10.0] * 24)
    found = find(cup_tests=(few, many) if first else (many, few))
    assert at(found).precip_rate.value == pytest.approx(40.0)
    assert at(found).precip_rate.note == f"24 cups, {NAME}"


def test_of_two_equal_tests_the_later_stands():
    assert at(find(cup_tests=(cups(*[5.0] * 8), cups(*[10.0] * 8)))).precip_rate.value == pytest.approx(40.0)


def test_stations_that_ran_together_share_a_uniformity_and_no_rate():
    found = find(cup_tests=(cups(*[10.0] * 24, stations=(1, 2), minutes=(15.0, 15.0)),))
    for terminal in (1, 2):
        assert at(found, terminal).uniformity.value == pytest.approx(1.0)
        assert at(found, terminal).precip_rate == station(terminal).precip_rate


def test_cups_that_caught_nothing_block_their_station():
    found = find(cup_tests=(cups(*[0.0] * 8),))
    assert at(found).blocked == f"no cup caught anything ({NAME})"
    (block,) = of(found, "no water", Effect.BLOCKS)
    assert block.sentence == f"Station 1 (lawn 1) gets no minutes: no cup caught anything ({NAME})."
    assert minutes(found.site)[1] == 0
    assert minutes(found.site)[2] > 0


@pytest.mark.parametrize(
    "tests",
    [
        (cups(0.0, 0.0, 0.0),),  # too few to say it
        (cups(*[0.0] * 23, 4.0),),  # one caught
        (cups(*[0.0] * 8), cups(*[10.0] * 8)),  # another test did
        (cups(*[0.0] * 8, stations=(1, 2), minutes=(9.0, 9.0)),),  # of which of the two?
        (cups(*[0.0] * 8, stations=(9,)),),
    ],
)
def test_anything_less_does_not_block(tests):
    assert [each.blocked for each in find(cup_tests=tests).site.stations] == [None, None]


def test_few_empty_cups_here_and_there_are_enough_together():
    assert at(find(cup_tests=(cups(0.0, 0.0), cups(0.0, 0.0)))).blocked


# 4 × depth in a quarter of an hour; the site file takes 0.508 to 152.4 mm/h.
@pytest.mark.parametrize(("depth_mm", "used"), [(0.12, False), (0.13, True), (38.0, True), (38.2, False)])
def test_a_rate_that_no_heads_put_down_is_told_and_not_used(depth_mm, used):
    found = find(cup_tests=(cups(*[depth_mm] * 8),))
    assert (at(found) != station(1)) is used
    if not used:
        (warned,) = of(found, "precip_rate")
        assert warned.effect is Effect.WARNS
        assert warned.known.value == pytest.approx(4.0 * depth_mm)


def test_one_huge_outlier_is_told():
    found = find(cup_tests=(cups(*[8.0] * 23, 300.0),))
    assert any("Cup 24 alone raises the mean" in said for said in found.findings.remarks)


def test_what_is_measured_of_a_station_that_the_site_lacks_is_told_and_enters_nothing():
    made = site(station(1), station(2))
    found = find(
        made,
        cup_tests=(cups(*[10.0] * 24, stations=(9,)),),
        meters=(MeterReading(8, 200.0, 5.0),),
        heads=(HeadSeen(7, "tilted"),),
        runs=(StationRun(6, True, first_runoff_min=5.0),),
    )
    assert found.site == made
    assert not [each for each in found.findings.findings if each.effect in {Effect.SETS, Effect.DISCOUNTS}]
    for terminal in (6, 7, 8, 9):
        assert any(said.startswith(f"The site has no station {terminal},") for said in found.findings.remarks)


# --- what is worthless, what is capped, what warns


@pytest.mark.parametrize("rule", MultiplierRule)
def test_below_forty_percent_a_run_is_repaired_and_not_lengthened(rule):
    def plan(du):
        return plan_week(site(station(1, uniformity=known(du)), multiplier_rule=rule), weather(days=40), FIRST)

    first = {du: plan(du).nights[0].runs[0] for du in (0.05, 0.2, 0.39, 0.4, 0.5)}
    assert first[0.05].gross_mm == first[0.2].gross_mm == first[0.39].gross_mm == first[0.4].gross_mm
    assert first[0.4].gross_mm > first[0.5].gross_mm
    by_hand = {
        MultiplierRule.SCHEDULING: 1.0 / (0.4 + 0.6 * 0.4),
        MultiplierRule.LOWER_HALF: 1.0 / (0.386 + 0.614 * 0.4),
        MultiplierRule.LOWER_QUARTER: 2.5,
    }
    assert first[0.2].gross_mm == pytest.approx(first[0.2].net_mm * by_hand[rule])


def test_the_cap_is_told_in_the_working_and_in_the_notes():
    def told(du, **over):
        plan = plan_week(site(station(1, uniformity=known(du), **over), station(2)), weather(days=40), FIRST)
        steps = [step for night in plan.nights for run in night.runs if run.terminal == 1 for step in run.working]
        return [step for step in steps if step.name == "run-time multiplier"], [n for n in plan.notes if "heads" in n]

    steps, notes = told(0.3)
    assert steps
    assert all("DU(lq) counted as 40%" in step.formula for step in steps)
    assert len(notes) == 1
    assert "Station 1: the driest quarter gets less than 40% of the mean" in notes[0]
    assert "Until then the minutes are those of 40%" in notes[0]
    steps, notes = told(0.4)
    assert not [step for step in steps if "counted" in step.formula]
    assert not notes
    assert not told(0.3, blocked="dug up")[1]


@pytest.mark.parametrize("fault", [key for key, each in head_faults().items() if each.effect == "discounts"])
def test_heads_at_fault_count_as_poor_where_no_cups_were_set_out(fault):
    found = find(site(station(1, uniformity=known(0.7)), station(2, uniformity=None)), heads=(HeadSeen(1, fault, 3),))
    one = at(found).uniformity
    assert one.value == pytest.approx(POOR_SPRAY)
    assert one.basis is Basis.TYPICAL
    assert NAME in one.note
    assert at(found, 2).uniformity is None
    assert minutes(found.site)[1] > minutes(site(station(1, uniformity=known(0.7)), station(2)))[1]


@pytest.mark.parametrize(
    ("count", "said"), [(1, "1 head is tilted; set it upright"), (2, "2 heads are tilted; set them upright")]
)
def test_one_head_and_many_are_said_as_such(count, said):
    found = find(site(station(1)), heads=(HeadSeen(1, "tilted", count),))
    assert any(said in each.sentence for each in found.findings.findings)


def test_heads_at_fault_never_better_what_is_known():
    assert at(find(site(station(1, uniformity=known(0.3))), heads=(HeadSeen(1, "tilted"),))).uniformity.value == 0.3


@pytest.mark.parametrize("fault", [key for key, each in head_faults().items() if each.effect == "warns"])
def test_faults_that_only_warn_change_no_number(fault):
    found = find(heads=(HeadSeen(1, fault, label="by the gate"),))
    assert found.site == site(station(1), station(2))
    (warned,) = of(found, fault)
    assert warned.effect is Effect.WARNS
    assert "1 head (by the gate) is" in warned.sentence


def test_cups_under_heads_at_fault_outrank_the_guess():
    found = find(heads=(HeadSeen(1, "tilted"),), cup_tests=(cups(*[10.0] * 24),))
    assert at(found).uniformity.value == pytest.approx(1.0)
    assert not of(found, "uniformity", Effect.DISCOUNTS)


def test_too_few_cups_do_not_save_heads_at_fault_from_the_guess():
    found = find(heads=(HeadSeen(1, "tilted"),), cup_tests=(cups(*[10.0] * 4),))
    assert at(found).uniformity.value == pytest.approx(POOR_SPRAY)
    assert at(found).precip_rate.basis is Basis.MEASURED


def test_new_cups_on_the_second_visit_end_the_guess_of_the_first():
    first = find(heads=(HeadSeen(1, "tilted"),))
    second = found_by(first.site, Visit(FIRST, cup_tests=(cups(*[10.0] * 24),)))
    assert at(second).uniformity.value == pytest.approx(1.0)
    assert at(second).uniformity.basis is Basis.MEASURED


def test_heads_at_fault_on_the_second_visit_undo_the_cups_of_the_first():
    first = find(cup_tests=(cups(*[10.0] * 24),))
    second = found_by(first.site, Visit(FIRST, heads=(HeadSeen(1, "clogged"),)))
    assert at(second).uniformity.value == pytest.approx(POOR_SPRAY)
    assert at(second).precip_rate == at(first).precip_rate


# --- valves


@pytest.mark.parametrize(
    ("run", "why"),
    [
        (StationRun(1, False), "it does not come on from the controller"),
        (StationRun(1, False, False), "it gives no water, from the controller or by hand"),
        (StationRun(1, False, True), "it waters when opened by hand and never comes on from the controller"),
        (StationRun(1, False, True, ("lawn 1",)), "it waters when opened by hand and never comes on from the contr"),
        (StationRun(1, False, True, ()), "it gives no water, from the controller or by hand"),
        (StationRun(1, True, None, ()), "it comes on and wets no area"),
    ],
)
def test_a_valve_that_does_not_water_from_the_controller_gets_no_minutes(run, why):
    found = find(runs=(run,))
    assert at(found).blocked.startswith(why)
    assert at(found).blocked.endswith(f"({NAME})")
    assert minutes(found.site)[1] == 0
    notes = plan_week(found.site, weather(days=40), FIRST).notes
    assert any(note.startswith(f"Station 1 (lawn 1) gets no minutes: {at(found).blocked}.") for note in notes)


@pytest.mark.parametrize(
    "runs",
    [
        (StationRun(1, True),),  # nobody looked where
        (StationRun(1, None, True),),  # nobody tried it from the controller
        (StationRun(1, None, True, ("lawn 1",)),),
        (StationRun(1, True, None, ("LAWN  1",)),),
        (StationRun(1, False), StationRun(1, True, None, ("lawn 1",))),  # tried again, and it came on
        (StationRun(1),),
    ],
)
def test_a_valve_that_may_well_water_keeps_its_minutes(runs):
    assert at(find(runs=runs)).blocked is None


def dead_site():
    return site(station(1, blocked="a root in the valve"), station(2))


def test_a_dead_station_that_waters_its_area_again_is_freed():
    found = find(dead_site(), runs=(StationRun(1, True, None, ("Lawn 1",)),))
    assert at(found).blocked is None
    (freed,) = of(found, "blocked", Effect.FREES)
    assert freed.sentence == f"Station 1 (lawn 1) waters again ({NAME})."
    assert minutes(found.site)[1] > 0


@pytest.mark.parametrize(
    "seen",
    [
        {"runs": (StationRun(1, True),)},
        {"runs": (StationRun(1, True, None, ("by the gate",)),)},  # water, but not on its own area
        {"runs": (StationRun(1, None, True, ("lawn 1",)),)},
        {"cup_tests": (cups(*[10.0] * 24),)},  # somebody may have opened it by hand
        {"meters": (MeterReading(1, 200.0, 5.0),)},
    ],
)
def test_anything_less_frees_nothing(seen):
    assert at(find(dead_site(), **seen)).blocked == "a root in the valve"


@pytest.mark.parametrize("seen", [{"cup_tests": (cups(*[10.0] * 24),)}, {"meters": (MeterReading(1, 200.0, 5.0),)}])
def test_water_measured_of_a_dead_station_is_told(seen):
    found = find(dead_site(), **seen)
    assert any("Station 1: water was measured, and yet" in said for said in found.findings.remarks)
    assert not any("water was measured" in said for said in find(**seen).findings.remarks)


def test_cups_that_caught_nothing_outrank_a_look():
    found = find(runs=(StationRun(1, True, None, ("lawn 1",)),), cup_tests=(cups(*[0.0] * 8),))
    assert "no cup caught anything" in at(found).blocked


def test_a_wiring_found_on_one_visit_is_mended_on_the_next():
    crossed = find(runs=(StationRun(2, True, None, ("lawn 1",)),))
    assert at(crossed, 1).area == "lawn 2"
    assert at(crossed, 1).blocked
    second = found_by(crossed.site, Visit(FIRST, runs=(StationRun(1, True, None, ("lawn 2",)),)))
    assert at(second, 1).blocked is None
    assert at(second, 2).area == "lawn 1"


def test_what_was_measured_goes_by_the_terminal_as_it_is_wired():
    runs = (StationRun(1, True, None, ("lawn 2",)), StationRun(2, True, None, ("lawn 1",)))
    found = find(runs=runs, cup_tests=(cups(*[5.0] * 24),))
    assert (at(found, 1).area, at(found, 1).precip_rate.value) == ("lawn 2", pytest.approx(20.0))
    assert at(found, 2).precip_rate.note == "made for a test"


def test_the_soonest_of_several_runoffs_keeps_the_water_on_the_ground():
    runs = [StationRun(1, True, first_runoff_min=value) for value in (9.0, 4.0, 0.0, 7.0)]
    found = find(runs=tuple(runs))
    assert at(found).first_runoff.value == 4.0
    assert len(of(found, "first_runoff")) == 1
    plan = plan_week(found.site, weather(days=40), FIRST)
    assert max(c.length_min for n in plan.nights for r in n.runs if r.terminal == 1 for c in r.cycles) <= 4


def test_a_leak_and_salts_only_warn():
    found = find(runs=(StationRun(1, True, leak="at the second head"),), salts=Salts(1.0, 2.0))
    assert found.site == site(station(1), station(2))
    assert of(found, "leak")[0].sentence == "Station 1 leaks: at the second head."
    # FAO-29: 1 ÷ (5 × 2 − 1) is 11 %.
    assert "11% of the water must pass the roots" in of(found, "salts")[0].sentence
    assert of(found, "salts")[0].terminal is None


# --- cores


def test_three_cores_set_water_and_roots():
    made = site(station(1, available_water=known(0.18)), target_depth_mm=250.0)
    found = find(made, cores=tuple(core("dry", roots_mm=depth) for depth in (110.0, 120.0, 140.0)))
    assert at(found).root_depth.value == 120.0
    assert at(found).root_depth.note == f"3 cores, {NAME}"
    (reading,) = found.readings
    assert reading.water.morning == DAY
    # "dry" is 0 to 25 % of what the soil holds: 87.5 % of 0.18 × 120 mm is missing.
    assert reading.water.deficit_mm[1][0] == pytest.approx(0.875 * 0.18 * 120.0)
    assert reading.source == f"cores read by feel, {NAME}"
    assert "water books start from there" in of(found, "water", Effect.SETS)[0].sentence


@pytest.mark.parametrize("count", [1, 2])
def test_fewer_than_three_cores_leave_the_books_alone_and_say_so(count):
    found = find(cores=(core(),) * count)
    assert found.readings == ()
    assert any("what its soil lacks is still reckoned from the weather" in said for said in found.findings.remarks)


def test_a_lone_dry_core_under_a_bad_head_is_local_and_lengthens_nothing():
    heads = (HeadSeen(1, "tilted"),)
    without = find(heads=heads)
    found = find(heads=heads, cores=(core(colour="brown"),))
    assert found.site == without.site
    assert found.readings == ()
    (local,) = of(found, "core")
    assert local.effect is Effect.WARNS
    assert "the station does not run longer for it" in local.sentence


def test_dry_cores_under_bad_heads_do_not_make_up_three():
    found = find(heads=(HeadSeen(1, "tilted"),), cores=(core(), core(), core(colour="brown"), core(colour="brown")))
    assert found.readings == ()


def test_cores_in_a_patch_with_a_coverage_fault_do_not_set_the_station():
    patch = AreaSeen("Dry wedge", "wedge_by_head", "dull_grey", ("footprints_stay",))
    inside = (core(area="Dry wedge"),) * 4
    found = find(areas=(patch,), cores=inside)
    assert found.readings == ()
    assert len(of(found, "core")) == 4
    # The same cores, of a patch of which nobody saw what ails it, are the station's.
    assert find(cores=inside).readings


def test_an_area_that_bears_a_stations_name_is_the_station_however_it_is_written():
    seen = [
        find(
            areas=(AreaSeen(name, "wedge_by_head", "dull_grey", ("footprints_stay",)),),
            heads=(HeadSeen(1, "tilted"),),
            cores=(core(area=name),) * 3,
        )
        for name in ("lawn 1", "LAWN 1")
    ]
    assert [len(each.readings) for each in seen] == [1, 1]


def test_roots_shallower_than_an_inch_count_as_an_inch():
    one = at(find(cores=(core(roots_mm=8.0),)))
    assert one.root_depth.value == 25.4
    assert "counted as an inch" in one.root_depth.note


def test_dead_turf_has_no_roots_to_plan_for():
    assert at(find(cores=(core(roots_mm=0.0),) * 3)).root_depth == station(1).root_depth


@pytest.mark.parametrize("stray", [{"station": 9}, {"station": None, "area": "by the gate"}])
def test_a_core_of_no_station_is_told(stray):
    found = find(cores=(core(**stray),) * 3)
    assert found.readings == ()
    assert any("Core 1" in said and "tells of no station" in said for said in found.findings.remarks)


# --- all of it in the week's table


def test_the_week_uses_what_was_measured_and_names_the_visit():
    made = site(station(1, precip_rate=None, uniformity=None, root_depth=None), station(2))
    found = find(made, cup_tests=(cups(*[10.0] * 24),), cores=tuple(core(roots_mm=130.0) for _ in range(3)))
    plan = plan_week(found.site, weather(days=40), FIRST)
    steps = {s.name: s for n in plan.nights for r in n.runs if r.terminal == 1 for s in r.working}
    for name in ("precipitation rate", "uniformity, DU(lq)", "root depth"):
        assert NAME in steps[name].source
        assert steps[name].formula == "measured"
    guessed = {guess.field for guess in plan.assumptions if guess.terminal == 1}
    assert not guessed & {"precip_rate", "uniformity", "root_depth", "application_efficiency"}


def test_the_findings_stand_in_order_of_station_and_the_property_last():
    found = find(
        runs=(StationRun(2, True, leak="at the box"), StationRun(1, True, leak="at a head")),
        salts=Salts(1.0, 2.0),
        meters=(MeterReading(None, 3.0, 15.0),),
    )
    assert [each.terminal for each in found.findings.findings] == [1, 2, None, None]


def test_a_visit_that_found_nothing_is_no_visit():
    made = site(station(1), replace(station(2), blocked="dug up"))
    found = found_by(made, Visit(DAY))
    assert (found.site, found.findings.findings, found.findings.remarks) == (made, (), ())
    assert (found.cups, found.cores, found.readings, found.wired) == ((), (), (), {1: 1, 2: 2})
