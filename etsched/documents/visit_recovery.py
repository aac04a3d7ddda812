"""What a visit file says of recovery: its keys, how they become what the plan asks for, and what cannot be true."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from pydantic import Field

from etsched.documents import typed, words
from etsched.documents import visit_words as seen
from etsched.documents.site_checks import Trouble
from etsched.documents.site_model import Strict
from etsched.model import recovery as model

# Repairs are done and bans end within so many days; later ones are slips in the year (common practice, no source).
_YEAR_D = 366


class FertiliserIn(Strict, title="Fertiliser"):
    """The product at hand, by its label."""

    nitrogen: seen.Nitrogen = Field(description="How much of the product is nitrogen.", examples=["24 %"])
    slow_release: seen.SlowRelease | None = Field(
        None, description="How much of that nitrogen is slow-release; left out where nobody read the label."
    )

    def as_fertiliser(self) -> model.Fertiliser:
        """Give the product as the model holds it."""
        return model.Fertiliser(self.nitrogen, self.slow_release)


class FeedBanIn(Strict, title="Feed ban"):
    """Days on which the place forbids feeding, both included."""

    first: words.DayIn = Field(description="Its first day.", examples=["2026-07-15"])
    last: words.DayIn = Field(description="Its last day.", examples=["2026-08-31"])
    reason: words.Note = Field(description="Who forbids it.", examples=["town ordinance"])

    def as_ban(self) -> model.FeedBan:
        """Give the ban as the model holds it."""
        return model.FeedBan(self.first, self.last, self.reason)


class RecoveryIn(Strict, title="Recovery"):
    """What the plan of recovery needs besides what was seen."""

    target_depth: typed.TargetDepth | None = Field(None, description="How deep the soil is to be wet again.")
    repaired_on: dict[seen.DayKeyIn, words.DayIn] = Field(
        {}, description="By terminal, the day on which its repair is done.", examples=[{"1": "2026-07-17"}]
    )
    sheds_water: list[words.Terminal] = Field(
        [], description="The terminals whose soil sheds water though it is dry.", examples=[[1]]
    )
    feeds_in_heat: seen.YesNoIn = Field(default=False, description="Whether cool-season turf may be fed in heat.")
    fertiliser: FertiliserIn | None = Field(None, description="The product at hand.")
    feed_ban: list[FeedBanIn] = Field([], description="One table for each ban on feeding.")

    def as_ask(self) -> model.RecoveryAsk:
        """Give what is asked for as the model holds it."""
        return model.RecoveryAsk(
            target_depth_mm=self.target_depth,
            ready=dict(self.repaired_on),
            repellent=frozenset(self.sheds_water),
            fertiliser=self.fertiliser.as_fertiliser() if self.fertiliser else None,
            bans=tuple(ban.as_ban() for ban in self.feed_ban),
            feeds_in_heat=self.feeds_in_heat,
        )


def dates_agree(document: Mapping[str, Any], day: date | None) -> Iterator[Trouble]:
    """Find bans that end before they begin, repairs before the visit, and years that are slips; `day` is its day."""
    recovery = document.get("recovery")
    if not isinstance(recovery, dict):
        return
    repairs = recovery.get("repaired_on")
    for terminal, raw in repairs.items() if isinstance(repairs, dict) else ():
        done = read_day(raw)
        if done is not None and day is not None:
            yield from ((("recovery", "repaired_on", terminal), *told) for told in _repair(done, day))
    bans = recovery.get("feed_ban")
    for index, ban in enumerate(bans if isinstance(bans, list) else ()):
        first, last = (read_day(ban.get(key)) if isinstance(ban, dict) else None for key in ("first", "last"))
        if first is not None and last is not None:
            yield from ((("recovery", "feed_ban", index, "last"), *told) for told in _ban(first, last))


def read_day(raw: object) -> date | None:
    """Read a day where it can be read; where it cannot, that is told already."""
    try:
        return words.Day().read(raw)
    except ValueError:  # what pydantic's own error is
        return None


def _repair(done: date, day: date) -> Iterator[tuple[str, str]]:
    if done < day:
        yield f"{done} is before the visit, {day}", "correct the day; what was repaired before needs no line here"
    elif done - day > timedelta(days=_YEAR_D):
        yield f"{done} is more than a year after the visit, {day}", "correct the year"


def _ban(first: date, last: date) -> Iterator[tuple[str, str]]:
    if last < first:
        yield f"{last} is before the first day, {first}", "correct one of the two"
    elif last - first > timedelta(days=_YEAR_D):
        yield f"{last} is more than a year after the first day, {first}", "correct the year, or write a ban a year"
