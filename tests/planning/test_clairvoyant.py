"""The clairvoyant against whom the planner is held: right where all can be tried out, and beaten by nobody."""

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from etsched.core import root_zone
from etsched.planning import water
from tests.bench import _against, _baselines, _clairvoyant, _forecast, _replay, _seasons
from tests.bench._clairvoyant import Truth
from tests.planning.made_season import RAIN, made_season

NEAR_MM = 0.01


def tried_out(truth):
    """Least water and then fewest waterings in whole mm, by trying every depth at every depletion, day by day."""
    allowed = np.floor(truth.allowable_mm + _clairvoyant.unavoidable_mm(truth)).astype(int)
    held = {int(truth.start_mm): (0, 0)}
    for etc, most, before, after in zip(
        truth.etc_mm.astype(int),
        allowed,
        truth.rain_before_mm.astype(int),
        truth.rain_after_mm.astype(int),
        strict=True,
    ):
        later = {}
        for start, (used, often) in held.items():
            left = max(start - before, 0)
            for depth in (0, *range(int(truth.least_depth_mm), left + int(truth.least_depth_mm) + 1)):
                driest = max(left - depth, 0) + etc
                if driest > most:
                    continue
                ends, cost = max(driest - after, 0), (used + depth, often + (depth > 0))
                later[ends] = min(later.get(ends, cost), cost)
        held = later
    return min((used + ends, often) for ends, (used, often) in held.items())


@st.composite
def small_seasons(draw):
    days = draw(st.integers(3, 9))
    whole = [st.lists(st.integers(0, top), min_size=days, max_size=days) for top in (7, 9, 9)]
    etc, before, after = (np.array(draw(each), dtype=float) for each in whole)
    allowable = np.array(draw(st.lists(st.integers(5, 12), min_size=days, max_size=days)), dtype=float)
    # Rain falls on few days, and depth is worth something.
    before[before < 6], after[after < 6] = 0.0, 0.0
    return Truth(etc, allowable, before, after, float(draw(st.integers(0, 5))), float(draw(st.integers(1, 5))))


@settings(max_examples=60)
@given(small_seasons())
def test_it_finds_what_trying_everything_out_finds(truth):
    found = _clairvoyant.best(truth)
    assert (found.water_mm, found.waterings_count) == (
        pytest.approx(tried_out(truth)[0], abs=1e-4),
        tried_out(truth)[1],
    )


def test_without_counting_waterings_no_less_water_is_found_with_a_least_depth():
    truth = Truth(np.full(20, 5.0), np.full(20, 12.0), np.zeros(20), np.tile([0.0, 0.0, 0.0, 9.0], 5), 0.0, 4.0)
    assert _clairvoyant.best(truth, fewest=False).water_mm <= _clairvoyant.best(truth).water_mm + 1e-6


@pytest.fixture(scope="module")
def season():
    return made_season(days=28)


@pytest.fixture(scope="module")
def solved(season):
    site = _seasons.lawns(season)
    ground, days = _seasons.ground_of(site, season), _seasons.truth_of(season, site)
    return [_clairvoyant.best(truth) for truth in _against.truths(season, site, days, ground)]


def live(season, policy):
    told = _forecast.teller(season.daily, _forecast.issuer(season.daily, RAIN, 1))
    return _replay.live(season, _seasons.lawns(season), policy, told)


def least_depths(season):
    return np.array([station.least_depth.value for station in _seasons.lawns(season).stations])


def test_its_season_is_possible_in_the_real_books(season, solved):
    lived = live(season, lambda dusk: np.array([each.net_mm[(dusk.serves - season.first).days] for each in solved]))
    np.testing.assert_allclose(lived.water_mm, [each.water_mm for each in solved], atol=NEAR_MM)
    unavoidable = np.array([each.past_allowable_mm for each in solved])
    assert (lived.past_allowable_mm.sum(axis=0) <= unavoidable + NEAR_MM).all()
    ran = np.where(lived.net_mm > 0.0, lived.net_mm, np.inf)
    assert (ran >= least_depths(season) - 1e-6).all()
    # It is worth something: rain was spilt by somebody, or there would be nothing to know ahead.
    assert live(season, _baselines.refill_at_allowable).water_mm.sum() > lived.water_mm.sum() + 1.0


def knowing_tomorrow(season, least, whim, rng):
    """Waters when the real next day asks for it, and now and then on a whim, to the brim or over it."""
    truth = _seasons.truth_of(season, _seasons.lawns(season))

    def decide(dusk):
        etc, fraction = water.demand(dusk.ground, truth, (dusk.serves - truth.first).days)
        allowable = root_zone.readily_available_water(dusk.ground.total_available_mm, fraction)
        depletion = dusk.deficit_mm[:, 0]
        must = depletion + etc > allowable
        some = must | ((rng.random(len(must)) < whim) & (depletion > 0.0))
        # No more than needed, or all that is missing.
        needed = np.where(rng.random(len(must)) < whim, depletion, np.maximum(depletion + etc - allowable, 0.0))
        return np.where(some, np.maximum(needed, least), 0.0)

    return decide


@pytest.mark.parametrize("whim", [0.0, 0.1, 0.4, 0.9])
def test_nobody_who_keeps_its_rules_uses_less_water(season, solved, whim):
    least = least_depths(season)
    lived = live(season, knowing_tomorrow(season, least, whim, np.random.default_rng(8)))
    unavoidable = np.array([each.past_allowable_mm for each in solved])
    assert (lived.past_allowable_mm.sum(axis=0) <= unavoidable + 1e-6).all()
    assert (lived.water_mm >= np.array([each.water_mm for each in solved]) - NEAR_MM).all()


def test_the_replay_closes_its_books_under_every_policy(season):
    site = _seasons.lawns(season)
    ground, days = _seasons.ground_of(site, season), _seasons.truth_of(season, site)
    for policy in (
        _replay.planner(),
        _baselines.refill_at_allowable,
        _baselines.fixed_minutes(season, days, ground, adjusted=True),
    ):
        lived = live(season, policy)
        flows = (lived.et_mm + lived.passed_mm - lived.net_mm - lived.rain_mm).sum(axis=0)
        np.testing.assert_allclose(lived.end_mm - lived.start_mm, flows, atol=1e-8)
        assert lived.net_mm.sum() > 0.0


def test_fixed_minutes_run_three_nights_a_week_and_adjusted_ones_no_longer(season):
    site = _seasons.lawns(season)
    ground, days = _seasons.ground_of(site, season), _seasons.truth_of(season, site)
    plain, adjusted = (
        live(season, _baselines.fixed_minutes(season, days, ground, adjusted=each)) for each in (False, True)
    )
    nights = [(season.first + timedelta(days=n)).weekday() in _baselines.NIGHTS for n in range(season.days_count)]
    assert ((plain.net_mm > 0.0).all(axis=1) == nights).all()
    assert (adjusted.net_mm <= plain.net_mm + 1e-9).all()
