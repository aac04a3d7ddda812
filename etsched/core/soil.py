"""Water a soil holds for plants."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray


def available_water_from_limits(
    field_capacity_fraction: NDArray[np.float64], wilting_point_fraction: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Available water of a soil from its two limits: θFC − θWP of Eq. 82.

    Parameters
    ----------
    field_capacity_fraction, wilting_point_fraction : ndarray (S,)
        Volumetric water content, m³ per m³.

    Returns
    -------
    available_water_fraction : ndarray (S,)

    Source: FAO-56 (Allen et al. 1998) ch. 8, Eq. 82.
    """
    return np.asarray(field_capacity_fraction - wilting_point_fraction)


def layers_below_roots(
    root_depth_mm: NDArray[np.float64], target_depth_mm: float, layers_count: int
) -> NDArray[np.float64]:
    """Cut each station's soil into the root zone and equal layers under it, down to the target depth.

    A root zone at or below the target leaves layers of no thickness, which hold nothing.

    Parameters
    ----------
    root_depth_mm : ndarray (S,)
    target_depth_mm : float
    layers_count : int
        All layers together, the root zone being the first; at least 2.

    Returns
    -------
    thickness_mm : ndarray (S, L)

    Source: this project's bookkeeping, no published figure.
    """
    roots = np.asarray(root_depth_mm, dtype=np.float64)
    below = np.maximum(target_depth_mm - roots, 0.0) / (layers_count - 1)
    return np.column_stack([roots, np.repeat(below[:, None], layers_count - 1, axis=1)])
