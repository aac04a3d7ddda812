"""A season replayed from files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.planning import season

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from etsched.model.plan import WeekPlan
    from etsched.usecases.inputs import Inputs


def season_from_inputs(inputs: Inputs, first: date, last: date) -> Iterator[WeekPlan]:
    """Plan every whole week between two days in turn. Raises PlanRefused."""
    return season.replay_season(inputs.site, inputs.weather, first, last)
