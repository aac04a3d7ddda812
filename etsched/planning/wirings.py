"""How many ways of wiring terminals to valves fit what was seen, counted without writing them all down.

A wiring gives every terminal one valve of its own or none, and no valve to two terminals. Valves of one area are
told apart on the drawing, but not by looking at what gets wet. All wirings that fit count alike.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from math import comb, perm
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence


@dataclass(frozen=True, slots=True)
class Choice:
    """What one terminal may water: one of these areas (None: any), or nothing where that is still possible."""

    areas: frozenset[int] | None = None
    may_be_nothing: bool = True


def count_wirings(choices: Sequence[Choice], valves: tuple[int, ...]) -> int:
    """Count the wirings of terminals with these choices to areas that have so many valves each.

    Terminals that may water any area are all alike, so only the bound ones are followed area by area; an area that
    no later terminal is bound to joins the rest.
    """
    bound = [choice for choice in choices if choice.areas is not None]
    # A reversed walk leaves the first word to the earliest terminal, so every area keeps the last one bound to it.
    last = {area: at for at, choice in enumerate(bound) for area in choice.areas or ()}
    rest = sum(count for area, count in enumerate(valves) if area not in last)
    states = Counter({(rest, *(valves[area] for area in last)): 1})
    column = {area: place for place, area in enumerate(last, 1)}
    for at, choice in enumerate(bound):
        states = _wire(states, [column[area] for area in choice.areas or ()], may_be_nothing=choice.may_be_nothing)
        states = _join_rest(states, [column[area] for area in column if last[area] == at])
    open_ones = [choice.may_be_nothing for choice in choices if choice.areas is None]
    must, may = open_ones.count(False), open_ones.count(True)
    return sum(ways * _open_wirings(state[0], must, may) for state, ways in states.items())


_States = Counter[tuple[int, ...]]


def _wire(states: _States, columns: Iterable[int], *, may_be_nothing: bool) -> _States:
    """Let one more terminal take a valve: as many ways as its area has valves left."""
    after: _States = Counter()
    for state, ways in states.items():
        if may_be_nothing:
            after[state] += ways
        for at in columns:
            if state[at]:
                after[(*state[:at], state[at] - 1, *state[at + 1 :])] += ways * state[at]
    return after


def _join_rest(states: _States, columns: Sequence[int]) -> _States:
    after: _States = Counter()
    for state, ways in states.items():
        joined = list(state)
        for at in columns:
            joined[0] += joined[at]
            joined[at] = 0
        after[tuple(joined)] += ways
    return after


def _open_wirings(valves_count: int, must_count: int, may_count: int) -> int:
    """Count how `must` terminals each take one of the valves, and `may` further ones one or none."""
    left = valves_count - must_count
    if left < 0:
        return 0
    further = sum(comb(may_count, taken) * perm(left, taken) for taken in range(min(may_count, left) + 1))
    return perm(valves_count, must_count) * further


def split_by_trial(choices: Sequence[Choice], valves: tuple[int, ...], at: int) -> dict[int | None, int]:
    """Count the wirings behind each thing that running one terminal may show: an area that gets wet, or None."""
    tried, others = choices[at], [choice for place, choice in enumerate(choices) if place != at]
    shows: dict[int | None, int] = {}
    for area in range(len(valves)) if tried.areas is None else sorted(tried.areas):
        if valves[area]:
            left = (*valves[:area], valves[area] - 1, *valves[area + 1 :])
            shows[area] = valves[area] * count_wirings(others, left)
    if tried.may_be_nothing:
        shows[None] = count_wirings(others, valves)
    return {shown: count for shown, count in shows.items() if count}


def expected_left(split: dict[int | None, int]) -> float:
    """Give how many wirings are left on average when every one of them is as likely: Σ n² ÷ Σ n."""
    return sum(count * count for count in split.values()) / sum(split.values())
