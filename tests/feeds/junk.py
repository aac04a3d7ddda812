"""Answers with something else in the place of any one value: a feed's parser may refuse them, and nothing else."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from typing import Any

from etsched.errors import FeedFailed
from etsched.http_client import RawBody

from .answers import answer

JUNK: list[Any] = [None, True, "", "12.5", "2026-07-13", -1, 10**400, 1e308, [], [[]], [1], {}, {"a": 1}]


def spoiled(told: Any) -> Iterator[Any]:
    """Give an answer again and again, each time with junk in the place of another value, or without it."""
    for path in _paths(told):
        for junk in JUNK:
            changed = copy.deepcopy(told)
            _at(changed, path[:-1])[path[-1]] = junk
            yield changed
        changed = copy.deepcopy(told)
        del _at(changed, path[:-1])[path[-1]]
        yield changed


def outcomes(told: Any, parse: Callable[[RawBody], object]) -> dict[str, int]:
    """Parse every spoiled answer; count what was accepted and what refused. Any other error goes through."""
    counts = {"accepted": 0, "refused": 0}
    for changed in spoiled(told):
        try:
            parse(answer(json.dumps(changed)))
        except FeedFailed:
            counts["refused"] += 1
        else:
            counts["accepted"] += 1
    return counts


def _at(told: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        told = told[key]
    return told


def _paths(told: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Give the path of every value; of a long list the first, one inside and the last."""
    keys: list[Any] = []
    if isinstance(told, dict):
        keys = list(told)
    elif isinstance(told, list) and told:
        keys = sorted({0, len(told) // 2, len(told) - 1})
    for key in keys:
        yield (*path, key)
        yield from _paths(told[key], (*path, key))
