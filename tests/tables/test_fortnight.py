"""The fortnight as a table: the rows of any days, those the plan does not rest on too."""

import math
from datetime import date

import pytest

from etsched.model.plan import DayWeather
from etsched.tables.weather import weather_rows


def day(**given):
    plain = {"forecast": False, "tmin_c": 10.0, "tmax_c": 30.0, "eto_mm": 7.62, "rain_mm": 2.54, "filled": ()}
    return DayWeather(day=date(2026, 7, 13), **(plain | given))


def test_a_day_in_the_units_of_its_reader():
    # 7.112, 7.62 and 8.382 mm are 0.28, 0.30 and 0.33 in; 12.7 mm are 0.5 in; 10 and 30 °C are 50 and 86 °F.
    given = day(eto_low_mm=7.112, eto_high_mm=8.382, rain_low_mm=0.0, rain_high_mm=12.7)
    ((us,), (metric,)) = weather_rows([given], "us"), weather_rows([given], "metric")
    assert [us.day, us.kind, us.tmin.text, us.tmax.text, us.rain.text, us.eto.text, us.eto_range, us.rain_range] == [
        "Mon Jul 13",
        "observed",
        "50 °F",
        "86 °F",
        "0.10 in",
        "0.30 in",
        "0.28–0.33 in",
        "0.00–0.50 in",
    ]
    assert (metric.eto.text, metric.eto_range, metric.rain_range) == ("7.6 mm", "7.1–8.4 mm", "0.0–12.7 mm")


@pytest.mark.parametrize(("low", "high"), [(None, None), (7.62, 7.62), (7.62, 7.63), (7.0, None), (math.nan, 8.0)])
def test_a_range_that_tells_the_reader_nothing_is_not_written(low, high):
    assert weather_rows([day(eto_low_mm=low, eto_high_mm=high)], "us")[0].eto_range == ""


def test_grade_reasons_filling_and_sources():
    (row,) = weather_rows(
        [
            day(
                grade="weak",
                reasons=("wind not known", "hours are\nmissing"),
                filled=("wind taken as 2 m/s", "rain not measured, taken as none"),
                sources=("temperature: open-meteo forecast", "rain: rain gauge"),
            )
        ],
        "us",
    )
    assert row.grade == "weak"
    assert row.reasons == "wind not known; hours are missing"
    assert row.filled == "wind taken as 2 m/s; rain not measured, taken as none"
    assert row.sources == "temperature: open-meteo forecast; rain: rain gauge"


def test_how_a_day_is_known():
    rows = weather_rows([day(), day(forecast=True), day(forecast=True, standing_in=True), day(standing_in=True)], "us")
    assert [row.kind for row in rows] == ["observed", "forecast", "standing in", "standing in"]


def test_unknown_temperatures_are_dashes():
    (row,) = weather_rows([day(tmin_c=math.nan, tmax_c=math.nan, standing_in=True)], "us")
    assert (row.tmin.text, row.tmax.text, row.eto.text) == ("—", "—", "0.30 in")
    assert (row.grade, row.reasons, row.sources) == ("", "", "")
