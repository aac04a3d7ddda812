"""Grades of days: sound ones stay as they are, bad readings go, odd ones cast doubt, and every reason is said."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from etsched.core import radiation, sun_position
from etsched.frames.hours_to_days import hours_to_days
from etsched.frames.weather import DAILY_COLUMNS, HOURLY_COLUMNS
from etsched.model.site import Place
from etsched.planning.weather_quality import Grade, Graded, grade_days

PLACE = Place(45.0, -75.0, 100.0, ZoneInfo("America/Toronto"))
FIRST = "2026-04-01"
COUNT = 120


def plausible(**over: object) -> pd.DataFrame:
    """Changing, complete and consistent weather; a column may be replaced."""
    draw = np.random.default_rng(11)
    index = pd.date_range(FIRST, periods=COUNT, name="day")
    above = radiation.extraterrestrial_radiation(PLACE.latitude_deg, index.day_of_year.to_numpy(dtype=float))
    low = np.round(8.0 + draw.normal(0.0, 2.0, COUNT), 1)
    frame = pd.DataFrame(np.nan, index=index, columns=list(DAILY_COLUMNS)).assign(
        tmin_c=low,
        tmax_c=np.round(low + 4.0 + draw.uniform(3.0, 10.0, COUNT), 1),
        rh_min_pct=np.round(draw.uniform(30.0, 60.0, COUNT), 1),
        rh_max_pct=np.round(draw.uniform(85.0, 99.0, COUNT), 1),
        dewpoint_c=np.round(low - draw.uniform(0.0, 2.0, COUNT), 1),
        wind_m_s=np.round(draw.uniform(0.8, 4.0, COUNT), 2),
        solar_mj_m2_d=np.round(above * draw.uniform(0.3, 0.74, COUNT), 2),
        rain_mm=np.round(np.maximum(draw.uniform(-20.0, 15.0, COUNT), 0.0), 1),
    )
    return frame.assign(**over, is_forecast=False)


def spoilt(column: str, day: int, value: float) -> pd.DataFrame:
    frame = plausible()
    frame.iloc[day, frame.columns.get_loc(column)] = value
    return frame


def graded_of(graded: Graded, grade: Grade) -> list[int]:
    return [n for n, day in enumerate(graded.days) if day.grade is grade]


def test_plausible_weather_is_sound_and_untouched() -> None:
    frame = plausible()
    graded = grade_days(frame, PLACE)
    assert graded_of(graded, Grade.SOUND) == list(range(COUNT))
    assert all(day.reasons == () for day in graded.days)
    assert graded.findings == ()
    pd.testing.assert_frame_equal(graded.daily, frame)
    assert graded.days[0].day == date(2026, 4, 1)


@pytest.mark.parametrize(
    ("column", "value", "reason"),
    [
        ("tmax_c", 61.0, "beyond what the earth's weather holds"),
        ("tmin_c", -999.0, "beyond what the earth's weather holds"),
        ("tmin_c", 30.0, "the lowest temperature is above the highest"),
        ("tmin_c", -32.0, "a jump up and back, or down and back, in two days"),
        ("tmax_c", 46.0, "a jump up and back, or down and back, in two days"),
        ("rh_max_pct", 20.0, "the least humidity is above the greatest"),
        ("rh_max_pct", 104.0, "beyond what the earth's weather holds"),
        ("rh_min_pct", 0.0, "no air over ground is that dry"),
        ("dewpoint_c", 24.0, "more vapour than air of that warmth can hold"),
        ("dewpoint_c", -30.0, "a jump up and back, or down and back, in two days"),
        ("vapour_pressure_kpa", 4.0, "more vapour than air of that warmth can hold"),
        ("wind_m_s", 0.0, "the reading is stuck: the same day after day"),
        ("wind_m_s", -1.0, "beyond what the earth's weather holds"),
        ("solar_mj_m2_d", 39.0, "more sun than the clearest sky lets through"),
        ("sunshine_h", 19.0, "more sunshine than the day is long"),
        ("rain_mm", -0.5, "beyond what the earth's weather holds"),
    ],
)
def test_a_reading_that_cannot_be_is_taken_out_and_said(column: str, value: float, reason: str) -> None:
    frame = spoilt(column, 60, value)
    graded = grade_days(frame, PLACE)
    found = [each for each in graded.findings if each.column == column]
    assert [(each.day, each.value, each.reason, each.rejected) for each in found] == [
        (date(2026, 5, 31), value, reason, True)
    ]
    assert np.isnan(graded.daily[column].iloc[60])
    assert any(f"rejected: {reason}" in each for each in graded.days[60].reasons)


def test_no_reading_is_ever_changed_but_to_unknown() -> None:
    draw = np.random.default_rng(5)
    frame = plausible()
    for _ in range(400):
        row, column = draw.integers(COUNT), draw.integers(len(DAILY_COLUMNS))
        frame.iloc[row, column] = draw.choice([np.nan, -40.0, 0.0, 7.0, 20.0, 55.0, 110.0])
    graded = grade_days(frame, PLACE)
    before, after = (each[list(DAILY_COLUMNS)].to_numpy() for each in (frame, graded.daily))
    assert ((after == before) | np.isnan(after)).all()
    gone = np.isnan(after) & ~np.isnan(before)
    assert gone.sum() > 100
    said = {(each.day, each.column) for each in graded.findings if each.rejected}
    assert said == {(frame.index[row].date(), DAILY_COLUMNS[column]) for row, column in np.argwhere(gone)}
    again = grade_days(frame, PLACE)
    assert (again.findings, again.days) == (graded.findings, graded.days)


def test_grades_go_down_with_what_is_missing() -> None:
    frame = plausible()
    frame.loc[frame.index[10], "wind_m_s"] = np.nan
    frame.loc[frame.index[11], ["wind_m_s", "solar_mj_m2_d"]] = np.nan
    frame.loc[frame.index[12], ["dewpoint_c", "rh_max_pct"]] = np.nan
    frame.loc[frame.index[13], "tmin_c"] = np.nan
    frame.loc[frame.index[14], "rain_mm"] = np.nan
    frame.loc[frame.index[15], "dewpoint_c"] = np.nan  # relative humidity still tells it
    frame.loc[frame.index[16], ["solar_mj_m2_d", "sunshine_h"]] = [np.nan, 6.0]
    days = grade_days(frame, PLACE).days
    assert [(each.grade.value, each.reasons) for each in days[9:18]] == [
        ("sound", ()),
        ("filled", ("wind not known",)),
        ("weak", ("radiation not known", "wind not known")),
        ("filled", ("humidity not known",)),
        ("unfit", ("no temperatures",)),
        ("filled", ("rain not measured",)),
        ("sound", ()),
        ("filled", ("radiation known by the hours of sunshine only",)),
        ("sound", ()),
    ]


def test_a_rejected_reading_counts_as_missing() -> None:
    graded = grade_days(spoilt("wind_m_s", 60, 0.0), PLACE)
    assert graded.days[60].grade is Grade.FILLED
    assert graded.days[60].reasons == ("wind rejected: the reading is stuck: the same day after day", "wind not known")
    assert grade_days(spoilt("tmin_c", 60, 30.0), PLACE).days[60].grade is Grade.UNFIT


def test_a_spare_reading_that_is_rejected_leaves_the_day_sound_and_is_said() -> None:
    day = grade_days(spoilt("dewpoint_c", 60, 24.0), PLACE).days[60]
    assert day.grade is Grade.SOUND
    assert day.reasons == ("dew point rejected: more vapour than air of that warmth can hold",)


@pytest.mark.parametrize(
    ("column", "value", "run"),
    [
        ("tmin_c", 6.0, 6),
        ("tmax_c", 18.0, 6),
        ("rh_min_pct", 40.0, 10),
        ("rh_max_pct", 90.0, 10),
        ("rh_mean_pct", 60.0, 10),
        ("dewpoint_c", 5.0, 6),
        ("vapour_pressure_kpa", 0.8, 5),
        ("wind_m_s", 2.0, 4),
        ("solar_mj_m2_d", 20.0, 3),
    ],
)
def test_a_sensor_that_is_stuck_loses_the_whole_run(column: str, value: float, run: int) -> None:
    frame = plausible()
    frame.iloc[50 : 50 + run, frame.columns.get_loc(column)] = value
    found = [each for each in grade_days(frame, PLACE).findings if each.rejected]
    stuck = "the reading is stuck: the same day after day"
    assert {(each.column, each.value, each.reason) for each in found} == {(column, value, stuck)}
    assert [each.day for each in found] == [stamp.date() for stamp in frame.index[50 : 50 + run]]


def test_vapour_is_held_against_the_day_and_not_the_night_alone() -> None:
    frame = plausible()
    frame.iloc[60, :2] = [5.0, 25.0]  # e°(5) = 0.872, e°(25) = 3.168: the day's air holds 2.02
    for dewpoint, rejected in ((12.9, False), (19.0, True)):  # 1.49 and 2.20 kPa
        frame.iloc[60, frame.columns.get_loc("dewpoint_c")] = dewpoint
        found = grade_days(frame, PLACE).findings
        assert any("can hold" in each.reason for each in found) == rejected


def test_a_day_that_repeats_but_for_one_reading_was_not_delivered_twice() -> None:
    for column in ("tmin_c", "tmax_c", "dewpoint_c", "wind_m_s", "solar_mj_m2_d"):
        frame = plausible()
        own = frame.iloc[80, frame.columns.get_loc(column)]
        frame.iloc[80] = frame.iloc[79]
        frame.iloc[80, frame.columns.get_loc(column)] = own
        assert not any("delivered again" in each.reason for each in grade_days(frame, PLACE).findings)


def test_a_stuck_anemometer_and_a_day_delivered_twice() -> None:
    frame = plausible()
    frame.iloc[50:54, frame.columns.get_loc("wind_m_s")] = 2.2
    frame.iloc[80] = frame.iloc[79]
    graded = grade_days(frame, PLACE)
    assert graded_of(graded, Grade.FILLED) == [50, 51, 52, 53]
    assert graded_of(graded, Grade.UNFIT) == [80]
    assert "rain rejected: the day before was delivered again" in graded.days[80].reasons


def test_a_step_casts_doubt_and_rejects_nothing() -> None:
    frame = plausible()
    for name in ("tmin_c", "tmax_c", "dewpoint_c"):
        frame.iloc[70:, frame.columns.get_loc(name)] += 25.0
    graded = grade_days(frame, PLACE)
    assert graded_of(graded, Grade.WEAK) == [70]
    assert not any(each.rejected for each in graded.findings)
    assert graded.days[70].reasons == (
        "lowest temperature: a jump from the day before beyond what the place shows",
        "highest temperature: a jump from the day before beyond what the place shows",
        "dew point: a jump from the day before beyond what the place shows",
    )


def test_sensors_that_read_high_or_low_cast_doubt_for_as_long_as_it_shows() -> None:
    frame = plausible()
    above = radiation.extraterrestrial_radiation(PLACE.latitude_deg, frame.index.day_of_year.to_numpy(dtype=float))
    sun = np.where(np.arange(COUNT) % 5 == 0, 0.74 * above, frame["solar_mj_m2_d"])
    assert grade_days(frame.assign(solar_mj_m2_d=sun), PLACE).findings == ()
    sun[60:] *= 1.12  # clear days are 0.829 Ra then, 1.10 of Rso; more than 0.852 Ra would be rejected
    high = grade_days(frame.assign(solar_mj_m2_d=sun), PLACE)
    assert not any(each.rejected for each in high.findings)
    weak = graded_of(high, Grade.WEAK)
    assert weak == list(range(70, COUNT))  # the third clear day of the new scale is day 70
    assert {each.column for each in high.findings} == {"solar_mj_m2_d"}
    dirty = grade_days(frame.assign(solar_mj_m2_d=frame["solar_mj_m2_d"] * 0.55), PLACE)
    assert {(each.column, each.rejected) for each in dirty.findings} == {("solar_mj_m2_d", False)}
    assert graded_of(dirty, Grade.WEAK)[-1] == COUNT - 1
    damp = grade_days(frame.assign(rh_max_pct=frame["rh_max_pct"] * 0.85), PLACE)
    assert graded_of(damp, Grade.WEAK)
    assert {each.column for each in damp.findings} == {"rh_max_pct"}
    # Where no rain falls, dry mornings are what they are.
    assert grade_days(frame.assign(rh_max_pct=frame["rh_max_pct"] * 0.85, rain_mm=0.0), PLACE).findings == ()
    desert = grade_days(spoilt("rh_min_pct", 60, 4.0), PLACE)
    assert desert.days[60].reasons == ("least humidity: drier than all but deserts",)


def test_a_sensor_that_leaves_its_neighbour_casts_doubt() -> None:
    neighbour = plausible()
    draw = np.random.default_rng(8)
    ours = neighbour.assign(
        tmin_c=neighbour["tmin_c"] + 1.0 + draw.normal(0.0, 0.5, COUNT),
        wind_m_s=neighbour["wind_m_s"] * 0.7 * (1.0 + draw.normal(0.0, 0.05, COUNT)),
    )
    assert grade_days(ours, PLACE, neighbour).findings == ()
    worn = ours.assign(wind_m_s=ours["wind_m_s"] * np.where(np.arange(COUNT) < 70, 1.0, 0.4))
    graded = grade_days(worn, PLACE, neighbour)
    assert {(each.column, each.rejected) for each in graded.findings} == {("wind_m_s", False)}
    assert graded_of(graded, Grade.WEAK)[-1] == COUNT - 1
    assert graded.days[-1].reasons == ("wind: in the last 30 days it has moved away from its neighbour",)
    # A neighbour known for other days only says nothing.
    assert grade_days(worn, PLACE, neighbour.set_index(neighbour.index.shift(-400))).findings == ()


@pytest.mark.parametrize("count", [1, 2, 3, 29, 30, 31, 59, 61, 90, 91])
def test_a_piece_of_any_length_is_graded_by_itself(count: int) -> None:
    piece = plausible().iloc[:count]
    graded = grade_days(piece, PLACE, neighbour=plausible())
    assert graded.findings == ()
    assert [day.grade for day in graded.days] == [Grade.SOUND] * count
    bare = piece.assign(**dict.fromkeys(DAILY_COLUMNS, np.nan))
    assert [day.grade for day in grade_days(bare, PLACE, neighbour=bare).days] == [Grade.UNFIT] * count


def hours(first: str, count: int, late_h: float = 0.0) -> pd.DataFrame:
    """Hours of a clear sky, stamped late by so many hours."""
    index = pd.date_range(first, periods=count, freq="h", tz="UTC", name="hour_start")
    local = index.tz_convert(PLACE.zone)
    utc_h = index.hour.to_numpy(dtype=float) + 0.5 - late_h
    day_of_year = local.day_of_year.to_numpy(dtype=float)
    angle = sun_position.solar_hour_angle(day_of_year, utc_h, PLACE.longitude_deg)
    above = radiation.hourly_extraterrestrial_radiation(PLACE.latitude_deg, day_of_year, angle)
    draw = np.random.default_rng(2)
    warmth = 12.0 + 2.0 * above + np.repeat(draw.normal(0.0, 1.0, count // 24 + 1), 24)[:count]
    frame = pd.DataFrame(np.nan, index=index, columns=list(HOURLY_COLUMNS))
    return frame.assign(
        temperature_c=warmth,
        rh_pct=92.0 - 8.0 * above + np.repeat(draw.normal(0.0, 1.0, count // 24 + 1), 24)[:count],
        wind_m_s=draw.uniform(1.0, 3.0, count),
        solar_mj_m2_h=above * np.repeat(draw.uniform(0.4, 0.72, count // 24 + 1), 24)[:count],
        rain_mm=0.0,
    )


def test_hours_missing_doubled_and_complete() -> None:
    # From local midnight of 25 October on; the day of 1 November 2026 has 25 hours in Toronto.
    hourly = hours("2026-10-25T04:00", 24 * 14 + 1)
    daily, _ = hours_to_days(hourly, PLACE.zone, date(2027, 1, 1))
    assert len(daily) == 14
    assert grade_days(daily, PLACE, hourly=hourly).findings == ()
    delivered = pd.concat([hourly.drop(hourly.index[30]), hourly.iloc[60:62]]).sort_index()
    found = grade_days(daily, PLACE, hourly=delivered).findings
    assert [(each.day.day, each.column, each.value, each.reason, each.rejected) for each in found] == [
        (26, "", None, "hours are missing", False),
        (27, "", None, "hours were delivered twice", False),
    ]
    assert grade_days(daily, PLACE, hourly=delivered).days[1].reasons == ("hours are missing",)


@pytest.mark.parametrize(("late_h", "wrong"), [(0.0, False), (1.0, True), (-4.0, True)])
def test_a_clock_or_zone_that_is_wrong_moves_the_sun(late_h: float, wrong: bool) -> None:
    hourly = hours("2026-06-01T04:00", 24 * 30, late_h)
    daily, _ = hours_to_days(hourly, PLACE.zone, date(2027, 1, 1))
    graded = grade_days(daily, PLACE, hourly=hourly)
    doubted = [each for each in graded.findings if "clock" in each.reason]
    assert bool(doubted) == wrong
    assert {each.column for each in doubted} <= {""}  # the clock is the whole day's matter
    assert len(graded_of(graded, Grade.WEAK)) == len(doubted)
