"""A season on weather nobody here wrote: every week planned, every day's books closed, water where it belongs."""

from itertools import pairwise

import pytest

from tests.planning.real_year import real_season, real_weather

FROST_C = 1.7  # 35 °F, at which valves stay shut


@pytest.fixture(scope="module")
def season():
    return real_season()


def test_every_week_of_the_season_is_planned(season):
    assert len(season) == 26
    for week in season:
        frozen = [day for day in week.days if day.tmin_c <= FROST_C]
        assert len(week.days) == 7
        assert len(week.nights) + len(frozen) == 7
    # April has frost in North Carolina, July has none.
    assert len(season[0].nights) < 7
    assert len(season[13].nights) == 7


def test_the_books_close_over_the_whole_season(season):
    for station in season[0].site.stations:
        lines = [line for week in season for line in week.books if line.terminal == station.terminal]
        flows = sum(line.et_mm + line.drained_mm - line.irrigation_mm - line.rain_mm for line in lines)
        change = sum(season[-1].end.deficit_mm[station.terminal]) - sum(season[0].start.deficit_mm[station.terminal])
        assert change == pytest.approx(flows, abs=1e-9 * len(lines))
        assert all(-1e-9 <= line.end_mm <= line.capacity_mm + 1e-9 for line in lines)


def test_each_week_begins_where_the_last_one_ended(season):
    for before, after in pairwise(season):
        assert before.end == after.start


def test_a_working_station_is_watered_about_as_much_as_its_turf_misses(season):
    blocked = {station.terminal for station in season[0].site.stations if station.blocked}
    for station in season[0].site.stations:
        lines = [line for week in season for line in week.books if line.terminal == station.terminal]
        used, rain = sum(line.et_mm for line in lines), sum(line.rain_mm for line in lines)
        watered, passed = sum(line.irrigation_mm for line in lines), sum(line.passed_mm for line in lines)
        if station.terminal in blocked:
            assert watered == 0.0
        else:
            # What came in is what was used and what passed the roots, but for one root zone's worth of storage.
            assert abs(watered + rain - used - passed) <= lines[0].capacity_mm
            assert watered > 0.3 * used


def test_rain_of_the_file_is_the_rain_of_the_books(season):
    daily = real_weather().daily["rain_mm"]
    fell = daily.loc["2026-04-01":"2026-09-29"].sum()
    assert sum(day.rain_mm for week in season for day in week.days) == pytest.approx(fell)
