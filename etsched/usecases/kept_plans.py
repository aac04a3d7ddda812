"""The plan that is kept of a property, as a controller and a reader ask for it."""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from threading import Lock
from typing import TYPE_CHECKING, Any, cast

from etsched.errors import NoPlanYet, NotKept
from etsched.model.service import KeptPlan
from etsched.planning.outlook import WEEK_D
from etsched.reports.encode import utc
from etsched.reports.kept_plan import plan_from
from etsched.reports.kept_week import nights_for_controller, week_in, why_from
from etsched.stores import plans
from etsched.units import UnitSystem
from etsched.usecases.properties import site_in, site_of

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from etsched.model.plan import WeekPlan
    from etsched.usecases.service import Service

Json = dict[str, Any]
# A plan holds until its first night is over, in the morning; the next one is made in the afternoon. Whoever has none so
# long after that has missed one (common practice, no source).
_NEXT_PLAN_WITHIN = timedelta(hours=12)
SCHEMA = "etsched.tonight/1"
_AFTER = (
    "Go on asking. Until a newer plan answers, run of the last week you have the night that opens on the date, and "
    "report it. Once that week is over, run nothing by yourself and tell a person."
)


def is_overdue(valid_until: datetime, now: datetime) -> bool:
    """Say whether the plan after one that held until an instant should have been made by now."""
    return now >= valid_until + _NEXT_PLAN_WITHIN


@dataclass(frozen=True, slots=True)
class _Nights:
    """A week's nights as a controller runs them, and when each closes."""

    units: UnitSystem
    closes: tuple[datetime, ...]
    nights: tuple[Json, ...]


class _Kept:
    """The nights of the documents that were asked for last, by digest: a document is large, a controller asks often."""

    def __init__(self, most: int) -> None:
        self._most, self._lock = most, Lock()
        self._kept: OrderedDict[tuple[str, UnitSystem | None], _Nights] = OrderedDict()

    def of(self, reading: Connection, head: KeptPlan, system: UnitSystem | None) -> _Nights:
        """Give the nights of a plan, read from the database where they are not at hand."""
        name = (head.digest, system)
        found = self._kept.get(name)
        if found is None:
            found = _nights(json.loads(_whole(reading, head).document), system)
            with self._lock:
                self._kept[name] = found
                if len(self._kept) > self._most:
                    self._kept.popitem(last=False)
        return found


_KEPT = _Kept(128)


def tonight_json(service: Service, site: str, system: UnitSystem | None) -> Json:
    """Write what a controller runs in the night that is on or comes next, schema `etsched.tonight/1`.

    Raises NotKept, NoPlanYet before the first plan.
    """
    now = service.clock.now()
    with service.database.reading() as reading:
        name, head = site_in(reading, site).name, _head_of(reading, site)
        week = _KEPT.of(reading, head, system)
    night = next((night for closes, night in zip(week.closes, week.nights, strict=True) if closes > now), None)
    expired = now >= head.valid_until
    return {**_head(head, name, week.nights), "schema": SCHEMA, "units": week.units, "expired": expired, "night": night}


def week_json(service: Service, site: str, system: UnitSystem | None) -> bytes:
    """Write the week's document below the plan's head; in its own units it goes out as it is kept. Raises NotKept."""
    name, plan = _plan(service, site)
    text, week = plan.document.strip(), json.loads(plan.document)
    if system is not None:
        text = json.dumps(week_in(week, system), sort_keys=True, ensure_ascii=False)
    head = json.dumps(_head(plan, name, week["nights"]), sort_keys=True, ensure_ascii=False)
    return f'{head[:-1]}, "week": {text}}}'.encode()


def why_json(service: Service, site: str, terminal: int, opens_on: date | None, system: UnitSystem | None) -> Json:
    """Write one station's reasons below the plan's head. Raises NotKept, also for a station that is none."""
    name, plan = _plan(service, site)
    week = json.loads(plan.document)
    why = why_from(week, terminal, None if opens_on is None else opens_on.isoformat(), system or week["units"])
    if why is None:
        raise NotKept(f"{site} has no station {terminal}")
    return {**_head(plan, name, week["nights"]), "why": why}


def week_plan(service: Service, site: str) -> tuple[KeptPlan, WeekPlan]:
    """Give the plan that holds now, read back for the tables. Raises NotKept, PlanRefused."""
    with service.database.reading() as reading:
        kept, plan = site_in(reading, site), _whole(reading, _head_of(reading, site))
    return plan, plan_from(json.loads(plan.document), site_of(kept))


def week_before(service: Service, site: str, plan: KeptPlan) -> WeekPlan | None:
    """Give the plan that was in force a week before another; None where there was none. Raises NotKept, PlanRefused."""
    with service.database.reading() as reading:
        kept = site_in(reading, site)
        before = plans.plan_in_force(reading, site, plan.first_day - timedelta(days=WEEK_D))
    return None if before is None else plan_from(json.loads(before.document), site_of(kept))


def _plan(service: Service, site: str) -> tuple[str, KeptPlan]:
    with service.database.reading() as reading:
        return site_in(reading, site).name, _whole(reading, _head_of(reading, site))


def _head_of(reading: Connection, site: str) -> KeptPlan:
    head = plans.latest_head(reading, site)
    if head is None:
        raise NoPlanYet(f"no plan of {site} has been made yet; ask again later")
    return head


def _whole(reading: Connection, head: KeptPlan) -> KeptPlan:
    whole = plans.find_plan(reading, head.site, head.revision)
    if whole is None:  # within one transaction it cannot have gone
        raise NotKept(f"plan {head.revision} of {head.site} is not kept any more")
    return whole


def _head(kept: KeptPlan, name: str, nights: Sequence[Json]) -> Json:
    valid_until = utc(kept.valid_until)
    return {
        "site": kept.site,
        "name": name,
        "plan_revision": kept.revision,
        "made": utc(kept.at),
        "valid_until": valid_until,
        "after_valid_until": {
            "do": "keep_last",
            "until": nights[-1]["closes_utc"] if nights else valid_until,
            "words": _AFTER,
        },
    }


def _nights(week: Json, system: UnitSystem | None) -> _Nights:
    units = cast("UnitSystem", system or week["units"])
    nights = tuple(nights_for_controller(week, units))
    return _Nights(units, tuple(datetime.fromisoformat(night["closes_utc"]) for night in nights), nights)
