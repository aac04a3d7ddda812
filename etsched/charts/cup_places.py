"""Where the cups of a map lie on its sheet: as they stood, or side by side from dry to wet where nobody noted it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from etsched.model.visit import CupTest

WIDTH_PX = 480.0  # a telephone shows it at three quarters, so that its figures can still be read there
EDGE_PX = 40.0
LEAST_APART_PX = 46.0  # between the middles of two cups, so that a figure has room in each
MOST_RADIUS_PX = 25.0
LEAST_FIGURE_RADIUS_PX = 16.0
_FIELD_PX = 620.0  # a field is drawn no higher than this, unless its cups need the room
_LARGEST_PX = 1600.0
_RIM_PX = 6.0
_STRIP_COLUMNS = 8


@dataclass(frozen=True, slots=True)
class Places:
    """Middles of the cups on the sheet below `top`, in the order of the test, and how large each may be drawn."""

    x_px: NDArray[np.float64]
    y_px: NDArray[np.float64]
    radius_px: float
    width_px: float
    height_px: float
    px_per_m: float | None  # None: side by side
    why: str = ""  # they lie side by side

    @property
    def has_figures(self) -> bool:
        """Whether a figure has room in a cup."""
        return self.radius_px >= LEAST_FIGURE_RADIUS_PX


def cup_places(test: CupTest, depth_mm: NDArray[np.float64]) -> Places:
    """Lay the cups of a test on a sheet."""
    noted = [(cup.x_m, cup.y_m) for cup in test.cups if cup.x_m is not None and cup.y_m is not None]
    if len(noted) < len(test.cups):
        return _strip(depth_mm, "Nobody noted where every cup stood, so they lie here in order from dry to wet.")
    at = np.array(noted)
    apart = _nearest(at)
    if apart <= 0.0:
        return _strip(depth_mm, "Two cups are noted at one place, so all lie here in order from dry to wet.")
    return _as_they_stood(at, apart)


def _nearest(at: NDArray[np.float64]) -> float:
    away = np.hypot(at[:, None, 0] - at[None, :, 0], at[:, None, 1] - at[None, :, 1])
    return float(away[~np.eye(len(at), dtype=bool)].min())


def _as_they_stood(at: NDArray[np.float64], apart_m: float) -> Places:
    wide, high = (float(each) for each in np.ptp(at, axis=0))
    room = WIDTH_PX - 2.0 * EDGE_PX
    fits = min(_over(room, wide), _over(_FIELD_PX, high))
    needs = max(fits, LEAST_APART_PX / apart_m)
    scale = min(needs, _over(_LARGEST_PX, wide), _over(_LARGEST_PX, high))
    sheet = max(WIDTH_PX, wide * scale + 2.0 * EDGE_PX)
    radius = min(MOST_RADIUS_PX, max(apart_m * scale / 2.0 - _RIM_PX, 2.0))
    return Places(
        (sheet - wide * scale) / 2.0 + (at[:, 0] - at[:, 0].min()) * scale,
        EDGE_PX + (at[:, 1].max() - at[:, 1]) * scale,
        radius,
        sheet,
        high * scale + 2.0 * EDGE_PX,
        scale,
    )


def _over(room_px: float, length_m: float) -> float:
    return room_px / length_m if length_m > 0.0 else float("inf")


def _strip(depth_mm: NDArray[np.float64], why: str) -> Places:
    rank = np.empty(len(depth_mm))
    rank[np.argsort(depth_mm, kind="stable")] = np.arange(len(depth_mm))
    pitch = (WIDTH_PX - 2.0 * EDGE_PX) / (_STRIP_COLUMNS - 1)
    row, column = np.divmod(rank, _STRIP_COLUMNS)
    height = 2.0 * EDGE_PX + float(row.max()) * pitch
    radius = min(MOST_RADIUS_PX, pitch / 2.0 - _RIM_PX)
    return Places(EDGE_PX + column * pitch, EDGE_PX + row * pitch, radius, WIDTH_PX, height, None, why)
