"""Why does it fail? Signs weighed by the table of causes: what supports a cause, what speaks against it, what to test.

A verdict takes no numbers: a cause is *supported* by one strong sign or two others of its own when nothing speaks
against it, *ruled out* by a sign that excludes it when nothing strong speaks for it, and else *open*. Signs that fit
several causes alike make them suspect and support none.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from etsched.planning.signs_seen import signs_seen
from etsched.reference.causes import Acts, CauseEntry, Evidence, Trial, cause_entries, trials

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from etsched.model.clock_delivers import ClockDelivers
    from etsched.model.site import Site
    from etsched.model.visit import Visit

State = Literal["supported", "open", "ruled out"]

_ORDER: tuple[State, ...] = ("supported", "open", "ruled out")
# Only the ground itself shows that its water is right, where no cause of water is suspected besides.
_WATER_IS_RIGHT = frozenset({"brown_as_moist_as_green", "brown_core_moist"})


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause with its verdict; `next_test` would tell more about it, "" where nothing is left to try."""

    key: str
    name: str
    looks: str  # how it leaves the turf: "dry", "wet" or ""
    acts: Acts  # the kind of work that mends it
    state: State
    evidence_for: tuple[Evidence, ...]
    evidence_against: tuple[Evidence, ...]
    next_test: str
    advice: str

    @property
    def suspected(self) -> bool:
        """Whether it is supported, or open with something that speaks for it."""
        return self.state == "supported" or (self.state == "open" and bool(self.evidence_for))


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """One area: what was seen, every cause (supported first), the test that tells most, and what to do."""

    area: str
    signs: tuple[str, ...]
    causes: tuple[Cause, ...]
    next_test: str
    advice: tuple[str, ...]
    held: str  # why no feeding and no chemistry is advised; "" where the water is known to be right


def diagnose(
    site: Site,
    visit: Visit,
    area: str,
    clock: ClockDelivers | None = None,
    uniformity: Mapping[int, float] | None = None,
) -> Diagnosis:
    """Weigh what a visit says of one area; `uniformity` holds the measured DU(lq) by terminal, as a fraction."""
    signs = signs_seen(site, visit, area, clock, uniformity)
    found = causes(signs)
    held = why_held(signs, found)
    asked = next_test(signs)
    advice = (*_advice(found, held), *(() if asked else _nothing_left(found)), *([held] if held else []))
    return Diagnosis(area, tuple(sorted(signs)), found, asked, advice, held)


def causes(signs: Collection[str]) -> tuple[Cause, ...]:
    """Judge every cause by these signs: supported ones first, those of water first among equals.

    A sign that the table does not know of a cause changes nothing about it.
    """
    judged = [_judge(entry, frozenset(signs)) for entry in cause_entries()]
    return tuple(sorted(judged, key=lambda cause: _ORDER.index(cause.state)))


def next_test(signs: Collection[str]) -> str:
    """Choose the one test that tells most, by what its least telling outcome says; "" where none is left.

    Where a cause of dry or wet ground is likely, the cheapest test of the likely ones comes first, and tests that tell
    only of causes which do not show in the ground are not asked for. Bearing on more of the causes under suspicion
    comes next, then on more of the open ones, then changing more verdicts, then being cheaper. Until the water is
    known to be right, only tests of the water are compared.
    """
    seen = frozenset(signs)
    found = causes(seen)
    likely = _likely_water(found)
    if likely:
        by_key = {cause.key: cause for cause in likely}
        confirms = (test for test in _left(seen) if any(_tells(test, seen, by_key)))
        open_yet = {cause.key: cause for cause in found if cause.looks and cause.state == "open"}
        first = next(confirms, None) or _most_telling(seen, open_yet)
        return "" if first is None else first.words
    water_first = bool(why_held(seen, found))
    asked = {cause.key: cause for cause in found if _to_ask(cause, water_first=water_first)}
    best = _most_telling(seen, asked)
    if best is not None:
        return best.words
    return next((cause.next_test for cause in found if cause.state == "open" and cause.next_test), "")


def _likely_water(found: Sequence[Cause]) -> list[Cause]:
    """Give the likely causes that show in the ground as too little water or too much."""
    return [cause for cause in found if cause.looks and cause.state == "supported"]


def _most_telling(signs: frozenset[str], asked: Mapping[str, Cause]) -> Trial | None:
    telling = [(_tells(test, signs, asked), test) for test in _left(signs)]
    best = max(telling, key=lambda pair: pair[0], default=None)
    return best[1] if best is not None and any(best[0]) else None


def _to_ask(cause: Cause, *, water_first: bool) -> bool:
    """Say whether a test may still teach about a cause: feeding and chemistry want more than one look."""
    if cause.acts == "water":
        return cause.state == "open"
    return not water_first and (cause.state == "open" or (cause.state == "supported" and cause.acts != "care"))


def _tells(test: Trial, signs: frozenset[str], asked: Mapping[str, Cause]) -> tuple[int, int, int]:
    """Say on how many suspects and causes every outcome bears, and how many verdicts it would change."""
    entries = [entry for entry in cause_entries() if entry.key in asked]
    bears = [[entry for entry in entries if entry.evidence.keys() & outcome] for outcome in test.outcomes]
    suspects = [sum(asked[entry.key].suspected for entry in touched) for touched in bears]
    changes = [
        sum(_state(entry, signs | outcome) != asked[entry.key].state for entry in touched)
        for touched, outcome in zip(bears, test.outcomes, strict=True)
    ]
    return min(suspects), min(map(len, bears)), min(changes)


def why_held(signs: Collection[str], found: Sequence[Cause]) -> str:
    """Say why no feeding and no chemistry is advised: the water is wrong, may be, or was not looked at."""
    if any(cause.acts == "water" and cause.suspected for cause in found):
        return "Don't feed or spray until the watering is right."
    if not _WATER_IS_RIGHT & set(signs):
        return "Don't feed or spray before somebody has looked at the watering."
    return ""


def _advice(found: Sequence[Cause], held: str) -> tuple[str, ...]:
    kinds = {"water", "care"} if held else {"water", "care", "feeding", "chemistry"}
    return tuple(cause.advice for cause in found if cause.state == "supported" and cause.acts in kinds)


def _nothing_left(found: Sequence[Cause]) -> Iterator[str]:
    """Say that what is likely wants no further test, only the work."""
    looks = {cause.looks for cause in _likely_water(found)}
    if looks:
        work = "water it" if looks == {"dry"} else "put its watering right"
        yield f"Nothing more to test: {work} and look again."


def _judge(entry: CauseEntry, signs: frozenset[str]) -> Cause:
    evidence = [line for sign, line in entry.evidence.items() if sign in signs]
    speaks_for = tuple(line for line in evidence if line.weight in {"strong", "some", "fits"})
    against = tuple(line for line in evidence if line.weight in {"against", "excludes"})
    tests = (test for test in _left(signs) if any(entry.evidence.keys() & outcome for outcome in test.outcomes))
    state = _state(entry, signs)
    return Cause(
        entry.key,
        entry.name,
        entry.looks,
        entry.acts,
        state,
        speaks_for,
        against,
        "" if state == "ruled out" else next((test.words for test in tests), ""),
        entry.advice,
    )


def _state(entry: CauseEntry, signs: frozenset[str]) -> State:
    weights = [line.weight for sign, line in entry.evidence.items() if sign in signs]
    strong, some = weights.count("strong"), weights.count("some")
    if "excludes" in weights and not strong:
        return "ruled out"
    if "against" in weights or "excludes" in weights:
        return "open"
    return "supported" if strong or some > 1 else "open"


def _left(signs: frozenset[str]) -> list[Trial]:
    """Give the tests that the record does not hold yet."""
    return [test for test in trials() if test.left(signs)]
