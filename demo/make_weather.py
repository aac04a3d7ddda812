"""Write the invented daily weather of the invented town of Cobble Ferry: demo/weather.csv and demo/weather-later.csv.

Nobody measured these numbers. They tell a story a manager knows: a warm end of June with one thunderstorm, then a
fortnight that grows hotter until it passes 100 °F, then days that ease. weather.csv runs from 25 June to 20 July 2026;
its rows after 13 July stand for a forecast. weather-later.csv is the file of a fortnight on: the same days, which came
as they were forecast, and those up to 3 August, of which the rows from 27 July on stand for a forecast. The numbers
keep the physics: no more sun than a clear sky gives, no dew point above the night's lowest temperature, cooler and
dimmer days where clouds stand. Seeded, so every run writes the same files. Run: python demo/make_weather.py
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path

FIRST = date(2026, 6, 25)
LATITUDE_RAD = math.radians(37.4)
ELEVATION_M = 655.0  # 2150 ft
# The story, one row a day: highest temperature in °F, share of the clear sky's sun, rain in inches, and how many °C
# the dew point lies below the night's lowest temperature: little after rain, much in dry heat.
STORY = [
    *[(90, 0.98, 0, 9), (91, 0.97, 0, 9), (92, 0.96, 0, 8), (89, 0.90, 0, 7), (86, 0.80, 0, 5)],  # 25 to 29 June
    (78, 0.45, 0.36, 2),  # 30 June: the thunderstorm
    *[(81, 0.85, 0, 3), (85, 0.96, 0, 5), (88, 0.97, 0, 7), (90, 0.98, 0, 8), (92, 0.98, 0, 9)],  # 1 to 5 July
    *[(93, 0.97, 0, 9), (94, 0.98, 0, 9), (95, 0.98, 0, 9), (96, 0.97, 0, 9), (97, 0.98, 0, 9)],  # 6 to 10 July
    *[(98, 0.98, 0, 9), (100, 0.98, 0, 9), (101, 0.97, 0, 9)],  # 11 to 13 July
    *[(102, 0.98, 0, 9), (103, 0.97, 0, 9), (104, 0.98, 0, 9), (103, 0.96, 0, 9)],  # 14 to 17 July, forecast
    *[(102, 0.97, 0, 9), (100, 0.95, 0, 9), (96, 0.90, 0, 8)],  # 18 to 20 July, forecast
]
LATER = [
    *[(94, 0.92, 0, 8), (93, 0.95, 0, 8), (93, 0.97, 0, 9), (94, 0.97, 0, 9), (95, 0.98, 0, 9)],  # 21 to 25 July
    *[(95, 0.97, 0, 9), (94, 0.97, 0, 9), (94, 0.97, 0, 9), (95, 0.98, 0, 9)],  # 26 to 29 July
    *[(96, 0.98, 0, 9), (96, 0.97, 0, 9), (95, 0.96, 0, 9), (93, 0.94, 0, 8), (92, 0.95, 0, 8)],  # 30 July to 3 August
]
HEADINGS = ("date", "tmin_c", "tmax_c", "dewpoint_c", "wind_m_s", "solar_mj_m2_d", "rain_mm")


def clear_sky_mj_m2_d(day: date) -> float:
    """Sun of a cloudless day: FAO-56 Eq. 21 to 25 for the top of the air, Eq. 37 for what reaches the ground."""
    angle = 2 * math.pi * day.timetuple().tm_yday / 365
    distance = 1 + 0.033 * math.cos(angle)
    declination = 0.409 * math.sin(angle - 1.39)
    sunset = math.acos(-math.tan(LATITUDE_RAD) * math.tan(declination))
    height = sunset * math.sin(LATITUDE_RAD) * math.sin(declination)
    height += math.cos(LATITUDE_RAD) * math.cos(declination) * math.sin(sunset)
    above_the_air = 24 * 60 / math.pi * 0.0820 * distance * height
    return (0.75 + 2e-5 * ELEVATION_M) * above_the_air


def rows(story: Sequence[tuple[float, ...]]) -> list[tuple[str, ...]]:
    """Give the days of a story as they stand in its file; one that goes on longer begins with the same days."""
    chance = random.Random(20260713)  # noqa: S311 - weather of a story, no secret
    found = []
    for number, (tmax_f, clearness, rain_in, dryness) in enumerate(story):
        day = FIRST + timedelta(days=number)
        tmax = (tmax_f - 32) / 1.8 + chance.uniform(-0.3, 0.3)
        tmin = tmax - (10.0 + 8.0 * (clearness - 0.45) / 0.53) + chance.uniform(-0.8, 0.8)
        dewpoint = tmin - dryness + chance.uniform(-0.8, 0.8)
        wind = 1.6 + chance.uniform(-0.4, 0.5)
        numbers = (tmin, tmax, dewpoint, wind, clearness * clear_sky_mj_m2_d(day), rain_in * 25.4)
        found.append((day.isoformat(), *(f"{each:.1f}" for each in numbers)))
    return found


def text(story: Sequence[tuple[float, ...]] = STORY) -> str:
    """Give a whole file."""
    return "".join(",".join(cells) + "\n" for cells in (HEADINGS, *rows(story)))


def later_text() -> str:
    """Give the whole file of a fortnight on."""
    return text([*STORY, *LATER])


if __name__ == "__main__":
    Path(__file__).with_name("weather.csv").write_text(text(), encoding="utf-8")
    Path(__file__).with_name("weather-later.csv").write_text(later_text(), encoding="utf-8")
