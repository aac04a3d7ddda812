"""How turf comes back: water night by night, water by hand, feed, seed or sod, and the dates to keep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from etsched.planning.outlook import watering_night
from etsched.tables.clock import night_text
from etsched.tables.figure import NOT_KNOWN, Figure, count_of, figure, plain
from etsched.tables.visit_words import Day, stations_text, texts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from etsched.model.recovery import CoverAdvice, Feed, HandWatering, Recovery, Rewet, RewetNight
    from etsched.model.site import Site
    from etsched.planning.visit_outcome import VisitOutcome
    from etsched.units import UnitSystem

# Rewetting plans nights of its own, so people are told which table to go by.
_KEY_IN = (
    "To key in for a station tonight: until it is wet, its rewetting nights, in place of its minutes on the door "
    "paper; from then on, what the door paper says."
)


@dataclass(frozen=True, slots=True)
class RewetNightRow:
    """What one station gets in one night, and what it still lacks in the morning, down to the target depth."""

    serves: Day
    night: str  # "Mon Jul 13 into Tue Jul 14"
    cycles: str  # minutes: "3 × 8"; a dash where the window held none
    cycle_count: int
    cycle_minutes: int
    soak_minutes: int  # 0 where there is one cycle only
    dropped: int  # cycles that the window did not hold
    missing: Figure
    applied: Figure
    left: Figure

    @property
    def unfit(self) -> str:
        """The cycles that wait for another night."""
        return count_of(self.dropped, "cycle", "cycles") if self.dropped else ""


@dataclass(frozen=True, slots=True)
class RewetRow:
    """How one station gets wet down to the target depth."""

    terminal: int
    area: str
    path: str
    target: Figure
    missing: Figure  # when it begins
    begins: Day
    nights: tuple[RewetNightRow, ...]
    reached: Day
    moist: Day  # first day on which it is moist deep enough to be fed
    feed: Day
    steps: tuple[str, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class HandRow:
    """What one area gets by hand, once and then each day."""

    terminal: int
    area: str
    first: Figure
    daily: Figure
    first_volume: Figure
    daily_volume: Figure
    first_minutes: str  # "about 39 min, in 3 turns of 13"; "" where nobody can say
    daily_minutes: str
    rate_note: str  # at which rate the minutes are reckoned
    until: Day
    sentence: str


@dataclass(frozen=True, slots=True)
class FeedRow:
    """Nitrogen for one area, with the product's weight where product and area are known."""

    terminal: int
    area: str
    day: Day
    nitrogen: Figure
    ceiling: Figure
    product: Figure  # on a unit of area
    product_weight: Figure  # for the whole area
    water_in: Figure
    sentence: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FeedingRow:
    """Stations of whose feeding one sentence holds: why they get no nitrogen, or how it is given."""

    terminals: tuple[int, ...]
    stations: str
    reason: str


@dataclass(frozen=True, slots=True)
class CoverRow:
    """What an area's living cover asks for."""

    area: str
    living_cover: Figure
    action: str
    sow_from: Day
    sow_to: Day
    sentence: str
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class VisitRecovery:
    """The recovery plan in the order in which it is done."""

    first_day: Day
    target: Figure
    repairs: tuple[str, ...]
    rewets: tuple[RewetRow, ...]
    by_hand: tuple[HandRow, ...]
    feeds: tuple[FeedRow, ...]
    fed: tuple[FeedingRow, ...]
    unfed: tuple[FeedingRow, ...]
    feed_sources: tuple[str, ...]  # who says so of the nitrogen, each once
    covers: tuple[CoverRow, ...]
    look_again: Day
    back_from: Day
    back_to: Day
    cautions: tuple[str, ...]

    @property
    def key_in(self) -> str:
        """Which nights to key in; "" where rewetting has none of its own."""
        return _KEY_IN if any(row.nights for row in self.rewets) else ""

    @property
    def green(self) -> str:
        """What is green again and when, true of every area; "" where no day is in sight."""
        sown = "; what is seeded takes longer" if any(row.sow_from.value for row in self.covers) else ""
        return f"What only lacked water should be green again {self.back}{sown}." if self.back else ""

    @property
    def back(self) -> str:
        """Between which days the property is green again."""
        if self.back_from.value is None:
            return ""
        return f"between {self.back_from.text} and {self.back_to.text}"


def visit_recovery(outcome: VisitOutcome, system: UnitSystem) -> VisitRecovery | None:
    """Write the recovery plan; None where the visit found nothing that a recovery could rest on."""
    if not _looked(outcome):
        return None
    plan = outcome.recovery
    fed = [feed for feed in plan.feeds if feed.nitrogen_g_m2 > 0.0]
    return VisitRecovery(
        first_day=Day(plan.first_day),
        target=figure(plan.target_depth_mm, "mm", system),
        repairs=texts(plan.repairs),
        rewets=tuple(_rewet(outcome.found, plan, each, system) for each in plan.rewets),
        by_hand=tuple(_hand(each, system) for each in plan.by_hand),
        feeds=tuple(_feed(each, system) for each in fed),
        fed=_feedings(fed),
        unfed=_feedings([feed for feed in plan.feeds if feed.nitrogen_g_m2 <= 0.0]),
        feed_sources=texts(dict.fromkeys(source for feed in plan.feeds for source in feed.sources)),
        covers=tuple(_cover(each, system) for each in plan.covers),
        look_again=Day(plan.look_again),
        back_from=Day(plan.back_from),
        back_to=Day(plan.back_to),
        cautions=texts(plan.cautions),
    )


def _looked(outcome: VisitOutcome) -> bool:
    judged = (outcome.cores, outcome.cups, outcome.diagnoses, outcome.findings.findings, outcome.repairs)
    return (outcome.clock is not None and bool(outcome.clock.stations)) or any(judged)


def _rewet(site: Site, plan: Recovery, found: Rewet, system: UnitSystem) -> RewetRow:
    fed = next((feed.day for feed in plan.feeds if feed.terminal == found.terminal), None)
    return RewetRow(
        terminal=found.terminal,
        area=plain(found.area),
        path=plain(found.path),
        target=figure(found.target_depth_mm, "mm", system),
        missing=figure(sum(found.missing_mm), "mm", system),
        begins=Day(found.begins),
        nights=tuple(_night(site, night, system) for night in found.nights),
        reached=Day(found.reached),
        moist=Day(found.moist),
        feed=Day(fed),
        steps=texts(found.steps),
        sentence=plain(found.sentence),
    )


def _night(site: Site, found: RewetNight, system: UnitSystem) -> RewetNightRow:
    window, serves = watering_night(site, found.serves), Day(found.serves)
    runs = found.cycles_count > 0
    return RewetNightRow(
        serves=serves,
        night=serves.text if window is None else night_text(window),
        cycles=f"{found.cycles_count} × {found.cycle_min}" if runs else NOT_KNOWN,
        cycle_count=found.cycles_count,
        cycle_minutes=found.cycle_min,
        soak_minutes=found.soak_min if found.cycles_count > 1 else 0,
        dropped=found.dropped_count,
        missing=figure(found.net_mm, "mm", system),
        applied=figure(found.applied_mm, "mm", system),
        left=figure(sum(found.morning_mm), "mm", system),
    )


def _hand(found: HandWatering, system: UnitSystem) -> HandRow:
    return HandRow(
        terminal=found.terminal,
        area=plain(found.area),
        first=figure(found.first_mm, "mm", system),
        daily=figure(found.daily_mm, "mm", system),
        first_volume=figure(found.first_l, "l", system),
        daily_volume=figure(found.daily_l, "l", system),
        first_minutes=_minutes(found.first_turns),
        daily_minutes=_minutes(found.daily_turns),
        rate_note=_rate_note(found, system),
        until=Day(found.until),
        sentence=plain(found.sentence),
    )


def _minutes(turns: tuple[int, int] | None) -> str:
    if turns is None:
        return ""
    count, each = turns
    return f"about {count * each} min" + (f", in {count} turns of {each}" if count > 1 else "")


def _rate_note(found: HandWatering, system: UnitSystem) -> str:
    if found.first_turns is None and found.daily_turns is None:
        return ""
    rate = figure(found.rate_mm_h, "mm_h", system).text
    assumed = ", which is assumed: nobody measured it" if found.rate_assumed else ""
    return f"The minutes are its own heads', the valve opened by hand, at {rate}{assumed}."


def _feed(found: Feed, system: UnitSystem) -> FeedRow:
    return FeedRow(
        terminal=found.terminal,
        area=plain(found.area),
        day=Day(found.day),
        nitrogen=figure(found.nitrogen_g_m2, "g_m2", system),
        ceiling=figure(found.ceiling_g_m2, "g_m2", system),
        product=figure(found.product_g_m2, "g_m2", system),
        product_weight=figure(found.product_kg, "kg", system),
        water_in=figure(found.water_in_mm, "mm", system),
        sentence=plain(found.sentence),
        sources=texts(dict.fromkeys(found.sources)),
    )


def _feedings(feeds: Sequence[Feed]) -> tuple[FeedingRow, ...]:
    """Say each sentence once, with all stations that it holds for."""
    reasons: dict[str, list[int]] = {}
    for feed in feeds:
        reasons.setdefault(plain(feed.sentence.removeprefix(f"{feed.area}: ")), []).append(feed.terminal)
    return tuple(
        FeedingRow(tuple(sorted(terminals)), stations_text(terminals), reason) for reason, terminals in reasons.items()
    )


def _cover(found: CoverAdvice, system: UnitSystem) -> CoverRow:
    return CoverRow(
        area=plain(found.area),
        living_cover=figure(found.living_cover_pct, "pct", system),
        action=plain(found.action),
        sow_from=Day(found.sow_from),
        sow_to=Day(found.sow_to),
        sentence=plain(found.sentence),
        sources=texts(dict.fromkeys(found.sources)),
    )
