"""Bringing turf back: rewetting in the same books, bridging by hand, feeding, seeding, each by hand arithmetic."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.model.plan import WaterState
from etsched.model.recovery import FeedBan, Fertiliser, RecoveryAsk
from etsched.model.site import Place, TurfGroup
from etsched.model.visit import AreaSeen
from etsched.planning import water
from etsched.planning.feeding import after_bans, nitrogen_ceiling, product_dose
from etsched.planning.recovery import recovery, to_depth
from etsched.planning.weather_days import days_from_weather
from etsched.planning.week import outlook_of
from tests.planning.made import ZONE, known, site, station, weather

FIRST = date(2026, 7, 14)
POUND_A_THOUSAND_G_M2 = 453.59237 / 92.90304  # 1000 square feet are 92.90304 m²
WARM = {"turf": TurfGroup.WARM}


def plan(*stations, dry=1.0, ask=None, areas=(), repairs=(), first=FIRST, **over):
    """Plan recovery for stations whose soil lacks the share `dry` of its water."""
    made = site(*(stations or (holds(1),)), **({"target_depth_mm": 200.0} | over))
    first_weather = over.get("weather") or weather(first - timedelta(days=10), 20)
    outlook = outlook_of(made, days_from_weather(first_weather, made), first)
    start = water.state_of(outlook.ground, first, dry * outlook.ground.layer_available_mm)
    return recovery(outlook, start, areas, repairs, ask or RecoveryAsk())


def holds(terminal, **over):
    return station(terminal, **({"available_water": known(0.18), "intake": known(10.0)} | over))


def test_a_station_is_rewet_from_the_top_down_to_the_target_in_one_night_where_the_window_holds_it():
    told = plan(holds(1, surface_storage=known(5.0))).rewets[0]
    # 0.18 × 200 mm = 36 mm missing, over DU 0.6 (÷ 0.76) 47.37 mm at 40 mm/h: 71.05 min; at most 10 min a cycle and
    # 8 × 9 = 72; 27 min of soak follow 9 min at 40 on 10 mm/h: 8 × 9 + 7 × 27 = 261 of 480 min.
    assert sum(told.missing_mm) == pytest.approx(36.0)
    (night,) = told.nights
    assert (night.cycles_count, night.cycle_min, night.soak_min, night.dropped_count) == (8, 9, 27, 0)
    assert night.applied_mm == pytest.approx(48.0)
    assert night.credited_mm == pytest.approx(48.0 * 0.76)
    assert night.morning_mm == (0.0, 0.0, 0.0)
    assert told.reached == told.moist == FIRST
    assert "1 night" in told.sentence


def test_a_short_window_takes_more_nights_and_fills_from_the_top():
    told = plan(holds(1, surface_storage=known(5.0)), opens=time(4), closes=time(6)).rewets[0]
    # 120 min hold 1 + (120 − 9) // 36 = 4 cycles of 9 min: 24 mm on average, 18.24 of them credited.
    first = told.nights[0]
    assert (first.cycles_count, first.dropped_count) == (4, 4)
    assert first.morning_mm == pytest.approx((27.0 - 18.24, 4.5, 4.5))
    assert len(told.nights) > 1
    assert told.reached > FIRST
    # What the nights credit is what was missing, what the days took, and what the last night put on top.
    brought = sum(night.credited_mm for night in told.nights)
    spilt = told.nights[-1].credited_mm - told.nights[-1].net_mm
    assert brought == pytest.approx(sum(told.missing_mm) + told.taken_mm + spilt)


@settings(max_examples=30, deadline=None)
@given(
    dry=st.floats(0.05, 1.0),
    roots=st.floats(60.0, 250.0),
    rate=st.floats(8.0, 50.0),
    target=st.floats(150.0, 210.0),
    hours=st.integers(2, 8),
)
def test_rewetting_ends_at_the_target_within_one_days_tolerance(dry, roots, rate, target, hours):
    stations = [holds(n, root_depth=known(roots), precip_rate=known(rate)) for n in (1, 2)]
    for told in plan(*stations, dry=dry, target_depth_mm=target, closes=time((22 + hours) % 24)).rewets:
        assert sum(told.thickness_mm) == pytest.approx(max(target, roots))
        if told.reached is None:
            assert told.nights[-1].dropped_count or "no cycle" in told.sentence
            continue
        last = told.nights[-1]
        assert last.serves == told.reached
        assert sum(last.morning_mm) == pytest.approx(0.0, abs=1e-6)
        assert sum(last.evening_mm) <= last.taken_mm + 1e-6
        assert told.moist <= told.reached
        below = told.missing_mm[1:]
        for night in told.nights:
            if night.morning_mm[0] > 1e-9:
                # Nothing gets past roots that still lack water.
                assert night.morning_mm[1:] == pytest.approx(below)
            below = night.evening_mm[1:]


def test_no_minutes_for_a_blocked_station_but_water_by_hand():
    result = plan(holds(1), holds(2, blocked="its valve does not open", area_m2=50.0))
    told = result.rewets[1]
    assert (told.path, told.nights, told.reached, told.moist) == ("by hand", (), None, None)
    (hand,) = result.by_hand
    assert hand.terminal == 2
    assert hand.first_mm == pytest.approx(27.0)
    assert hand.first_l == pytest.approx(27.0 * 50.0)
    assert 4.0 < hand.daily_mm < 9.0
    assert hand.daily_l == pytest.approx(hand.daily_mm * 50.0)
    assert "its valve does not open" in hand.sentence
    assert result.feeds[1].nitrogen_g_m2 == 0.0


def test_water_by_hand_in_minutes_and_turns_that_do_not_run_off():
    dead = holds(2, blocked="its valve does not open", surface_storage=known(5.0))
    (hand,) = plan(holds(1), dead).by_hand
    # 27 mm at 40 mm/h: 40.5 min. 5 mm may stand while 40 land on 10 mm/h: 10 min a turn; 5 turns of 9 bring 41.
    assert (hand.first_turns, hand.rate_mm_h, hand.rate_assumed) == ((5, 9), 40.0, False)
    # A day's 4 to 9 mm are 6 to 13.5 min.
    assert hand.daily_turns in {(1, 6), (1, 7), (1, 8), (1, 9), (1, 10), (2, 6), (2, 7)}
    assert hand.daily_turns[0] * hand.daily_turns[1] >= hand.daily_mm * 1.5
    (guessed,) = plan(holds(1), replace(dead, precip_rate=None)).by_hand
    assert guessed.rate_assumed
    (sealed,) = plan(holds(1), replace(dead, first_runoff=known(0.4))).by_hand
    assert sealed.first_turns is None


def test_a_season_names_the_grass_that_it_is_for():
    areas = (AreaSeen("area 1", living_cover_pct=40.0), AreaSeen("area 2", living_cover_pct=40.0))
    cool, warm = plan(holds(1, area="area 1"), holds(2, area="area 2", **WARM), areas=areas).covers
    assert " The season for cool-season turf: " in cool.sentence
    assert " The season for warm-season turf: " in warm.sentence


def test_repair_first_then_rewet():
    repaired = FIRST + timedelta(days=4)
    ask = RecoveryAsk(ready={2: repaired})
    result = plan(holds(1), holds(2, blocked="a cut wire"), ask=ask, repairs=("join the wire of 2",))
    assert result.repairs == ("join the wire of 2",)
    assert result.by_hand[0].until == repaired
    # The night that opens in the evening of the repair is the first; it serves the day after.
    assert result.rewets[1].begins == result.rewets[1].nights[0].serves == repaired + timedelta(days=1)
    # With no water until then, all of it is missing, and one night brings it.
    assert result.rewets[1].missing_mm == pytest.approx((27.0, 4.5, 4.5))
    assert result.rewets[1].reached == repaired + timedelta(days=1)
    assert result.rewets[0].nights[0].serves == FIRST


def test_repellent_soil_is_treated_first_and_watered_in_pulses():
    told = plan(holds(1, least_cycle=known(3.0)), ask=RecoveryAsk(repellent=frozenset({1}))).rewets[0]
    assert told.path == "repellent"
    assert [word in told.steps[n] for n, word in enumerate(("aerate", "wetting agent", "pulses"))] == [True] * 3
    assert told.nights[0].serves == FIRST + timedelta(days=1)
    assert all(night.cycle_min == 3 for night in told.nights)
    assert told.reached is not None


def test_what_never_fits_says_why():
    ask = RecoveryAsk()
    told = plan(holds(1, intake=known(1.0), surface_storage=known(1.0)), opens=time(5), closes=time(6), ask=ask).rewets[
        0
    ]
    assert told.reached is None
    assert "window does not hold" in told.sentence
    never = plan(holds(1, intake=known(1.0), surface_storage=known(0.1)), ask=ask).rewets[0]
    assert "no cycle is short enough" in never.sentence


def test_soil_that_lacks_nothing_is_not_watered():
    told = plan(dry=0.0).rewets[0]
    assert (told.nights, told.reached) == ((), FIRST)


def test_another_target_depth_recuts_the_books():
    assert plan(ask=RecoveryAsk(target_depth_mm=170.0)).rewets[0].thickness_mm == pytest.approx((150.0, 10.0, 10.0))
    made = site(holds(1), target_depth_mm=200.0)
    outlook = outlook_of(made, days_from_weather(weather(), made), FIRST)
    assert to_depth(outlook, 200.0) is outlook


def test_a_deficit_carried_in_is_cut_to_the_layers_of_the_target():
    made = site(holds(1), target_depth_mm=200.0)
    outlook = outlook_of(made, days_from_weather(weather(), made), FIRST)
    start = WaterState(FIRST, {1: (27.0, 4.5, 4.5)}, {1: (150.0, 25.0, 25.0)})
    told = recovery(outlook, start, (), (), RecoveryAsk(target_depth_mm=175.0)).rewets[0]
    assert sum(told.missing_mm) == pytest.approx(31.5)


def test_nitrogen_keeps_to_the_ceiling_of_its_release_and_weighs_what_its_analysis_says():
    half, full = 0.5 * POUND_A_THOUSAND_G_M2, 1.0 * POUND_A_THOUSAND_G_M2
    assert nitrogen_ceiling(None) == pytest.approx(half)
    assert nitrogen_ceiling(Fertiliser(21.0)) == pytest.approx(half)
    assert nitrogen_ceiling(Fertiliser(21.0, 0.29)) == pytest.approx(half)
    assert nitrogen_ceiling(Fertiliser(21.0, 0.30)) == pytest.approx(full)
    # 0.75 lb of N from a product of 25 % weighs 3 lb.
    assert product_dose(0.75 * POUND_A_THOUSAND_G_M2, Fertiliser(25.0)) == pytest.approx(3.0 * POUND_A_THOUSAND_G_M2)


def test_a_feed_waits_for_moist_soil_and_is_watered_in():
    ask = RecoveryAsk(fertiliser=Fertiliser(25.0, 0.5))
    result = plan(holds(1, **WARM, area_m2=92.90304), ask=ask)
    (feed,) = result.feeds
    assert feed.day == result.rewets[0].moist
    assert feed.nitrogen_g_m2 == pytest.approx(0.75 * POUND_A_THOUSAND_G_M2)
    assert feed.product_kg == pytest.approx(3 * 0.45359237)
    assert feed.water_in_mm == pytest.approx(6.35)
    quick = plan(holds(1, **WARM), ask=RecoveryAsk(fertiliser=Fertiliser(25.0))).feeds[0]
    assert quick.nitrogen_g_m2 == pytest.approx(0.5 * POUND_A_THOUSAND_G_M2)
    assert "Read the share of slow-release" in quick.sentence


def test_cool_season_turf_gets_nothing_in_heat_unless_it_is_asked_for():
    assert plan().feeds[0].nitrogen_g_m2 == 0.0
    assert "not fed in heat" in plan().feeds[0].sentence
    assert plan(ask=RecoveryAsk(feeds_in_heat=True)).feeds[0].nitrogen_g_m2 > 0.0


@pytest.mark.parametrize(
    ("tmax", "latitude", "first", "fed"),
    [
        (24.0, 39.5, date(2026, 9, 20), True),
        (35.0, 39.5, date(2026, 9, 20), False),
        (24.0, -35.0, date(2026, 7, 20), True),
        (24.0, -35.0, date(2026, 1, 20), False),
    ],
)
def test_heat_is_the_hot_months_of_the_half_of_the_world_or_hot_days(tmax, latitude, first, fed):
    made = weather(first - timedelta(days=10), 30, tmax_c=tmax)
    there = Place(latitude, -105.0, 1600.0, ZONE)
    one = site(holds(1), place=there, target_depth_mm=200.0)
    outlook = outlook_of(one, days_from_weather(made, one), first)
    start = water.state_of(outlook.ground, first, outlook.ground.layer_available_mm)
    assert (recovery(outlook, start, (), (), RecoveryAsk()).feeds[0].nitrogen_g_m2 > 0.0) is fed


def test_a_ban_moves_the_feed_to_the_day_after_it_and_bans_may_follow_each_other():
    bans = (
        FeedBan(date(2026, 8, 1), date(2026, 9, 30), "second"),
        FeedBan(date(2026, 6, 1), date(2026, 7, 31), "first"),
    )
    assert after_bans(FIRST, bans) == date(2026, 10, 1)
    assert after_bans(date(2026, 5, 31), bans) == date(2026, 5, 31)
    feed = plan(holds(1, **WARM), ask=RecoveryAsk(bans=bans)).feeds[0]
    assert feed.day == date(2026, 10, 1)
    assert "A ban stands until then (second)." in feed.sentence


@pytest.mark.parametrize(
    ("cover", "action"),
    [(95, "leave"), (90, "leave"), (89, "patch"), (70, "patch"), (69, "overseed"), (50, "overseed"), (49, "resod")],
)
def test_living_cover_decides_what_to_do_and_the_turf_when(cover, action):
    (advice,) = plan(areas=[AreaSeen("lawn 1", living_cover_pct=cover)]).covers
    assert advice.action == action
    if action != "leave":
        # Cool-season turf is sown from mid-August to mid-September, not in midsummer.
        assert (advice.sow_from, advice.sow_to) == (date(2026, 8, 15), date(2026, 9, 15))


def test_the_season_turns_with_the_half_of_the_world_and_the_turf():
    seen = [AreaSeen("lawn 1", living_cover_pct=40.0)]
    south = plan(areas=seen, place=Place(-35.0, 149.0, 600.0, ZONE)).covers[0]
    assert (south.sow_from, south.sow_to) == (date(2027, 2, 15), date(2027, 3, 15))
    assert plan(holds(1, **WARM), areas=seen).covers[0].sow_from == FIRST
    assert plan(areas=[AreaSeen("moon", living_cover_pct=40.0)]).covers[0].sow_from is None
    assert plan(areas=[AreaSeen("lawn 1")]).covers == ()


def test_dates_to_look_again_and_to_be_back():
    result = plan()
    assert result.look_again == FIRST + timedelta(days=14)
    reached = result.rewets[0].reached
    # Four to five weeks of right watering.
    assert (result.back_from, result.back_to) == (reached + timedelta(days=28), reached + timedelta(days=35))
    assert any("bans" in text for text in result.cautions)
    assert any("no pesticide" in text for text in result.cautions)


def test_two_stations_share_one_window():
    result = plan(holds(1), holds(2), opens=time(3), closes=time(6))
    for serves in {night.serves for told in result.rewets for night in told.nights}:
        minutes = sum(
            night.cycles_count * night.cycle_min
            for told in result.rewets
            for night in told.nights
            if night.serves == serves
        )
        assert minutes <= 180
    assert all(told.reached for told in result.rewets)


def test_the_plan_leaves_what_it_was_given_alone():
    made = site(holds(1), target_depth_mm=200.0)
    outlook = outlook_of(made, days_from_weather(weather(), made), FIRST)
    before = outlook.ground.longest_cycle_min.copy()
    start = water.state_of(outlook.ground, FIRST, outlook.ground.layer_available_mm)
    recovery(replace(outlook), start, (), (), RecoveryAsk(repellent=frozenset({1})))
    assert np.array_equal(outlook.ground.longest_cycle_min, before)


def test_a_station_that_a_full_window_leaves_to_dry_again_is_not_yet_moist():
    clay = {"soil": "clay loam", "intake": None, "root_depth": known(130.0)}
    stations = [holds(n, precip_rate=known(12.0 + 3 * n), **clay) for n in range(1, 9)]
    told = plan(*stations, dry=0.8, water_days=(0, 3)).rewets
    waited = [each for each in told if any(night.cycles_count == 0 for night in each.nights)]
    assert waited
    for each in told:
        assert each.moist is not None
        for night in each.nights:
            if night.serves >= each.moist:
                assert night.morning_mm[0] == pytest.approx(0.0, abs=1e-6)
        watered = sum(night.cycles_count > 0 for night in each.nights)
        assert f": {watered} night" in each.sentence
