"""A site's chain of feeds made one weather: each group of values of a day from the first feed that has it.

Every feed is checked before it is believed, so that a value its checks reject comes from the next link. Groups are
taken whole (a day's two temperatures, its humidity, its sunlight), never mixed from two feeds.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from etsched.errors import PlanRefused
from etsched.frames.weather import DAILY_COLUMNS, DayRemark, Weather, stamps
from etsched.planning.weather_filling import fill_days
from etsched.planning.weather_quality import Finding, Graded, grade_days, grades_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from datetime import date

    from numpy.typing import NDArray

    from etsched.model.site import Place
    from etsched.planning.weather_remarks import Remark

# How far a feed's own reference ET may lie from ours, by another equation and by hours, before it is an alarm: the
# larger of the two (own bound, wider than the few percent by which the two equations differ).
FEED_ET_BAND_MM, FEED_ET_BAND_FRACTION = 0.8, 0.2

# Group in words → its columns. A group is there where any of these is known; temperatures need both.
GROUPS = {
    "temperature": ("tmin_c", "tmax_c"),
    "humidity": ("rh_min_pct", "rh_max_pct", "rh_mean_pct", "dewpoint_c", "vapour_pressure_kpa"),
    "wind": ("wind_m_s",),
    "sunlight": ("solar_mj_m2_d", "sunshine_h"),
    "rain": ("rain_mm",),
}


def checked(weather: Weather, place: Place) -> Weather:
    """Check the weather of one source: rejected values become unknown, every day gets its grade and reasons."""
    return chained([weather], place)


def chained(links: Sequence[Weather], place: Place, first: date | None = None, last: date | None = None) -> Weather:
    """Make one weather of a chain, the feed to believe first at the front.

    The days run from `first` to `last`, or over all that any link has. The notes of several links are theirs alone:
    each day's remark says what of them matters. Raises PlanRefused where there is no link.
    """
    if not links:
        raise PlanRefused("there is no weather: no link of the chain gave any")
    index = _days(links, first, last)
    graded = [_graded(link, links[n + 1 :], place) for n, link in enumerate(links)]
    daily, origin = _merged(graded, index)
    # Who is ahead of today is a matter of the day, the same in every link that has it.
    ahead = [link.daily["is_forecast"].reindex(index) for link in links]
    daily["is_forecast"] = pd.concat(ahead, axis=1).bfill(axis=1).iloc[:, 0].fillna(False).astype(bool)
    known = np.flatnonzero(origin["temperature"] >= 0)
    if len(known) == 0:
        raise PlanRefused("there is no weather: no link of the chain knows the temperatures of any day")
    # Days before and after all temperatures are no days of this weather: a gauge may begin early.
    cut = slice(int(known[0]), int(known[-1]) + 1)
    daily, origin = daily.iloc[cut], {group: taken[cut] for group, taken in origin.items()}
    return Weather(
        daily=daily,
        # A gauge gives a day's depth of rain; the first link with hours gives its time of day.
        hourly=next((link.hourly for link in links if link.hourly is not None), None),
        source=", then ".join(dict.fromkeys(_name(link) for link in links)),
        notes=links[0].notes if len(links) == 1 else (),
        origin=links[0].origin,
        extra=next((link.extra for link in links if link.extra is not None), None),
        remarks=_remarks(links, graded, daily, origin),
        attributions=tuple(
            dict.fromkeys(link.origin.attribution for link in links if link.origin and link.origin.attribution)
        ),
    )


def _name(link: Weather) -> str:
    return link.origin.feed if link.origin else link.source


def _modelled(link: Weather) -> bool:
    return link.origin is not None and not link.origin.measured


def _told(link: Weather, note: str, count: int) -> str:
    return f"{_name(link)}: {note}" if count > 1 else note


def _days(links: Sequence[Weather], first: date | None, last: date | None) -> pd.DatetimeIndex:
    begin = pd.Timestamp(first) if first else min(link.daily.index[0] for link in links)
    end = pd.Timestamp(last) if last else max(link.daily.index[-1] for link in links)
    return pd.date_range(begin, end, freq="D", unit="us", name="day")


def _graded(link: Weather, after: Sequence[Weather], place: Place) -> Graded:
    """Check a link, a measuring one also against the first modelled link behind it."""
    measured = link.origin is not None and link.origin.measured
    models = [other for other in after if _modelled(other)]
    neighbour = models[0].daily if measured and models else None
    graded = grade_days(link.daily, place, neighbour, link.hourly)
    return replace(graded, findings=(*graded.findings, *_against_own_et(link, graded, place)))


def _against_own_et(link: Weather, graded: Graded, place: Place) -> Iterator[Finding]:
    """Doubt a day whose reference ET lies far from the feed's own: an alarm, never a truth to be followed."""
    if link.extra is None or "et0_feed_mm" not in link.extra:
        return
    ours = fill_days(graded.daily, place).eto_mm
    theirs = link.extra["et0_feed_mm"].reindex(link.daily.index).to_numpy(dtype=np.float64)
    band = np.maximum(FEED_ET_BAND_MM, FEED_ET_BAND_FRACTION * theirs)
    for row in np.flatnonzero(np.abs(ours - theirs) > band).tolist():
        reason = f"reference ET of {ours[row]:.1f} mm against {theirs[row]:.1f} mm by the feed itself"
        yield Finding(stamps(link.daily)[row].date(), "", None, reason, rejected=False)


def _merged(graded: Sequence[Graded], index: pd.DatetimeIndex) -> tuple[pd.DataFrame, dict[str, NDArray[np.int64]]]:
    """Take each group of each day from the first link that has it; say from which, −1 where none has."""
    frames = [each.daily.reindex(index) for each in graded]
    daily = pd.DataFrame(np.nan, index=index, columns=list(DAILY_COLUMNS))
    origin: dict[str, NDArray[np.int64]] = {}
    for group, names in GROUPS.items():
        columns = list(names)
        taken = np.full(len(index), -1)
        for place_in_chain, frame in enumerate(frames):
            known = frame[columns].notna()
            has = (known.all(axis=1) if group == "temperature" else known.any(axis=1)).to_numpy()
            mine = has & (taken < 0)
            daily.loc[mine, columns] = frame.loc[mine, columns]
            taken[mine] = place_in_chain
        origin[group] = taken
    return daily, origin


def _remarks(
    links: Sequence[Weather], graded: Sequence[Graded], daily: pd.DataFrame, origin: dict[str, NDArray[np.int64]]
) -> tuple[DayRemark, ...]:
    """Grade the merged days: a doubt weighs where the value it is about was taken, a rejection is told in any case."""
    index = stamps(daily)
    first = index[0].date()
    rejected: list[Remark] = []
    doubts: list[Remark] = []
    for place_in_chain, (link, grades) in enumerate(zip(links, graded, strict=True)):
        for finding in grades.findings:
            if finding.column and not finding.rejected and _modelled(link):
                continue  # a model has no sensor that could drift, stick or read low
            row = (finding.day - first).days
            if not 0 <= row < len(index) or not (
                finding.rejected or _used(origin, row, place_in_chain, finding.column)
            ):
                continue
            mask = np.arange(len(index)) == row
            (rejected if finding.rejected else doubts).append(
                (finding.column, mask, _told(link, finding.reason, len(links)))
            )
    names = [_name(link) for link in links]
    return tuple(
        DayRemark(
            str(day.grade),
            tuple(dict.fromkeys(day.reasons)),
            tuple(f"{group}: {names[int(taken[row])]}" for group, taken in origin.items() if taken[row] >= 0),
        )
        for row, day in enumerate(grades_of(daily, rejected, doubts))
    )


def _used(origin: dict[str, NDArray[np.int64]], row: int, place_in_chain: int, column: str) -> bool:
    groups = [group for group, names in GROUPS.items() if column in names] or list(GROUPS)
    return any(int(origin[group][row]) == place_in_chain for group in groups)
