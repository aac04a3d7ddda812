"""Sites and weather made for tests: small, plain, and nowhere on any map."""

from datetime import date, time
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from etsched.frames.weather import DAILY_COLUMNS, Weather
from etsched.model.site import Basis, Head, Known, Place, Site, Station, TurfGroup, WateringRules

ZONE = ZoneInfo("America/Denver")
EVERY_DAY = frozenset(range(7))


def known(value, basis=Basis.MEASURED):
    return Known(value, basis, "made for a test")


def station(terminal, **over):
    values = {
        "area": f"lawn {terminal}",
        "head": Head.SPRAY,
        "turf": TurfGroup.COOL,
        "soil": "loam",
        "slope_pct": 2.0,
        "root_depth": known(150.0),
        "precip_rate": known(40.0),
        "uniformity": known(0.6),
        "area_m2": 60.0,
    }
    return Station(terminal, **(values | over))


def site(*stations, opens=time(22), closes=time(6), water_days=EVERY_DAY, **over):
    rules = {k: over.pop(k) for k in ("max_valves_count", "max_flow_l_min") if k in over}
    return Site(
        name="Quillmere Green",
        place=over.pop("place", Place(39.5, -105.0, 1600.0, ZONE)),
        rules=WateringRules(opens, closes, frozenset(water_days), **rules),
        stations=stations or (station(1),),
        **over,
    )


def weather(first=date(2026, 6, 20), days=30, forecast_from=None, **columns):
    """Daily rows, hot and dry unless told otherwise; a column may be a number or a sequence."""
    index = pd.date_range(first, periods=days, freq="D", unit="us", name="day")
    frame = pd.DataFrame({name: np.full(days, np.nan) for name in DAILY_COLUMNS}, index=index)
    usual = {
        "tmin_c": 16.0,
        "tmax_c": 35.0,
        "dewpoint_c": 8.0,
        "wind_m_s": 2.0,
        "solar_mj_m2_d": 27.0,
        "rain_mm": 0.0,
    }
    for name, value in (usual | columns).items():
        frame[name] = np.asarray(value, dtype=float)
    frame["is_forecast"] = index >= pd.Timestamp(forecast_from) if forecast_from else False
    return Weather(frame, None, "made for a test")
