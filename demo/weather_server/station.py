"""An agronomic station's CSV download, daily and hourly, in US and in metric units; the clock never changes.

`/ID/daily-us.csv`, `/ID/daily-metric.csv`, `/ID/hourly-us.csv`, `/ID/hourly-metric.csv`; `?start=2026-06-01` and
`&end=2026-06-30` narrow the days, which are the last 45 otherwise. These addresses are this server's own.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from .et0 import WIND_10M_TO_2M, et0_mm_h
from .exchange import Ask, Feed, Reply, World, json_reply
from .ground import Instrument, days_known
from .weather import Hour, saturation_kpa, spot_at

CSV = "text/csv; charset=utf-8"
LAG_DAYS = 1
_USUAL_DAYS = 45
_REGION = "Ferry Valley"
STATIONS = {"901": Instrument("901", "Cobble Ferry", 37.4, -119.9)}
_PATH = re.compile(r"/(\w+)/(daily|hourly)-(us|metric)\.csv")
_LANGLEY_MJ_M2 = 0.04184  # thermochemical calorie a square centimetre
_MPH = 0.44704
_DAY_S = 86400


@dataclass(frozen=True, slots=True)
class Span:
    """What an hour or a day was like: the instants it runs through, and the hours whose sums it holds."""

    instants: list[Hour]
    elevation_m: float

    @property
    def hours(self) -> list[Hour]:
        return self.instants[:-1]

    def mean(self, of: Callable[[Hour], float]) -> float:
        """Mean over the span, each hour taken from its two ends."""
        ends = [of(hour) for hour in self.instants]
        return (sum(ends) - (ends[0] + ends[-1]) / 2) / len(self.hours)

    def top(self, of: Callable[[Hour], float]) -> float:
        return max(of(hour) for hour in self.instants)

    def low(self, of: Callable[[Hour], float]) -> float:
        return min(of(hour) for hour in self.instants)

    @property
    def wind_2m_m_s(self) -> float:
        return WIND_10M_TO_2M * self.mean(lambda hour: hour.wind_10m_m_s)

    @property
    def solar_w_m2(self) -> float:
        return sum(hour.solar_mj_m2 for hour in self.hours) * 1e6 / (3600 * len(self.hours))

    @property
    def eto_mm(self) -> float:
        pairs = zip(self.hours, self.instants[1:], strict=True)
        return sum(et0_mm_h(now, past, self.elevation_m) for past, now in pairs)


def _warmth(hour: Hour) -> float:
    return hour.temperature_c


def _humidity(hour: Hour) -> float:
    return hour.rh_pct


def _vapour(hour: Hour) -> float:
    return saturation_kpa(hour.dewpoint_c)


# Heading, unit and digits in US and metric form, and the value in SI. Headings of the daily US form are read, as are
# `Sol Rad (W/sq.m)`, `Air Temp (C)`, `Vapor Pressure (kPa)` and `Wind Speed (m/s)`; the others are from memory, to be
# verified.
Column = tuple[tuple[str, str, int], tuple[str, str, int], Callable[[Span], float]]
_ETO: Column = (("ETo (in)", "in", 2), ("ETo (mm)", "mm", 2), lambda s: s.eto_mm)
_RAIN: Column = (("Precip (in)", "in", 2), ("Precip (mm)", "mm", 1), lambda s: sum(hour.rain_mm for hour in s.hours))
_SUN: Column = (("Sol Rad (Ly/day)", "ly", 0), ("Sol Rad (W/sq.m)", "", 0), lambda s: s.solar_w_m2)


def _warm(name: str, digits: int, value: Callable[[Span], float]) -> Column:
    return (f"{name} (F)", "f", digits), (f"{name} (C)", "", digits), value


def _damp(name: str, value: Callable[[Span], float]) -> Column:
    return (f"{name} (%)", "", 0), (f"{name} (%)", "", 0), value


_DAILY: tuple[Column, ...] = (
    _ETO,
    _RAIN,
    _SUN,
    (("Avg Vap Pres (mBars)", "mbar", 1), ("Avg Vapor Pressure (kPa)", "", 2), lambda s: s.mean(_vapour)),
    _warm("Max Air Temp", 1, lambda s: s.top(_warmth)),
    _warm("Min Air Temp", 1, lambda s: s.low(_warmth)),
    _warm("Avg Air Temp", 1, lambda s: s.mean(_warmth)),
    _damp("Max Rel Hum", lambda s: s.top(_humidity)),
    _damp("Min Rel Hum", lambda s: s.low(_humidity)),
    _damp("Avg Rel Hum", lambda s: s.mean(_humidity)),
    _warm("Dew Point", 1, lambda s: s.mean(lambda hour: hour.dewpoint_c)),
    (("Avg Wind Speed (mph)", "mph", 1), ("Avg Wind Speed (m/s)", "", 1), lambda s: s.wind_2m_m_s),
    (("Wind Run (miles)", "miles", 1), ("Wind Run (km)", "km", 1), lambda s: s.wind_2m_m_s * _DAY_S),
    _warm("Avg Soil Temp", 1, lambda s: s.mean(_warmth) - 2.0),
)
_HOURLY: tuple[Column, ...] = (
    _ETO,
    _RAIN,
    _SUN,
    (("Vap Pres (mBars)", "mbar", 1), ("Vapor Pressure (kPa)", "", 2), lambda s: s.mean(_vapour)),
    _warm("Air Temp", 1, lambda s: s.mean(_warmth)),
    _damp("Rel Hum", lambda s: s.mean(_humidity)),
    _warm("Dew Point", 1, lambda s: s.mean(lambda hour: hour.dewpoint_c)),
    (("Wind Speed (mph)", "mph", 1), ("Wind Speed (m/s)", "", 1), lambda s: s.wind_2m_m_s),
    (("Wind Dir (0-360)", "", 0), ("Wind Dir (0-360)", "", 0), lambda _: 270.0),
    _warm("Soil Temp", 1, lambda s: s.mean(_warmth) - 2.0),
)
# From SI to the unit of a column: factor and offset.
_SCALES = {
    "": (1.0, 0.0),
    "in": (1 / 25.4, 0.0),
    "mm": (1.0, 0.0),
    "ly": (_DAY_S * 1e-6 / _LANGLEY_MJ_M2, 0.0),
    "mbar": (10.0, 0.0),
    "f": (1.8, 32.0),
    "mph": (1 / _MPH, 0.0),
    "miles": (1 / 1609.344, 0.0),
    "km": (1e-3, 0.0),
}
_WRONG_UNIT = {"(F)": "(K)", "(C)": "(K)", "(mph)": "(knots)", "(m/s)": "(knots)"}
_ABSURD_C = 85.0


def trouble(status: int) -> Reply:
    """Tell that the download cannot be had."""
    return json_reply({"error": "too many requests" if status == 429 else "not available"}, status)


def answer(ask: Ask, world: World) -> Reply:
    """Answer one download."""
    found = _PATH.fullmatch(ask.path)
    if found is None or found[1] not in STATIONS:
        return json_reply({"error": "no such file"}, 404)
    try:
        last = date.fromisoformat(ask.query.get("end", str(world.today)))
        first = date.fromisoformat(ask.query.get("start", str(last - timedelta(days=_USUAL_DAYS))))
    except (ValueError, OverflowError):
        return json_reply({"error": "start and end must be dates such as 2026-06-01"}, 400)
    days = days_known(first, last, LAG_DAYS, world)
    if world.fault == "doubled-days":
        days = days[:2] + days[1:]
    return Reply(200, _file(STATIONS[found[1]], world, days, (found[2], found[3])).encode(), CSV)


def _file(station: Instrument, world: World, days: list[date], form: tuple[str, str]) -> str:
    """Write a file; `form` is daily or hourly, and us or metric."""
    is_hourly, is_us = form[0] == "hourly", form[1] == "us"
    columns = _HOURLY if is_hourly else _DAILY
    stamps = ["Date", "Hour (PST)", "Jul"] if is_hourly else ["Date", "Jul"]
    headings = [name for column in columns for name in ((column[0] if is_us else column[1])[0], "qc")]
    if world.fault == "wrong-units":
        for right, wrong in _WRONG_UNIT.items():
            headings = [heading.replace(right, wrong) for heading in headings]
    rows = [["Stn Id", "Stn Name", "CIMIS Region", *stamps, *headings]]
    for day in days:
        for hour in range(100, 2500, 100) if is_hourly else (0,):
            stamp = [f"{day.month}/{day.day}/{day.year}", f"{hour:04d}", str(day.timetuple().tm_yday)]
            begun = [station.identifier, station.name, _REGION, *(stamp if is_hourly else stamp[::2])]
            rows.append(begun + _cells(station, world, day, (hour, is_us)))
    if world.fault == "unequal-arrays" and days:
        rows[-1] = rows[-1][:-4]
    if world.fault == "spike" and days:
        _spike(rows, is_us)
    return "".join(",".join(row) + "\r\n" for row in rows)


def _cells(station: Instrument, world: World, day: date, form: tuple[int, bool]) -> list[str]:
    """Values of a row, each with its mark: blank is good, Y, H and R doubtful, M missing."""
    hour, is_us = form
    instants = station.hours(world, day)
    span = instants if hour == 0 else instants[hour // 100 - 1 : hour // 100 + 1]
    made = Span(span, spot_at(world.seed, station.latitude_deg, station.longitude_deg).elevation_m)
    cells = []
    for number, (us, metric, value) in enumerate(_HOURLY if hour else _DAILY):
        _, unit, digits = us if is_us else metric
        factor, offset = _SCALES[unit]
        mark = "M" if world.fault == "all-null" else _mark(station.luck(world, day, f"{hour} {number}"))
        cells += ["" if mark == "M" else f"{value(made) * factor + offset:.{digits}f}", mark]
    return cells


def _mark(luck: float) -> str:
    """Choose the mark of a value; how often each comes is our own choice."""
    for mark, until in (("M", 1 / 400), ("R", 1 / 200), ("H", 3 / 400), ("Y", 1 / 40)):
        if luck < until:
            return mark
    return ""


def _spike(rows: list[list[str]], is_us: bool) -> None:
    """Put an absurd temperature into the middle row, marked as good."""
    at = next(number for number, heading in enumerate(rows[0]) if heading.startswith(("Max Air Temp", "Air Temp")))
    rows[len(rows) // 2][at : at + 2] = [f"{_ABSURD_C * 1.8 + 32 if is_us else _ABSURD_C:.1f}", ""]


HOSTS = {"station": Feed(answer, trouble)}
