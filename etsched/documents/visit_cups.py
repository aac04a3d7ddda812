"""Catch cups of a visit file: from numbers in one unit and rows on a sheet to cups with their places."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.documents.visit_words import CUP_UNITS
from etsched.model.visit import Cup
from etsched.units import to_canonical

if TYPE_CHECKING:
    from collections.abc import Iterator

    from etsched.documents.visit_model import CupsIn

Place = tuple[float | None, float | None]


def cups(test: CupsIn) -> tuple[Cup, ...]:
    """Give the cups of a test that were not tipped, in the order they were read."""
    suffix = CUP_UNITS[test.unit]
    scale = to_canonical(1.0, test.unit, suffix)
    read = [
        (value * scale, place) for value, place in zip(readings(test), _places(test), strict=True) if value is not None
    ]
    if suffix == "ml":
        return tuple(Cup(volume_ml=value, x_m=x, y_m=y) for value, (x, y) in read)
    return tuple(Cup(depth_mm=value, x_m=x, y_m=y) for value, (x, y) in read)


def readings(test: CupsIn) -> list[float | None]:
    """Give every reading of a test, row after row, None where a cup was tipped."""
    return [value for row in test.rows or [] for value in row] or [*(test.caught or [])]


def _places(test: CupsIn) -> Iterator[Place]:
    if test.rows:
        for north, row in enumerate(reversed(range(len(test.rows)))):
            yield from (_in_row(test, column, row) for column in range(len(test.rows[north])))
    elif test.x and test.y and test.xy_unit:
        scale = to_canonical(1.0, test.xy_unit, "m")
        yield from ((x * scale, y * scale) for x, y in zip(test.x, test.y, strict=True))
    else:
        yield from ((None, None) for _ in test.caught or [])


def _in_row(test: CupsIn, column: int, row: int) -> Place:
    """Give the place of a cup whose row is counted from the south."""
    if test.spacing is None:
        return None, None
    return column * test.spacing, row * (test.row_spacing or test.spacing)
