"""Made lawns for cup tests: how water lies on them, as depths at places chosen by chance, mean near 1."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from etsched.core.catch_cups import lower_quarter_uniformity

Field = Callable[[np.random.Generator, tuple[int, ...]], np.ndarray]


def normal(spread: float) -> Field:
    return lambda rng, shape: np.maximum(rng.normal(1.0, spread, shape), 0.0)


def right_skewed(spread: float) -> Field:
    """Log-normal: a few wet places."""
    sigma = np.sqrt(np.log1p(spread**2))
    return lambda rng, shape: np.exp(rng.normal(0.0, sigma, shape))


def left_skewed(spread: float) -> Field:
    """A gamma field upside down: a few dry places."""
    return lambda rng, shape: np.maximum(1.0 - spread * (rng.gamma(2.0, 1.0, shape) - 2.0) / np.sqrt(2.0), 0.0)


def corner(share: float, catch: float, spread: float = 0.15) -> Field:
    """Two populations: a share of the ground gets `catch` times what the rest gets."""
    return lambda rng, shape: np.where(rng.random(shape) < share, catch, 1.0) * normal(spread)(rng, shape)


def overlap(radius: float, drift: float) -> Field:
    """Heads on the corners of a unit square whose throw thins out with distance, pushed along by wind."""
    heads = [(east, north) for east in range(-2, 4) for north in range(-2, 4)]

    def field(rng: np.random.Generator, shape: tuple[int, ...]) -> np.ndarray:
        x, y = rng.random(shape), rng.random(shape)
        away = [np.hypot(x - east - drift, (y - north) * (1.0 + drift)) / radius for east, north in heads]
        return sum(np.maximum(1.0 - each, 0.0) for each in away) * normal(0.08)(rng, shape)

    return field


SETTING: dict[str, Field] = {
    "normal, even": normal(0.15),
    "normal": normal(0.25),
    "normal, uneven": normal(0.4),
    "right-skewed": right_skewed(0.3),
    "right-skewed, uneven": right_skewed(0.6),
    "left-skewed": left_skewed(0.25),
    "flat": lambda rng, shape: rng.uniform(0.6, 1.4, shape),
    "dry corner of 25 %": corner(0.25, 0.3),
    "dry corner of 15 %": corner(0.15, 0.4),
    "thin 30 %": corner(0.3, 0.5),
    "wet corner of 15 %": corner(0.15, 2.0),
}
# None of these set the table.
ASIDE: dict[str, Field] = {
    "gamma": lambda rng, shape: rng.gamma(4.0, 0.25, shape),
    "gamma, even": lambda rng, shape: rng.gamma(16.0, 1 / 16, shape),
    "Weibull": lambda rng, shape: rng.weibull(2.0, shape),
    "triangle": lambda rng, shape: rng.triangular(0.2, 1.2, 1.4, shape),
    "beta": lambda rng, shape: rng.beta(5.0, 2.0, shape),
    "three levels": lambda rng, shape: np.choose(rng.integers(0, 3, shape), [0.5, 1.0, 1.5]) * normal(0.1)(rng, shape),
    "dry corner of 20 %": corner(0.2, 0.4, 0.2),
    "dry corner of 35 %": corner(0.35, 0.4, 0.2),
    "dry corner of 20 %, very dry": corner(0.2, 0.3),
    "heads that overlap": overlap(1.1, 0.0),
    "heads that overlap, wind": overlap(1.2, 0.3),
    "heads too far apart": overlap(0.8, 0.1),
}
# What random cups may miss altogether: kept out of the figures above and measured by itself.
SMALL_CORNER = corner(0.12, 0.3)


@cache
def truth(field: Field) -> tuple[float, float]:
    """Mean and DU(lq) of the ground itself."""
    ground = field(np.random.default_rng(7), (2_000_000,))
    return float(ground.mean()), float(lower_quarter_uniformity(ground))
