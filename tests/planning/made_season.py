"""A short made season with rain on about a third of its days, for tests of the replay and the clairvoyant."""

from datetime import date, timedelta

import numpy as np

from tests.bench._forecast import RainClimate
from tests.bench._seasons import Season
from tests.planning.made import ZONE, Place, weather

FIRST = date(2026, 6, 1)
PLACE = Place(45.0, -105.0, 300.0, ZONE)
RAIN = RainClimate(0.35, 8.0)


def made_season(days=28, seed=3, wet_share=0.35):
    rng = np.random.default_rng(seed)
    held = days + 36
    rain = np.where(rng.random(held) < wet_share, 1.0 + rng.exponential(8.0, held), 0.0)
    daily = weather(
        FIRST - timedelta(days=14),
        held,
        tmax_c=rng.uniform(20.0, 34.0, held),
        dewpoint_c=np.nan,
        vapour_pressure_kpa=rng.uniform(0.9, 1.5, held),
        solar_mj_m2_d=rng.uniform(12.0, 28.0, held),
        rain_mm=rain,
    ).daily
    return Season("made", PLACE, "not stated", daily, FIRST, FIRST + timedelta(days=days - 1), RAIN)
