"""Random sites with their weather and what is known of the days before, for which weeks are planned."""

from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
from hypothesis import strategies as st

from etsched.frames.weather import Weather
from etsched.model.plan import WaterState
from etsched.model.site import Ban, Exposure, Head, NewTurfHours, Place, Restriction, Site, TurfGroup, TurfMode
from etsched.planning.ground import facts_by_station, ground
from etsched.planning.modes import with_young_roots
from etsched.planning.week import Earlier
from etsched.reference.tables import soil_textures
from tests.planning.made import known, site, station, weather

BEFORE_D, DAYS = 20, 30
_TOLD_D = 10  # days ahead that an ensemble tells
# So many stations at most where nights are to be chosen: every choice is a week planned.
_FEW_STATIONS = 3


@dataclass(frozen=True)
class Case:
    """One week to plan."""

    site: Site
    sky: Weather
    first: date
    earlier: Earlier | None


@st.composite
def cases(draw):
    # Weeks that hold a clock change of either hemisphere are drawn as often as others.
    zone, first = draw(
        st.sampled_from(
            [
                ("America/Denver", date(2026, 7, 14)),
                ("America/Denver", date(2026, 3, 5)),
                ("America/Denver", date(2026, 10, 28)),
                ("Australia/Sydney", date(2026, 10, 1)),
                ("Australia/Sydney", date(2026, 4, 2)),
            ]
        )
    )
    made = site(
        *draw(_stations(first)),
        opens=time(draw(st.integers(19, 23)), draw(st.sampled_from([0, 30]))),
        closes=time(draw(st.integers(1, 9)), draw(st.sampled_from([0, 45]))),
        water_days=draw(st.sets(st.integers(0, 6), min_size=1)),
        max_valves_count=draw(st.integers(1, 3)),
        max_flow_l_min=draw(st.one_of(st.none(), st.floats(40.0, 200.0))),
        place=Place(39.0, -105.0, 1000.0, ZoneInfo(zone)),
    )
    count = len(made.stations)
    made = replace(
        made,
        rules=replace(made.rules, valve_delay_min=draw(st.sampled_from([0, 0, 1, 3]))),
        bans=tuple(draw(st.lists(_bans(first, count), max_size=2))),
        new_turf=draw(st.one_of(st.none(), _hours_by_day())),
        restrictions=tuple(draw(_restrictions(first, count))) if draw(st.integers(0, 4)) == 0 else (),
    )
    earlier = draw(_earlier(made, first)) if draw(st.integers(0, 2)) == 0 else None
    return Case(made, draw(_skies(first)), first, earlier)


@st.composite
def _stations(draw, first):
    made = []
    for terminal in range(1, draw(st.integers(1, 7)) + 1):
        maybe = {
            "uniformity": st.floats(0.25, 0.95).map(known),
            "root_depth": st.floats(60.0, 400.0).map(known),
            "precip_rate": st.floats(4.0, 70.0).map(known),
            "first_runoff": st.integers(3, 20).map(lambda m: known(float(m))),
            "slope_pct": st.floats(0.0, 20.0),
            "blocked": st.just("no water arrives"),
            "priority_count": st.integers(1, 3),
            "most_min": st.integers(10, 90).map(float),
            "least_depth": st.floats(1.0, 12.0).map(known),
        }
        over = {name: draw(value) for name, value in maybe.items() if draw(st.integers(0, 2)) == 0}
        if draw(st.integers(0, 3)) == 0:
            # From before it is sown, through all stages, to when it is no longer young.
            over["mode"] = draw(st.sampled_from([TurfMode.NEW_SEED, TurfMode.NEW_SOD, TurfMode.DORMANT]))
            over["mode_since"] = first - timedelta(days=draw(st.integers(-4, 60)))
        made.append(
            station(
                terminal,
                head=draw(st.sampled_from(Head)),
                turf=draw(st.sampled_from(TurfGroup)),
                soil=draw(st.sampled_from(soil_textures())),
                exposure=draw(st.sampled_from(Exposure)),
                area_m2=draw(st.floats(20.0, 400.0)),
                **over,
            )
        )
    return made


@st.composite
def _bans(draw, first, stations):
    begins = first + timedelta(days=draw(st.integers(-3, 6)))
    of = draw(st.one_of(st.just(frozenset()), st.sets(st.integers(1, stations), min_size=1).map(frozenset)))
    return Ban(begins, begins + timedelta(days=draw(st.integers(0, 3))), "town water is off", of)


@st.composite
def _hours_by_day(draw):
    """Hours that lie between the night's windows, as a site file must state them."""
    opens_min = 60 * draw(st.integers(10, 14)) + draw(st.sampled_from([0, 30]))
    closes_min = opens_min + draw(st.integers(20, 240))
    return NewTurfHours(*(time(*divmod(minute, 60)) for minute in (opens_min, closes_min)), "the town's permit")


@st.composite
def _restrictions(draw, first, stations):
    made = []
    for _ in range(draw(st.integers(1, 2))):
        begins = first + timedelta(days=draw(st.integers(-4, 4)))
        cut = draw(st.one_of(st.just(0.0), st.floats(1.0, 100.0)))
        nights = draw(st.one_of(st.none(), st.integers(1, 6))) if stations <= _FEW_STATIONS else None
        last = begins + timedelta(days=draw(st.integers(0, 14)))
        made.append(Restriction(begins, last, "water district", cut, nights))
    return made


@st.composite
def _earlier(draw, made, first):
    """Water by layer on some morning before, and minutes that ran since on some days."""
    here = ground(made, with_young_roots(made, first, facts_by_station(made, first.month)))
    morning = first - timedelta(days=draw(st.integers(0, BEFORE_D - 2)))
    deficit, thickness = {}, {}
    for terminal, layers, thick in zip(here.terminal, here.layer_available_mm, here.thickness_mm, strict=True):
        missing = draw(st.lists(st.floats(0.0, 1.0), min_size=len(layers), max_size=len(layers)))
        deficit[int(terminal)] = tuple((np.array(missing) * layers).tolist())
        thickness[int(terminal)] = tuple(thick.tolist())
    days = st.integers(0, max((first - morning).days - 1, 0)).map(lambda n: morning + timedelta(days=n))
    ran = draw(st.dictionaries(st.tuples(st.integers(1, len(made.stations)), days), st.integers(1, 60), max_size=4))
    return Earlier(WaterState(morning, deficit, thickness), ran if morning < first else {})


@st.composite
def _skies(draw, first):
    wind = draw(st.lists(st.sampled_from([1.0, 3.0, 9.0]), min_size=DAYS, max_size=DAYS))
    rain = draw(st.lists(st.one_of(st.just(0.0), st.floats(0.0, 40.0)), min_size=DAYS, max_size=DAYS))
    heat = draw(st.floats(20.0, 42.0))
    ahead = draw(st.booleans())
    sky = weather(
        first - timedelta(days=BEFORE_D),
        forecast_from=first if ahead else None,
        rain_mm=rain,
        wind_m_s=wind,
        tmax_c=heat,
        tmin_c=heat - 15.0,
    )
    if not ahead:
        return sky
    return replace(
        sky,
        extra=draw(st.one_of(st.none(), _rain_chances(sky))),
        spread=draw(st.one_of(st.none(), _ensemble_ranges(sky, first))),
    )


@st.composite
def _rain_chances(draw, sky):
    chance = draw(st.lists(st.one_of(st.just(np.nan), st.floats(0.0, 100.0)), min_size=DAYS, max_size=DAYS))
    return pd.DataFrame({"et0_feed_mm": np.nan, "rain_probability_pct": chance}, index=sky.daily.index)


@st.composite
def _ensemble_ranges(draw, sky, first):
    """What members tell of the days ahead: round the forecast, or, another model's, anywhere; some days of none."""
    index = pd.date_range(first, periods=_TOLD_D, freq="D", unit="us", name="day")
    rain = sky.daily["rain_mm"].reindex(index).to_numpy()
    numbers = st.lists(st.floats(0.0, 1.0), min_size=_TOLD_D, max_size=_TOLD_D).map(np.array)
    of = rain if draw(st.booleans()) else 30.0 * draw(numbers)
    low = of * draw(numbers)
    eto_low = 1.0 + 5.0 * draw(numbers)
    ranges = pd.DataFrame(
        {
            "eto_low_mm": eto_low,
            "eto_high_mm": eto_low + 5.0 * draw(numbers),
            "rain_low_mm": low,
            "rain_high_mm": np.maximum(of, low) + 20.0 * draw(numbers),
        },
        index=index,
    )
    unknown = draw(st.sets(st.integers(0, _TOLD_D - 1), max_size=2))
    ranges.iloc[sorted(unknown)] = np.nan
    return ranges
