"""Which terminal waters what: what was seen, what contradicts it, and the chart that follows."""

from __future__ import annotations

from dataclasses import dataclass

# seen: came on from the controller and its area got wet · by hand: its valve opens by hand, and from the controller
# it does not, or nobody tried · not on: it does not come on, and nobody opened its valve · place not seen: it came on,
# and nobody saw where · nothing: it was run and nothing got wet · not tried.
STATES = ("seen", "by hand", "not on", "place not seen", "nothing", "not tried")


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One line of the chart: what a terminal waters, and how that is known."""

    terminal: int
    plan_number: str  # "" where no number of the drawing is known to belong to it
    area: str
    state: str  # one of STATES
    filed_as: str  # the area that the site file gives this terminal; "" where the file lacks it
    note: str = ""
    looked: bool = False  # somebody saw what got wet, from the controller or by hand

    @property
    def certain(self) -> bool:
        """Whether somebody saw the terminal do what the row says."""
        return self.state in {"seen", "nothing"}


@dataclass(frozen=True, slots=True)
class Contradiction:
    """One thing that does not fit together, in words."""

    kind: str
    terminals: tuple[int, ...]
    areas: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class NextTry:
    """The terminal to run next, because on average it leaves the fewest wirings."""

    terminal: int
    expected_left_count: float
    sentence: str


@dataclass(frozen=True, slots=True)
class ValveMap:
    """The chart, and how many wirings still fit everything that was seen."""

    chart: tuple[ChartRow, ...]  # in order of terminal
    contradictions: tuple[Contradiction, ...]
    wirings_count: int
    next_try: NextTry | None  # None where nothing is left to settle by running a terminal
    cautions: tuple[str, ...]
