"""The virtual areas' own books: they close, runoff is that of small steps, and they agree with the program's."""

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from etsched.frames.weather import Weather
from etsched.planning import water
from etsched.planning.weather_days import days_from_weather
from tests.bench import _areas, _areas_replay, _seasons
from tests.bench._areas import AREAS, INCH_MM
from tests.bench._areas_replay import Watered
from tests.planning.made_season import made_season

LOAM = AREAS[0]


@st.composite
def nights(draw):
    """Cycles one after another, with pauses between them."""
    found, at = [], 0
    for length, pause in draw(st.lists(st.tuples(st.integers(1, 40), st.integers(0, 120)), max_size=6)):
        found.append((at, length))
        at += length + pause
    return found


amounts = st.floats(0.0, 60.0)


@given(st.sampled_from(AREAS), st.floats(0.0, 1.0), amounts, nights(), st.floats(0.0, 12.0))
def test_the_books_of_an_area_close_on_every_day(area, full, rain, cycles, etc):
    before = full * area.storage_mm
    day = _areas.pass_day(area, before, rain, cycles, etc)
    came = rain - day.rain_surplus_mm + day.net_mm - day.direct_mm - day.soak_mm - day.surplus_mm
    assert day.storage_mm - before == pytest.approx(came - etc + day.deficit_mm, abs=1e-9)
    assert 0.0 <= day.storage_mm <= area.storage_mm
    assert min(day.rain_surplus_mm, day.direct_mm, day.surplus_mm, day.deficit_mm) >= 0.0
    assert day.soak_mm >= -1e-9
    # What is short is short because the storage is empty.
    assert day.deficit_mm == 0.0 or day.storage_mm == 0.0


@given(st.sampled_from(AREAS), nights())
def test_runoff_is_what_a_reckoning_in_small_steps_finds(area, cycles):
    steps = 20
    standing = over = 0.0
    ends = max((start + length for start, length in cycles), default=0)
    for step in range(ends * steps):
        minute = step / steps
        running = any(start <= minute < start + length for start, length in cycles)
        standing = max(standing + (running * area.rate_mm_h - area.intake_mm_h) / 60.0 / steps, 0.0)
        over += max(standing - area.surface_mm, 0.0)
        standing = min(standing, area.surface_mm)
    direct, soak = _areas.runoff(area, cycles)
    assert direct + soak == pytest.approx(over, abs=0.05 * max(len(cycles), 1))


def test_the_worked_clay_loam_runs_off_after_eleven_minutes_and_soaks_for_78():
    # Clay loam on 0-3 %, 1.6 in/h: 11.1 min on, 78 min off (worked by hand from intake 0.20 in/h and 0.26 in).
    inches = (2.25, 1.60, 0.20, 0.26)
    area = _areas._area(("worked", "clay loam", 2.0), inches, 0.5)
    assert _areas.runoff(area, [(0, 11), (11 + 78, 11)]) == (0.0, 0.0)
    assert _areas.runoff(area, [(0, 12)])[0] == pytest.approx(0.02 * INCH_MM)
    direct, soak = _areas.runoff(area, [(0, 11), (11 + 60, 11)])
    # After 60 min, 0.2567 - 0.2 in stand; 11 min more bring 0.2567: 0.0533 in too much.
    assert (direct, soak) == (0.0, pytest.approx((0.2567 - 0.2 + 0.2567 - 0.26) * INCH_MM, abs=0.01))


def test_a_day_worked_by_hand():
    # Storage 21.59 mm, 20 in it. Rain 3: 1.41 too much. 10 min at 40.64 mm/h and 55 % bring 3.725 net, all too much:
    # 10 min leave 10 × (40.64 - 8.89)/60 = 5.29 mm on the ground, under 6.35. Then 4 mm are used.
    day = _areas.pass_day(LOAM, 20.0, 3.0, [(0, 10)], 4.0)
    assert day.rain_surplus_mm == pytest.approx(1.41)
    assert (day.net_mm, day.surplus_mm) == pytest.approx((3.7253, 3.7253), abs=1e-4)
    assert (day.direct_mm, day.soak_mm, day.deficit_mm) == (0.0, 0.0, 0.0)
    assert day.storage_mm == pytest.approx(17.59)
    assert _areas.pass_day(LOAM, 1.0, 0.0, [], 4.0).deficit_mm == pytest.approx(3.0)


def watered(days=40, **over):
    """Books of which only what a test names is not nought."""
    names = ("etc_mm", "net_rain_mm", "rain_surplus_mm", "net_mm", "direct_mm", "soak_mm", "surplus_mm", "deficit_mm")
    weather = {name: over.pop(name, usual) for name, usual in (("eto_mm", 3.0), ("rain_mm", 1.0), ("missing", ()))}
    books = {name: np.full((days, 1), over.get(name, 0.0)) for name in names}
    missing = np.isin(np.arange(days), weather["missing"])
    return Watered(books, np.full(days, weather["eto_mm"]), np.full(days, weather["rain_mm"]), missing)


def test_scores_are_those_of_their_definitions():
    books = watered(
        etc_mm=4.0, deficit_mm=1.0, net_mm=2.0, direct_mm=0.1, soak_mm=0.2, surplus_mm=0.3,
        net_rain_mm=1.0, rain_surplus_mm=0.25,
    )  # fmt: skip
    scored = _areas_replay.scores(books, slice(3, 33))
    assert scored.adequacy == pytest.approx([75.0])
    assert scored.excess_of_net == pytest.approx([30.0])
    assert scored.excess_of_use == pytest.approx([15.0])
    assert scored.rain_efficiency == pytest.approx([75.0])
    assert _areas_replay.scores(watered(etc_mm=4.0, net_rain_mm=1.0), slice(0, 30)).excess_of_net == [0.0]


@pytest.mark.parametrize(
    ("weather", "valid"),
    [
        ({}, 11),
        ({"eto_mm": 2.1}, 0),  # 63.0 mm
        ({"eto_mm": 2.12}, 11),  # 63.6 mm
        ({"rain_mm": 0.33}, 0),  # 9.9 mm
        ({"missing": (12, 13, 20)}, 11),
        ({"missing": (12, 13, 14)}, 0),  # three in a row, in every window of days 0-9 to 29-38, and 10-39
        ({"missing": (12, 14, 16, 18)}, 0),  # four in all
        ({"missing": (0, 1, 2)}, 8 + 2),  # windows from day 1 on hold two of them
    ],
)
def test_windows_are_valid_by_the_rules(weather, valid):
    assert len(_areas_replay.valid_windows(watered(40, **weather))) == valid


@pytest.fixture(scope="module")
def season():
    return made_season(days=12)


@pytest.mark.parametrize("rain_known", [False, True])
def test_books_and_program_agree_on_a_season_that_the_planner_waters(season, rain_known):
    lived = _areas_replay.live(season, rain_known=rain_known)
    book = lived.books
    site = _areas.site_of(season)
    ground = _seasons.ground_of(site, season)
    real = _areas_replay.rain_at_midnight(Weather(season.daily, None, "made"), season)
    days = days_from_weather(real, site)
    full = np.array([area.storage_mm for area in AREAS])
    deficit = np.zeros_like(ground.layer_available_mm)
    deficit[:, 0] = (1.0 - _areas.START_SHARE) * full
    assert book["net_mm"].sum() > 0.0
    for n in range(season.days_count):
        day = season.first + timedelta(days=n)
        took_in = (book["net_mm"] - book["direct_mm"] - book["soak_mm"])[n]
        _, done = water.pass_day(ground, days, (day - days.first).days, deficit, took_in)
        deficit = done.deficit_mm
        # Two books written apart: where nothing was ever short, what is left is the same.
        sound = ~(book["deficit_mm"][: n + 1] > 0.0).any(axis=0)
        assert sound.sum() >= 4
        np.testing.assert_allclose(deficit[sound, 0], (full - book["storage_mm"][n])[sound], atol=1e-9)


def test_the_planner_lets_nothing_run_off_the_areas(season):
    book = _areas_replay.live(season, rain_known=False).books
    assert (book["net_mm"].sum(axis=0) > 0.0).sum() >= 4
    np.testing.assert_allclose(book["direct_mm"] + book["soak_mm"], 0.0, atol=1e-9)
