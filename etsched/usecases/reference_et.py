"""The reference ET of a weather file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from etsched.planning.et_days import EtDays, et_days

if TYPE_CHECKING:
    from etsched.usecases.inputs import Inputs


def et_from_inputs(inputs: Inputs) -> EtDays:
    """Compute the reference ET of every day of the weather."""
    return et_days(inputs.weather, inputs.site)
