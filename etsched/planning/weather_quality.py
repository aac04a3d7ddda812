"""What the checks say of each day of a place's weather: bad readings taken out, and a grade with its reasons.

A reading that cannot be true becomes unknown; nothing is clipped or bent. A reading that is merely odd stays and
casts doubt on its day. Checks that reject run one after the other, each on what the earlier ones left, and those
that doubt see only what was not rejected; the same weather always gets the same grades.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from etsched.frames.weather import stamps
from etsched.planning.weather_filling import Gaps, gaps, numbers
from etsched.planning.weather_remarks import DOUBTING, OF_SENSORS, REJECTING, Remark, drifts, hours, sky_over

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd
    from numpy.typing import NDArray

    from etsched.model.site import Place

    Mask = NDArray[np.bool_]


class Grade(StrEnum):
    """How far a day's weather can be trusted."""

    SOUND = "sound"  # temperatures, humidity, radiation and wind all given, and nothing speaks against them
    FILLED = "filled"  # one of them, or the rain, is filled by rule
    WEAK = "weak"  # more than one of them is filled, or something casts doubt
    UNFIT = "unfit"  # no temperatures: the day cannot be used


@dataclass(frozen=True, slots=True)
class Finding:
    """What a check said of one reading; `value` is in the unit of its column, None where it speaks of the day."""

    day: date
    column: str
    value: float | None
    reason: str
    rejected: bool


@dataclass(frozen=True, slots=True)
class DayGrade:
    """A day's grade and, in words, all that led to it."""

    day: date
    grade: Grade
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Graded:
    """The daily frame with rejected readings NaN, what was found, and a grade a day.

    `daily` keeps the daily frame's contract but for one thing: a temperature may be NaN.
    """

    daily: pd.DataFrame
    findings: tuple[Finding, ...]
    days: tuple[DayGrade, ...]


def grade_days(
    daily: pd.DataFrame, place: Place, neighbour: pd.DataFrame | None = None, hourly: pd.DataFrame | None = None
) -> Graded:
    """Check every day, take out what cannot be true and grade what is left.

    Parameters
    ----------
    daily : DataFrame
        A daily weather frame of one source.
    place : Place
    neighbour : DataFrame, optional
        A daily weather frame of another source for the same place, to hold a drifting sensor against.
    hourly : DataFrame, optional
        The hours the days were made of, as delivered: an hour may be there twice.

    Returns
    -------
    Graded
    """
    column, sky = numbers(daily), sky_over(daily, place)
    rejected: list[Remark] = []
    ahead = daily["is_forecast"].to_numpy(dtype=np.bool_)
    for check in REJECTING:
        spared = ahead if check in OF_SENSORS else np.zeros_like(ahead)
        remarks = [(name, mask & ~spared, reason) for name, mask, reason in check(column, sky)]
        rejected += remarks
        for name, mask, _ in remarks:
            column[name] = np.where(mask, np.nan, column[name])
    doubts = [remark for check in DOUBTING for remark in check(column, sky)]
    if neighbour is not None:
        doubts += drifts(column, numbers(neighbour.reindex(daily.index)))
    if hourly is not None:
        doubts += hours(hourly, daily, place)
    clean = daily.assign(**column)
    found = _findings(rejected, daily, rejects=True) + _findings(doubts, daily, rejects=False)
    return Graded(clean, tuple(sorted(found, key=lambda each: each.day)), grades_of(clean, rejected, doubts))


def _findings(remarks: list[Remark], daily: pd.DataFrame, *, rejects: bool) -> list[Finding]:
    days = [stamp.date() for stamp in stamps(daily)]
    return [
        Finding(days[row], name, float(daily[name].iloc[row]) if name else None, reason, rejects)
        for name, mask, reason in remarks
        for row in np.flatnonzero(mask)
    ]


def grades_of(clean: pd.DataFrame, rejected: list[Remark], doubts: list[Remark]) -> tuple[DayGrade, ...]:
    """Grade every day by what it lacks and what is in doubt; what was rejected is told, its lack weighs by itself."""
    lacks = gaps(clean)
    said: list[list[str]] = [[] for _ in range(len(clean))]
    remarks = [(f"{_WORDS[name]} rejected: {reason}", mask) for name, mask, reason in rejected]
    remarks += [(f"{_WORDS[name]}: {reason}" if name else reason, mask) for name, mask, reason in doubts]
    for text, mask in (*remarks, *_lacking(lacks)):
        for row in np.flatnonzero(mask):
            said[row].append(text)
    doubtful = np.any([np.zeros(len(clean), bool), *(mask for _, mask, _ in doubts)], axis=0)
    ranks = _ranks(lacks, doubtful)
    return tuple(
        DayGrade(day.date(), _BY_RANK[rank], tuple(reasons))
        for day, rank, reasons in zip(stamps(clean), ranks, said, strict=True)
    )


_BY_RANK = (Grade.SOUND, Grade.FILLED, Grade.WEAK, Grade.UNFIT)
_WORDS = {
    "tmin_c": "lowest temperature",
    "tmax_c": "highest temperature",
    "rh_min_pct": "least humidity",
    "rh_max_pct": "greatest humidity",
    "rh_mean_pct": "mean humidity",
    "dewpoint_c": "dew point",
    "vapour_pressure_kpa": "vapour pressure",
    "wind_m_s": "wind",
    "solar_mj_m2_d": "radiation",
    "sunshine_h": "sunshine",
    "rain_mm": "rain",
}


def _lacking(lacks: Gaps) -> tuple[tuple[str, Mask], ...]:
    return (
        ("no temperatures", lacks.temperature),
        ("humidity not known", lacks.humidity),
        ("radiation known by the hours of sunshine only", lacks.sun_hours),
        ("radiation not known", lacks.sun_range),
        ("wind not known", lacks.wind),
        ("rain not measured", lacks.rain),
    )


def _ranks(lacks: Gaps, doubtful: Mask) -> NDArray[np.int64]:
    filled = lacks.drivers_count
    weak = doubtful | (filled > 1)
    return np.select([lacks.temperature, weak, (filled == 1) | lacks.rain], [3, 2, 1], default=0)
