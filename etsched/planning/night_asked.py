"""What a site asks of a night's order: its chains and what a night may hold, the delay between valves in both."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from etsched.core.night import Chains, Limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from etsched.days import Night
    from etsched.model.site import WateringRules
    from etsched.planning.outlook import Outlook

    Counts = NDArray[np.int64]


def limits_of(outlook: Outlook, window: Night) -> Limits:
    """What a night may hold; after its last valve no delay is waited out, so the order may run on by one."""
    rules = outlook.site.rules
    return Limits(window.length_min + rules.valve_delay_min, rules.max_valves_count, rules.max_flow_l_min)


def chains_of(outlook: Outlook, count: Counts, cycle_min: Counts, soak_min: Counts, rank: Counts) -> Chains:
    """The chains of a night, each cycle with the delay after it, which counts towards its soak.

    A station whose flow nobody knows takes the whole supply, so that it runs alone.
    """
    delay = outlook.site.rules.valve_delay_min
    alone = outlook.site.rules.max_flow_l_min or 0.0
    flow = outlook.ground.flow_l_min
    return Chains(
        outlook.ground.terminal,
        count,
        cycle_min + delay,
        np.maximum(soak_min - delay, 0),
        np.where(np.isnan(flow), alone, flow),
        rank,
    )


def without_last_delay(rules: WateringRules, end_min: int) -> int:
    """Minute at which the last valve closes, of an order that ends with a delay."""
    return max(end_min - rules.valve_delay_min, 0)
