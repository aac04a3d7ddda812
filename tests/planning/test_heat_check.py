"""The heat check as a whole, on sites small enough to follow by hand."""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from etsched.errors import PlanRefused
from etsched.model.heat import HeatSpell
from etsched.model.plan import WaterState
from etsched.model.site import Ban, Controller
from etsched.model.visit import ClockFound, Program
from etsched.planning.heat_check import HeatCase, heat_check
from etsched.planning.heat_table import WeekMinutes
from etsched.planning.hotter_days import two_weathers
from etsched.planning.week import Earlier, plan_week

from .made import EVERY_DAY, known, site, station, weather

FIRST = date(2026, 7, 14)
HOT = HeatSpell(6.0, FIRST, 4)
# Root zone of 30 mm of which 15 may go, Kc 1, DU 0.6 → credited = applied × 0.76, 40 mm/h, no runoff.
PLAIN = {
    "available_water": known(0.2),
    "allowable_depletion": known(0.5),
    "crop_factor": known(1.0),
    "intake": known(60.0),
}


def plain(terminal, **over):
    return station(terminal, **(PLAIN | {"depletion": known(12.0)} | over))


def nightly(minutes):
    """A table with the same minutes on every night."""
    return WeekMinutes(
        {(terminal, FIRST + timedelta(days=day)): float(m) for terminal, m in minutes.items() for day in range(7)},
        "the table made for a test",
    )


def check(held, *stations, spell=HOT, sky=None, earlier=None, **over):
    made = site(*(stations or (plain(1),)), **over)
    return heat_check(HeatCase(made, sky or weather(), FIRST, held, spell, earlier or Earlier()))


def eto(spell):
    made = site(plain(1))
    days = two_weathers(weather(), made, spell, FIRST + timedelta(days=20))
    begin = (FIRST - days.hot.first).days
    return days.hot.eto_mm[begin : begin + 7]


def test_who_passes_when_and_the_least_to_add_by_hand():
    # 12 min bring 8 mm, of which 6.08 are credited. From 12 mm missing:
    use, found = eto(HOT), check(nightly({1: 12}))
    state, first, worst, added, total = 12.0, None, 0.0, 0.0, 0.0
    for day in range(7):
        state = max(state - 12 * 40 / 60 * 0.76, 0.0) + use[day]
        worst = max(worst, min(state, 30.0) - 15.0)
        first = first or (FIRST + timedelta(days=day) if state > 15.0 else None)
    state = 12.0
    for day in range(7):
        state = max(state - 12 * 40 / 60 * 0.76, 0.0)
        added = max(state + use[day] - 15.0, 0.0)
        total += added
        state = state - added + use[day]
    (one,) = found.stations
    assert first is not None
    assert one.passes_on == first
    assert one.excess_mm == pytest.approx(worst)
    exact_min = total / 0.76 * 60 / 40
    assert exact_min <= one.extra_min < exact_min + 1.0
    assert one.passes_still_on is None
    assert sum(night.extra_min for night in found.nights) == one.extra_min


def test_with_no_heat_it_asks_for_what_the_forecast_asks_for():
    held = nightly({1: 10})
    hot, usual, asked_for_nothing = (check(held, spell=spell) for spell in (HOT, replace(HOT, hotter_c=0.0), None))
    (one,), (two,), (three,) = hot.stations, usual.stations, asked_for_nothing.stations
    assert (two.passes_on, two.extra_min) == (one.usual_passes_on, one.usual_extra_min)
    assert (three.passes_on, three.extra_min) == (two.passes_on, two.extra_min)
    assert one.extra_min > two.extra_min > 0
    assert usual.days == usual.usual_days == asked_for_nothing.days


def test_a_planned_week_needs_nothing_without_heat():
    made = site(plain(1), plain(2, depletion=known(3.0)))
    plan = plan_week(made, weather(), FIRST)
    table = {(run.terminal, night.night.serves): float(run.length_min) for night in plan.nights for run in night.runs}
    found = heat_check(HeatCase(made, weather(), FIRST, WeekMinutes(table, "the plan")))
    assert [each.passes_on for each in found.stations] == [None, None]
    assert (found.changes, found.back_on) == (False, None)
    assert found.percent.set_pct == 100.0


def test_additions_are_packed_and_what_the_night_cannot_hold_is_said():
    roomy = check(nightly({1: 12, 2: 12}), plain(1), plain(2))
    assert all(night.missing_min == 0 for night in roomy.nights)
    tight = check(nightly({1: 12, 2: 12}), plain(1), plain(2), opens=time(4), closes=time(4, 26))
    short = next(night for night in tight.nights if night.missing_min)
    assert short.used_min <= short.night.length_min == 26
    asked = sum(run.table_min + run.extra_min for run in short.runs)
    assert sum(run.cycles_count * run.cycle_min for run in short.runs) >= asked - 1e-9
    assert asked > 26
    assert [s.extra_min for s in tight.stations] == [s.extra_min for s in roomy.stations]


def test_who_comes_first_keeps_its_minutes_when_the_night_is_short():
    tight = check(
        nightly({1: 12, 2: 12}),
        plain(1, priority_count=2),
        plain(2),
        opens=time(4),
        closes=time(4, 30),
    )
    short = next(night for night in tight.nights if night.missing_min)
    assert {run.terminal for run in short.runs if run.missing_min} == {1}


def test_most_minutes_of_a_station_are_kept_to():
    capped = check(nightly({1: 12}), plain(1, most_min=13))
    for night in capped.nights:
        for run in night.runs:
            assert run.cycles_count * run.cycle_min <= 13
            assert run.missing_min == max(12 + run.extra_min - 13, 0)
    assert any(night.missing_min for night in capped.nights)


def test_runs_are_cut_so_that_nothing_runs_off():
    found = check(nightly({1: 20}), station(1, depletion=known(12.0)))  # runs off after 14.7 min
    run = next(run for night in found.nights for run in night.runs if run.extra_min)
    assert run.cycle_min <= 14
    assert run.cycles_count * run.cycle_min >= 20 + run.extra_min
    assert run.soak_min >= run.cycle_min * (40 / 8.89 - 1)


def test_a_ban_lets_no_minutes_be_added_on_its_nights():
    second = FIRST + timedelta(days=1)
    opens_on = second - timedelta(days=1)
    ban = Ban(opens_on, opens_on, "a town holiday", frozenset({1}))
    banned = check(nightly({1: 12, 2: 12}), plain(1), plain(2), bans=(ban,))
    night = next(each for each in banned.nights if each.night.serves == second)
    assert {run.terminal: run.extra_min for run in night.runs}[1] == 0
    # What the ban forbids is added the night before, and more of it.
    free = check(nightly({1: 12, 2: 12}), plain(1), plain(2))
    assert banned.nights[0].runs[0].extra_min > free.nights[0].runs[0].extra_min
    assert banned.stations[1].extra_min == free.stations[1].extra_min


def test_a_blocked_station_gets_no_minutes_and_turns_no_dial():
    lone = check(nightly({1: 12}))
    found = check(nightly({1: 12, 2: 12}), plain(1), plain(2, blocked="the valve never opens"))
    blocked = found.stations[1]
    assert blocked.passes_on is not None
    assert (blocked.extra_min, blocked.under_mm, blocked.over_mm) == (0, 0.0, 0.0)
    assert found.percent.set_pct == lone.percent.set_pct
    assert all(run.terminal == 1 for night in found.nights for run in night.runs)
    assert any("Station 2 is blocked (the valve never opens)" in note for note in found.notes)


def test_shallow_roots_pass_although_all_is_added():
    found = check(nightly({1: 12}), plain(1, root_depth=known(60.0), depletion=known(5.0)))
    (one,) = found.stations
    assert one.shallow
    assert one.passes_still_on == FIRST
    assert any("gets too dry in the afternoon even when it was full at dawn" in n for n in found.notes)
    assert any(each.key == "light_sprinkling" for each in found.advice)


def test_equal_lack_everywhere_is_what_percent_adjust_is_for():
    held = nightly({1: 12, 2: 12, 3: 12})
    found = check(held, plain(1), plain(2), plain(3))
    assert found.percent.set_pct > 100.0
    assert found.percent.enough
    for each in found.stations:
        assert each.under_mm <= each.over_mm + 1e-4
        assert each.under_mm < each.lacks_mm
    # A step less still lacks more than it spills: 5 % of 12 min, four nights, is 1.2 mm net at most.
    assert found.stations[0].over_mm <= 0.05 * 12 * 40 / 60 * 0.76 * 4 + 1e-9


def test_one_thirsty_station_among_wet_ones_does_not_turn_the_dial_far():
    wet = dict.fromkeys(range(2, 8), 30)
    found = check(nightly({1: 12} | wet), *(plain(terminal) for terminal in range(1, 8)))
    assert found.percent.set_pct == 100.0
    thirsty, *others = found.stations
    assert thirsty.under_mm > 0.0
    assert thirsty.under_mm**2 <= sum(each.over_mm**2 for each in others)


def test_a_night_without_minutes_is_out_of_reach_of_percent():
    """The first night's minutes are missing in the table; a percent of nothing is nothing."""
    held = nightly({1: 14})
    without = WeekMinutes({key: each for key, each in held.minutes_min.items() if key[1] != FIRST}, "made")
    found = check(without, plain(1, depletion=known(15.0)), spell=replace(HOT, hotter_c=0.0, length_d=1))
    assert found.stations[0].lacks_mm > 0.0
    assert found.percent.set_pct == 100.0


@pytest.mark.parametrize(("high", "step"), [(104.0, 1.0), (110.0, 7.0), (130.0, 10.0)])
def test_percent_keeps_to_the_controller(high, step):
    dial = Controller(3, 3, 10.0, high, step)
    found = check(nightly({1: 6}), spell=HeatSpell(12.0, FIRST, 5), controller=dial)
    assert found.percent.set_pct <= high
    assert (found.percent.set_pct - 10.0) % step == pytest.approx(0.0)
    assert found.percent.set_pct > high - step
    assert not found.percent.enough


def test_percent_starts_from_what_the_clock_stands_at():
    clock = ClockFound((Program("A", (time(23),), EVERY_DAY, {1: 16.0}, 75.0),))
    found = check(clock)
    as_if = check(nightly({1: 12}))
    assert found.percent.now_pct == 75.0
    assert [s.extra_min for s in found.stations] == [s.extra_min for s in as_if.stations]
    assert found.percent.set_pct > 75.0
    # 5 % of 16 min are finer steps than 5 % of 12, so the dial stops no later.
    assert found.percent.set_pct / 75.0 <= as_if.percent.set_pct / 100.0 + 5.0 / 75.0


def test_going_back_gives_the_table_as_it_was():
    # 14 min a night hold every usual day; only the heat asks for more.
    held = nightly({1: 14})
    found = check(held)
    assert found.changes
    assert found.back_on is not None
    assert found.back_on > HOT.last
    for (terminal, serves), minutes in held.minutes_min.items():
        keyed = found.keyed_min(terminal, serves)
        assert found.table_min[terminal, serves] == minutes
        assert keyed >= minutes
        if serves >= found.back_on:
            assert keyed == minutes
    assert sum(found.keyed_min(1, day) for _, day in held.minutes_min) > 7 * 14


def test_a_table_that_is_too_little_even_without_heat_has_no_day_to_go_back():
    assert check(nightly({1: 2})).back_on is None


def test_the_water_of_the_first_morning_is_no_matter_of_the_heat():
    held = nightly({1: 12})
    dry = station(1, **(PLAIN | {"allowable_depletion": None}))
    hot, usual = check(held, dry), check(held, dry, spell=None)
    assert hot.stations[0].passes_on == FIRST
    assert hot.stations[0].usual_passes_on == usual.stations[0].passes_on
    assert any("nobody has read the soil" in note for note in hot.notes)
    state = WaterState(FIRST, {1: (0.0, 0.0, 0.0)}, {1: (150.0, 1.0, 1.0)})
    wet = check(held, dry, earlier=Earlier(state))
    assert wet.stations[0].passes_on != FIRST
    assert not any("nobody has read the soil" in note for note in wet.notes)


def test_what_a_manager_must_know_is_said():
    sky = weather(days=26, rain_mm=[0.0] * 24 + [4.0, 0.0], forecast_from=FIRST)
    found = check(nightly({1: 30}), station(1), sky=sky)
    for part in ("the dew point is kept", "No forecast for Thu Jul 16", "Rain forecast for Tue"):
        assert any(part in note for note in found.notes), part
    long = check(ClockFound((Program("A", (time(23),), EVERY_DAY, {1: 30.0}),)), station(1))
    assert any("of its 210 min a week run off" in note for note in long.notes)
    mixed = ClockFound(
        (
            Program("A", (time(23),), EVERY_DAY, {1: 10.0}, 80.0),
            Program("B", (time(1),), EVERY_DAY, {2: 10.0}, 120.0),
        )
    )
    assert any("different percents" in note for note in check(mixed, plain(1), plain(2)).notes)


@pytest.mark.parametrize(("closes", "most_pct"), [(25, 100.0), (27, 105.0), (28, 115.0)])
def test_no_percent_outgrows_the_window_of_a_week_s_table(closes, most_pct):
    # Twice 12 min are 24; at 105 % each is 12.6, a cycle of 13 whole minutes; 14 from 110 to 116 %; then 15.
    found = check(nightly({1: 12, 2: 12}), plain(1), plain(2), opens=time(4), closes=time(4, closes))
    assert found.percent.wanted_pct > 115.0
    assert found.percent.set_pct == most_pct
    assert not found.percent.enough


@pytest.mark.parametrize(
    ("starts", "most_pct"),
    [
        # 50 min from 5:00 end at 5:50, and the hours close at 6:00: 10 min more are 20 % of them, though the night is
        # 480 min long.
        ((time(5),), 120.0),
        ((time(4, 50),), 140.0),
        # Two starts: the second waits for the first to end. 50 min from 4:20 end at 5:10, and again at 6:00.
        ((time(4, 20), time(5, 10)), 100.0),
        # What already runs past the hours runs no longer past them.
        ((time(5, 40),), 100.0),
    ],
)
def test_no_percent_runs_a_program_past_the_allowed_hours(starts, most_pct):
    clock = ClockFound((Program("A", starts, EVERY_DAY, {1: 6.0, 2: 44.0}),))
    hot = HeatSpell(15.0, FIRST, 5)
    dry = {"root_depth": known(300.0), "precip_rate": known(8.0)}
    found = check(clock, plain(1, **dry), plain(2, **dry), spell=hot)
    roomy = check(clock, plain(1, **dry), plain(2, **dry), spell=hot, opens=time(20), closes=time(16))
    assert roomy.percent.set_pct == found.percent.wanted_pct > most_pct
    assert found.percent.set_pct == most_pct


def test_the_clocks_own_minutes_come_before_any_addition():
    """Programs leave 480 − 440 = 40 min: station 1 is first by priority, and station 2 has what is left."""
    clock = ClockFound((Program("A", (time(22),), EVERY_DAY, {1: 6.0, 2: 6.0, 3: 428.0}),))
    slow = {"precip_rate": known(8.0), "depletion": known(15.0)}
    found = check(clock, plain(1, **slow), plain(2, priority_count=2, **slow), plain(3))
    night = found.nights[0]
    one, two, _ = night.runs
    assert (one.extra_min, two.extra_min) == (two.extra_min, one.extra_min)
    assert one.extra_min > 20
    assert one.fits_min == min(one.extra_min, 40)
    assert two.fits_min == 40 - one.fits_min
    assert night.missing_min == night.extra_min - 40
    assert night.used_min == 480


def test_what_the_first_cannot_use_of_the_room_is_the_next_ones():
    # 480 − 460 = 20 min are left. Station 1 runs off after 14.7 min, and soaks for longer than the room: one run of 14.
    clock = ClockFound((Program("A", (time(22),), EVERY_DAY, {1: 6.0, 2: 6.0, 3: 448.0}),))
    dry = {"depletion": known(22.0)}
    found = check(clock, plain(1, intake=None, **dry), plain(2, priority_count=2, **dry), plain(3))
    one, two, _ = found.nights[0].runs
    assert min(one.extra_min, two.extra_min) > 14
    assert (one.fits_min, two.fits_min) == (14, 6)
    assert (one.cycles_count, one.cycle_min, two.cycles_count, two.cycle_min) == (1, 14, 1, 6)


def test_heat_advice_waits_for_heat():
    cool = check(nightly({1: 30}), sky=weather(tmax_c=22.0, tmin_c=10.0), spell=None)
    assert [each.key for each in cool.advice] == ["place"]
    hot = {each.key for each in check(nightly({1: 12})).advice}
    assert {"people", "mow", "feed_cool", "feed_dry", "traffic"} <= hot


def test_weather_that_does_not_lead_up_to_the_check_is_refused():
    with pytest.raises(PlanRefused, match="does not lead up to 2026-07-14"):
        check(nightly({1: 12}), sky=weather(days=10))
    with pytest.raises(PlanRefused, match="give weather up to the day before"):
        check(nightly({1: 12}), sky=weather(first=FIRST))
    early = WaterState(date(2026, 6, 1), {1: (0.0, 0.0, 0.0)}, {1: (150.0, 1.0, 1.0)})
    with pytest.raises(PlanRefused, match="give weather from 2026-06-01 on"):
        check(nightly({1: 12}), earlier=Earlier(early))
