"""What people read of a visit: figures by hand arithmetic, words for what was seen, parts that nobody looked at."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from etsched.model.finding import Mend, Repair
from etsched.model.plan import Run
from etsched.model.recovery import CoverAdvice, Feed
from etsched.model.site import WaterPrice
from etsched.model.visit import AreaSeen, CupTest, MeterReading, StationRun
from etsched.planning.return_visit import Cause
from etsched.planning.valve_map import valve_map
from etsched.tables.visit import visit_table
from etsched.tables.visit_causes import held_back
from etsched.tables.visit_cups import first_night
from etsched.tables.visit_words import Day
from tests.reports.sample_visit import empty_outcome, first_outcome, return_outcome
from tests.reports.sample_week import sample_week


def with_visit(**over):
    outcome = first_outcome()
    return replace(outcome, visit=replace(outcome.visit, **over))


def test_days_are_said_with_and_without_their_year():
    day = Day(date(2026, 7, 14))
    assert (day.text, day.in_full) == ("Tue Jul 14", "Tue Jul 14, 2026")
    assert (Day(None).text, Day(None).in_full) == ("—", "—")


def test_the_head_names_property_day_and_technician():
    table = visit_table(first_outcome())
    assert (table.site, table.day.value, table.technician) == ("Thistledown Grange", date(2026, 7, 14), "R. Vale")


@pytest.mark.parametrize(
    ("units", "asked", "read"), [("us", None, "us"), ("metric", None, "metric"), ("us", "metric", "metric")]
)
def test_readers_get_the_units_of_the_site_unless_they_ask_for_others(units, asked, read):
    assert visit_table(first_outcome(units), asked).system == read


def test_what_the_clock_delivers_by_hand():
    rows = {row.terminal: row for row in visit_table(first_outcome(), "metric").clock.rows}
    # Station 5: 8 min on two days at 40 mm/h: 16 × 40 / 60 mm, on 60 m² 640 L.
    assert (rows[5].runs, rows[5].minutes.text, rows[5].depth.text, rows[5].volume.text) == (
        2,
        "16 min",
        "10.7 mm",
        "640 L",
    )
    us = {row.terminal: row for row in visit_table(first_outcome(), "us").clock.rows}
    # 10.667 / 25.4 in, 640 / 3.785412 gal.
    assert (us[5].depth.text, us[5].volume.text) == ("0.42 in", "169 gal")


def test_programs_as_they_were_found():
    (program,) = visit_table(first_outcome()).clock.programs
    assert (program.name, program.starts, program.days, program.adjust.text) == ("A", ("5:00 am",), "Mon, Thu", "100%")
    assert visit_table(first_outcome("metric")).clock.programs[0].starts == ("05:00",)
    assert program.minutes == "1: 6, 2: 20, 3: 20, 4: 20, 5: 8"


def test_what_was_seen_is_said_in_words():
    seen = visit_table(first_outcome()).seen
    area = seen.areas[0]
    assert area.pattern == "wedges by heads"
    assert area.readings == (
        "living cover 60%; a drop sat 3 s; mown at 2.50 in; tugged: holds; grubs: 2 a square foot; the rest is dull"
    )
    assert area.where == "by the gate"
    assert [(run.from_controller, run.by_hand, run.wet) for run in seen.runs[2:]] == [
        ("yes", "—", "Long border"),
        ("no", "yes", "Ferry lawn"),
    ]
    assert (seen.heads[0].count, seen.heads[0].fault, seen.heads[0].label) == (2, "tilted", "by the gate")
    assert [(coil.coil, coil.volts.text) for coil in seen.coils] == [("open", "26.0 V"), ("34 Ω", "26.0 V")]
    assert (seen.water_salts.text, seen.soil_salts.text) == ("1.1 dS/m", "2.4 dS/m")
    assert (seen.photos, seen.notes) == (("gate.jpg",), ("The gate was locked until nine.",))


def test_a_small_leak_is_not_rounded_to_nothing():
    outcome = with_visit(meters=(MeterReading(None, 2.0, 15.0), MeterReading(2, 0.0, 15.0)))
    leak, still = visit_table(outcome).seen.meters
    # 2 L in 15 min: 0.1333 L/min, 0.0352 gpm.
    assert (leak.terminal, leak.flow.text, still.flow.text) == (None, "0.035 gpm", "0.0 gpm")


def test_runs_that_nobody_watched_and_that_wetted_nothing_differ():
    rows = visit_table(with_visit(runs=(StationRun(1), StationRun(2, True, None, ())))).seen.runs
    assert [row.wet for row in rows] == ["—", "nothing"]


def test_cups_as_rates_and_shares():
    tested, refused = visit_table(first_outcome()).cups
    # Mean 36.25 mL in 16.5 sq in: 60 / 2.54³ × 36.25 / (16.5 × 8) in/h.
    assert tested.rate.text == f"{36.25 * 60 / 2.54**3 / (16.5 * 8):.2f} in/h"
    # 275.8 kPa are 40 psi, 1.3 m/s 2.9 mph.
    assert tested.conditions == "2.9 mph, 40 psi"
    low, high = (float(end) for end in tested.rate_likely.removesuffix(" in/h").split("–"))
    assert low < tested.rate.value / 25.4 < high
    assert refused.refused
    assert (refused.rate.value, refused.du_lq.value, refused.depth.value, refused.depth_likely) == (
        None,
        None,
        None,
        "",
    )
    assert refused.rate.text == refused.du_lq.text == "—"


def test_tonight_is_the_first_night_in_which_the_station_runs():
    plan = sample_week()
    # Station 1 runs 24 min at 38.1 mm/h in the first night: 15.24 mm.
    depth_mm, night = first_night(plan, (1,))
    assert depth_mm == pytest.approx(15.24)
    assert night == "Mon Jul 13 into Tue Jul 14"
    later = replace(plan, nights=(replace(plan.nights[0], runs=()), plan.nights[1]))
    # 16 min there: 10.16 mm.
    assert first_night(later, (1,))[0] == pytest.approx(10.16)
    assert first_night(later, (1,))[1] == "Thu Jul 16 into Fri Jul 17"
    assert first_night(plan, (15,)) == (None, "")
    assert first_night(plan, (1, 7)) == (None, "")


def test_a_run_whose_cycles_all_were_left_out_is_no_night():
    plan = sample_week()
    none: Run = replace(plan.nights[0].runs[0], cycles=())
    assert first_night(replace(plan, nights=(replace(plan.nights[0], runs=(none,)),)), (1,)) == (None, "")


def test_cores_one_by_one_and_by_station():
    cores = visit_table(first_outcome()).cores
    # 90 mm and 60 mm of moist soil: 3.54 and 2.36 in; the brown ones 60 and 65: 62.5 mm, 2.46 in.
    assert [(core.colour, core.moist.text) for core in cores.cores[:2]] == [("green", "3.54 in"), ("brown", "2.36 in")]
    (by_station,) = cores.stations
    assert (by_station.cores, by_station.green_moist.text, by_station.brown_moist.text) == (3, "3.54 in", "2.46 in")
    assert cores.cores[0].layers[0] == "0.00–1.97 in moist"


def test_causes_with_what_speaks_for_and_against_them():
    court = visit_table(first_outcome()).causes[0]
    assert court.area == "Front court"
    # Its cups are even, which stands against the wedges that were seen; its clock gives too little.
    assert court.verdict == "Dry. Likely cause: too little run time."
    assert [row.verdict for row in court.likely] == ["likely"]
    two = replace(court, causes=tuple(replace(row, state="supported") for row in court.causes if row.looks == "dry"))
    assert two.verdict.startswith("Dry. Likely causes: too little run time; uneven coverage; ")
    assert replace(court, causes=()).verdict == "No cause is likely yet."
    assert {row.verdict for row in court.possible} <= {"possible"}
    line = court.likely[0].speaks_for[0]
    only_against = replace(court.causes[0], state="open", speaks_for=(), speaks_against=(line,))
    assert only_against.verdict == "unlikely"
    assert replace(only_against, speaks_for=(line,)).verdict == "possible"
    assert replace(only_against, speaks_against=()).verdict == "possible"  # nobody looked, so it may be
    assert replace(only_against, state="ruled out").verdict == "ruled out"
    assert court.causes[0].state == "supported"
    assert all(row.weighed for row in court.weighed)
    named = {row.name for row in court.weighed} | set(court.silent.split(", "))
    assert named == {row.name for row in court.causes}
    assert court.held == "Don't feed or spray until the watering is right."
    assert court.held not in court.advice


def test_what_is_not_to_be_done_is_said_once_and_by_area_only_where_areas_differ():
    court, lawn = visit_table(first_outcome()).causes
    one, other = "Don't feed.", "Don't spray."
    assert held_back((replace(court, held=one), replace(lawn, held=one))) == (one,)
    assert held_back((replace(court, held=one), replace(lawn, held=other))) == (
        "Front court: Don't feed.",
        "Ferry lawn: Don't spray.",
    )
    assert held_back((replace(court, held=one), replace(lawn, held=""))) == ("Front court: Don't feed.",)
    assert held_back(()) == ()


def test_stations_that_nobody_ran_are_listed_and_wirings_counted_only_where_they_are_few():
    outcome = first_outcome()
    chart = visit_table(outcome).chart
    assert chart.next_try == "" or chart.still_to_run
    ran = replace(outcome, visit=replace(outcome.visit, runs=outcome.visit.runs[1:2]))
    found = visit_table(replace(ran, valves=valve_map(ran.filed, ran.visit))).chart
    # One of five was run: the others may wait in any order, in far more than ten ways.
    assert found.still_to_run == "Still to run: 1, 3, 4, 5."
    assert found.left == ""
    assert replace(found, wirings=9).left == "9 wirings still fit everything that was seen."
    assert replace(found, wirings=10).left == ""


def repaired(**over):
    values = {
        "terminal": 2, "what": ("raise it",), "found_fraction": 0.4, "repaired_fraction": 0.55,
        "minutes_found_min": 117, "minutes_repaired_min": 104, "volume_saved_l": 378.5411784,
        "measured": True, "driest_quarter_mm": 12.7, "reckoning": "reckoned",
    }  # fmt: skip
    price = over.pop("price", None)
    outcome = first_outcome()
    outcome = replace(outcome, found=replace(outcome.found, water_price=price))
    return visit_table(replace(outcome, repairs=(Repair(**(values | over)),))).repairs[0]


def test_repairs_with_their_numbers():
    row = repaired()
    assert (row.rank, row.evenness, row.minutes) == (1, "40% → 55% assumed", "117 → 104 min")
    assert (row.water, row.driest_quarter.text) == ("100 gal less", "0.50 in")
    assert repaired(found_fraction=None).evenness == "no water → 55% assumed"
    assert repaired(measured=False).evenness == "40% assumed → 55% assumed"


@pytest.mark.parametrize(
    ("saved_l", "said"),
    [(-378.5411784, "100 gal more"), (0.1, "the same"), (-0.1, "the same"), (None, "not known: no flow")],
)
def test_repairs_that_take_more_water_say_so(saved_l, said):
    assert repaired(volume_saved_l=saved_l).water == said


def test_repairs_tell_what_they_save_of_the_cost():
    """By hand: 100 gal are 0.3785411784 m³, at 2 EUR each."""
    price = WaterPrice(2.0, "EUR", "2 EUR/m³")
    assert repaired(price=price).water == "100 gal, 0.76 EUR less"
    assert repaired(price=price, volume_saved_l=-378.5411784).water == "100 gal, 0.76 EUR more"
    assert repaired(price=price).saved_cost.value == pytest.approx(0.7570823568)
    assert repaired().saved_cost is None


def test_without_cups_nobody_knows_what_a_repair_saves():
    assert repaired(measured=False, volume_saved_l=None).water == "not known until a cup test"


def test_what_each_station_waters():
    chart = visit_table(first_outcome()).chart
    lines = {line.terminal: line for line in chart.lines}
    assert (lines[2].area, lines[2].filed_as, lines[2].certain) == ("Orchard bank", "Long border", True)
    assert (lines[1].area, lines[1].filed_as) == ("Front court", "")
    assert (lines[4].known, lines[4].certain, lines[4].looked) == ("by hand only", False, True)
    assert (lines[5].known, lines[5].area, lines[5].waters) == ("not run on this visit", "", "Bowling strip")
    assert not lines[5].looked
    assert len(chart.contradictions) >= 3


def test_how_it_comes_back():
    plan = visit_table(first_outcome()).recovery
    rewets = {row.terminal: row for row in plan.rewets}
    assert (rewets[4].path, rewets[4].nights, rewets[4].reached.text) == ("by hand", (), "—")
    night = rewets[5].nights[0]
    assert night.night == "Tue Jul 14 into Wed Jul 15"
    assert night.cycles == f"{night.cycle_count} × {night.cycle_minutes}"
    # What whole minutes at 40 mm/h put down.
    assert night.applied.value == pytest.approx(night.cycle_count * night.cycle_minutes * 40 / 60)
    assert [row.terminal for row in plan.by_hand] == [4]


def test_a_night_that_a_full_window_leaves_short_says_what_is_still_missing_and_what_waits():
    outcome = first_outcome()
    rewet = next(each for each in outcome.recovery.rewets if each.nights)
    short = replace(rewet.nights[0], net_mm=50.8, morning_mm=(12.7, 6.35, 6.35), cycles_count=1, dropped_count=2)
    none = replace(short, cycles_count=0, dropped_count=3)
    plan = replace(outcome.recovery, rewets=(replace(rewet, nights=(short, none)),))
    first, second = visit_table(replace(outcome, recovery=plan)).recovery.rewets[0].nights
    # 50.8 mm are 2 in; 12.7 + 6.35 + 6.35 mm are 1 in.
    assert (first.missing.text, first.left.text, first.unfit, first.soak_minutes) == (
        "2.00 in",
        "1.00 in",
        "2 cycles",
        0,
    )
    assert (second.cycles, second.unfit) == ("—", "3 cycles")


def hand_row(system=None, **over):
    outcome = first_outcome()
    hand = replace(outcome.recovery.by_hand[0], first_turns=(3, 13), daily_turns=(1, 9), rate_mm_h=25.4, **over)
    plan = replace(outcome.recovery, by_hand=(hand,))
    return visit_table(replace(outcome, recovery=plan), system).recovery.by_hand[0]


def test_water_by_hand_says_its_minutes_and_when_their_rate_is_assumed():
    row = hand_row(rate_assumed=True)
    assert (row.first_minutes, row.daily_minutes) == ("about 39 min, in 3 turns of 13", "about 9 min")
    assert row.rate_note == (
        "The minutes are its own heads', the valve opened by hand, at 1.00 in/h, which is assumed: nobody measured it."
    )
    assert hand_row(rate_assumed=False).rate_note.endswith(", the valve opened by hand, at 1.00 in/h.")
    assert "at 25.4 mm/h." in hand_row("metric", rate_assumed=False).rate_note


def green(*actions):
    outcome = first_outcome()
    covers = tuple(
        CoverAdvice("lawn", 40.0, "patch" if sow else "leave", sow, sow, "lawn: so.", ("somebody",)) for sow in actions
    )
    days = {"back_from": date(2026, 8, 22), "back_to": date(2026, 8, 29)}
    return visit_table(replace(outcome, recovery=replace(outcome.recovery, covers=covers, **days)))


def test_when_it_is_green_again_holds_of_what_is_seeded_too():
    words = "What only lacked water should be green again between Sat Aug 22 and Sat Aug 29"
    assert green(None).recovery.green == f"{words}."
    seeded = green(None, date(2026, 8, 15))
    assert seeded.recovery.green == f"{words}; what is seeded takes longer."
    assert seeded.short[-1] == seeded.recovery.green
    outcome = first_outcome()
    unknown = replace(outcome.recovery, back_from=None, back_to=None)
    assert visit_table(replace(outcome, recovery=unknown)).recovery.green == ""


def test_repairs_and_settings_are_counted_apart():
    def counted(*settings):
        mends = tuple(Mend((), "somewhere", ("do it",), setting=setting) for setting in settings)
        return [line for line in visit_table(replace(first_outcome(), mends=mends)).short if line.endswith("first.")]

    assert counted(False, True, True, False, False) == ["3 repairs and 2 settings first."]
    assert counted(False) == ["1 repair first."]
    assert counted(True, True) == ["2 settings first."]
    assert counted() == []


def feed(**over):
    values = {
        "terminal": 5, "area": "Bowling strip", "day": date(2026, 7, 20), "nitrogen_g_m2": 453.59237 / 92.90304,
        "ceiling_g_m2": 453.59237 / 92.90304, "product_kg": 4.5359237, "product_g_m2": 4 * 453.59237 / 92.90304,
        "water_in_mm": 6.35, "sentence": "Bowling strip: fed.", "sources": ("somebody",),
    }  # fmt: skip
    return Feed(**(values | over))


def recovery_with(*feeds, system=None):
    outcome = first_outcome()
    return visit_table(replace(outcome, recovery=replace(outcome.recovery, feeds=feeds)), system).recovery


def test_feeds_in_the_units_of_a_spreader():
    (us,) = recovery_with(feed()).feeds
    assert (us.nitrogen.text, us.product.text, us.product_weight.text) == (
        "1.00 lb/1000 sq ft",
        "4.00 lb/1000 sq ft",
        "10.0 lb",
    )
    (metric,) = recovery_with(feed(), system="metric").feeds
    assert (metric.nitrogen.text, metric.product.text, metric.product_weight.text) == (
        "4.9 g/m²",
        "19.5 g/m²",
        "4.5 kg",
    )


def test_one_reason_not_to_feed_is_said_once_for_all_its_stations():
    why = {"day": None, "nitrogen_g_m2": 0.0, "product_kg": None, "product_g_m2": None}
    feeds = [feed(terminal=t, area=f"lawn {t}", sentence=f"lawn {t}: too hot.", **why) for t in (1, 2, 3)]
    plan = recovery_with(*feeds, feed(terminal=4, area="bank", sentence="bank: a ban stands.", **why), feed())
    assert [(row.stations, row.reason) for row in plan.unfed] == [
        ("Stations 1–3", "too hot."),
        ("Station 4", "a ban stands."),
    ]
    assert [row.terminal for row in plan.feeds] == [5]


def test_findings_with_their_figures_and_who_is_left_out():
    table = visit_table(first_outcome())
    rate = next(row for row in table.findings.rows if row.field == "precip rate")
    assert (rate.terminal, rate.area, rate.value.text) == (1, "Front court", table.cups[0].rate.text)
    (left,) = table.findings.left_out
    assert (left.terminal, left.area) == (4, "Ferry lawn")
    assert "never comes on from the controller" in left.reason


def test_what_stands_beside_cups_and_cores_is_not_said_again():
    outcome = first_outcome()
    twice = outcome.cores[0].remarks[0]
    findings = replace(outcome.findings, remarks=(twice, "A stray word."))
    assert visit_table(replace(outcome, findings=findings)).findings.remarks == ("A stray word.",)


def test_the_proof_core_by_core():
    proof = visit_table(return_outcome()).proof
    assert proof.since.value == date(2026, 7, 14)
    assert "Front court" in proof.statement
    (station,) = proof.stations
    assert (station.terminal, station.verdict) == (1, "refuted")
    assert station.causes[0].change
    assert [core.verdict for core in proof.cores] == ["drier than predicted"] * 3


@pytest.mark.parametrize(
    ("value", "suffix", "said"), [(0.375, "factor", "38%"), (80.0, "mm", "3.15 in"), (None, "", "—")]
)
def test_what_a_difference_speaks_for_has_its_figure(value, suffix, said):
    outcome = return_outcome()
    (station,) = outcome.proof.stations
    told = replace(station, causes=(Cause("a kind", "A sentence.", "A change.", value, suffix),))
    proof = visit_table(replace(outcome, proof=replace(outcome.proof, stations=(told,)))).proof
    assert proof.stations[0].causes[0].value.text == said


def places(outcome):
    return {group.place for group in visit_table(outcome).cautions}


def test_cautions_stand_where_their_work_comes_up_and_nowhere_else():
    assert places(first_outcome()) == {"causes", "repairs", "chart", "recovery"}
    assert places(replace(first_outcome(), valves=None)) == {"seen", "causes", "repairs", "recovery"}
    assert places(replace(first_outcome(), repairs=())) == {"causes", "chart", "recovery"}
    assert places(empty_outcome()) == set()


def test_who_opens_a_box_is_warned():
    group = next(group for group in visit_table(first_outcome()).cautions if group.place == "repairs")
    for word in ("spiders", "pressure", "backflow", "mains voltage", "licensed electrician", "buried lines"):
        assert any(word in line for line in group.lines), word


def test_a_visit_of_which_only_the_day_is_known_has_no_parts():
    table = visit_table(empty_outcome())
    assert table.bare
    assert (table.clock, table.cores, table.chart, table.recovery, table.proof) == (None,) * 5
    assert (table.cups, table.causes, table.repairs, table.cautions) == ((),) * 4
    assert not table.seen.anything
    assert not table.findings.anything
    assert not visit_table(first_outcome()).bare


def test_texts_of_people_are_one_line_without_control_characters():
    outcome = with_visit(
        technician="R.\x1b[31m Vale\n", notes=("one\ntwo", " "), areas=(AreaSeen("a\u202eb", "odd_pattern"),)
    )
    table = visit_table(outcome)
    assert (table.technician, table.seen.notes) == ("R. [31m Vale", ("one two",))
    assert (table.seen.areas[0].name, table.seen.areas[0].pattern) == ("ab", "odd pattern")


def test_several_stations_under_one_test_are_named_together():
    outcome = first_outcome()
    both: CupTest = replace(outcome.cups[0].test, stations=(1, 2), minutes_min=(8.0, 8.0), area="Corner")
    table = visit_table(replace(outcome, cups=(replace(outcome.cups[0], test=both),)))
    assert table.cups[0].name == "Stations 1, 2, Corner"
    assert table.cups[0].tonight.value is None
