"""A frozen family of made-up nights, for holding the night's order against a proven best one.

Every number comes from the small generator below, so that the family is the same on every machine and with every
version of numpy: 3 to 48 stations of 1 to 6 cycles, 2 to 20 minutes each, with soaks of up to 90 minutes. Sprays run
short cycles with long soaks, rotors long ones with short soaks, and neighbours are often alike, as on a real clock
(common practice, no source). Flows are whole litres a minute, so that a solver of whole numbers sees the same night.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from etsched.core.night import Chains, Limits

WIDE_MIN = 5000
# The hard nights of one valve are those of 6 to 16 stations: with more somebody is always soaked.
ONE_VALVE_SIZES = (3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 20, 24, 32, 48)
FLOW_SIZES = (3, 4, 5, 6, 8, 10, 12, 14, 16, 24)
SHORT_SIZES = (4, 6, 8, 12, 24, 48)
DELAYED_SIZES = (3, 5, 6, 8, 10, 12, 16, 48)
DELAYED_FLOW_SIZES = (4, 6, 8, 10, 12, 16)
ROUNDS = 6

Row = tuple[int, int, int, int]  # cycles, minutes a cycle, soak, flow


@dataclass(frozen=True, slots=True)
class MadeNight:
    """A night of the family: what is asked for and what it may hold."""

    name: str
    chains: Chains
    limits: Limits
    delay_min: int = 0  # after every valve, before the next takes its place


class Dice:
    """Whole numbers by x ← (a x + 1) mod m, of which the high digits are used.

    a = 6364136223846793005, m = 2⁶⁴: from memory, to be verified; any odd a that is 1 above a multiple of 4 will do.
    """

    def __init__(self, seed: int) -> None:
        self._state = seed
        for _ in range(4):  # seeds beside each other begin alike
            self.between(0, 1)

    def between(self, least: int, most: int) -> int:
        """Give a whole number of least … most."""
        self._state = (self._state * 6364136223846793005 + 1) % 2**64
        return least + (self._state >> 33) % (most - least + 1)


def _spray(dice: Dice) -> Row:
    cycle = dice.between(2, 9)
    return dice.between(2, 6), cycle, min(cycle * dice.between(2, 10), 90), dice.between(15, 45)


def _rotor(dice: Dice) -> Row:
    return dice.between(1, 3), dice.between(8, 20), dice.between(0, 30), dice.between(25, 70)


def _chains(dice: Dice, stations: int) -> Chains:
    """Stations of a night, each like its neighbour one time in four; on every third night sprays alone."""
    sprays_pct = 100 if dice.between(1, 3) == 1 else 60
    rows: list[Row] = []
    for _ in range(stations):
        if rows and dice.between(1, 4) == 1:
            rows.append(rows[-1])
        else:
            rows.append(_spray(dice) if dice.between(1, 100) <= sprays_pct else _rotor(dice))
    count, cycle, soak, flow = np.array(rows, dtype=np.int64).T
    rank = np.array([dice.between(0, stations - 1) for _ in rows], dtype=np.int64)
    return Chains(np.arange(1, stations + 1), count, cycle, soak, flow.astype(np.float64), rank)


def one_valve() -> list[MadeNight]:
    """Nights of one valve at a time, with room for everything."""
    return [
        MadeNight(f"one valve, {size} stations, {turn}", _chains(Dice(1000 * size + turn), size), Limits(WIDE_MIN))
        for turn in range(ROUNDS)
        for size in ONE_VALVE_SIZES
    ]


def flow_limited() -> list[MadeNight]:
    """Nights of 2 to 4 valves at a time, of which the flow often allows fewer."""
    nights = []
    for turn in range(ROUNDS):
        for size in FLOW_SIZES:
            dice = Dice(100_000 + 1000 * size + turn)
            chains, valves = _chains(dice, size), 2 + turn % 3
            limits = Limits(WIDE_MIN, valves, float(dice.between(70, 40 + 30 * valves)))
            nights.append(MadeNight(f"{valves} valves and a flow limit, {size} stations, {turn}", chains, limits))
    return nights


def too_short() -> list[MadeNight]:
    """Nights of one valve whose cycles alone take longer than the window."""
    nights = []
    for turn in range(ROUNDS):
        for size in SHORT_SIZES:
            dice = Dice(200_000 + 1000 * size + turn)
            chains = _chains(dice, size)
            run_min = int((chains.cycles_count * chains.cycle_min).sum())
            limits = Limits(run_min * dice.between(50, 95) // 100)
            nights.append(MadeNight(f"too short, {size} stations, {turn}", chains, limits))
    return nights


def one_valve_delayed() -> list[MadeNight]:
    """Nights of one valve at a time with 1 to 5 minutes between each and the next, for pump and master valve."""
    nights = []
    for turn in range(ROUNDS // 2):
        for size in DELAYED_SIZES:
            dice = Dice(300_000 + 1000 * size + turn)
            chains, delay = _chains(dice, size), dice.between(1, 5)
            name = f"one valve and {delay} min between two, {size} stations, {turn}"
            nights.append(MadeNight(name, chains, Limits(WIDE_MIN), delay))
    return nights


def flow_limited_delayed() -> list[MadeNight]:
    """Nights of 2 to 4 valves at a time with 1 to 5 minutes between them; on every third night any flow may run."""
    nights = []
    for turn in range(ROUNDS // 2):
        for size in DELAYED_FLOW_SIZES:
            dice = Dice(400_000 + 1000 * size + turn)
            chains, delay, valves = _chains(dice, size), dice.between(1, 5), 2 + (turn + size // 2) % 3
            flow = float(dice.between(70, 40 + 30 * valves))
            name = f"{valves} valves and {delay} min between two, {size} stations, {turn}"
            limits = Limits(WIDE_MIN, valves, None if turn % 3 == 2 else flow)
            nights.append(MadeNight(name, chains, limits, delay))
    return nights


def as_text(nights: list[MadeNight]) -> str:
    """Write out every number of the nights, one line a station, for noticing that one has changed."""
    lines = []
    for night in nights:
        chains, limits = night.chains, night.limits
        columns = (chains.cycles_count, chains.cycle_min, chains.soak_min, chains.flow_l_min, chains.rank_count)
        delay = f" {night.delay_min}" if night.delay_min else ""
        lines.append(f"{night.name}: {limits.window_min} {limits.max_valves_count} {limits.max_flow_l_min}{delay}")
        lines.extend(" ".join(str(int(number)) for number in row) for row in zip(*columns, strict=True))
    return "\n".join(lines)
