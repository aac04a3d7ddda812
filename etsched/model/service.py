"""What the service keeps of a property: revisions, weather, water, plans, reports, jobs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from etsched.model.plan import WaterState
from etsched.model.visit import Program


@dataclass(frozen=True, slots=True)
class KeptSite:
    """A property as the service knows it; `document` is the site file of its revision as it was given."""

    site: str  # the short name that stands in addresses
    name: str
    zone: str
    revision: int
    document: str
    put_away: datetime | None = None


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """A week's document; each new one has the next revision."""

    site: str
    revision: int
    first_day: date
    at: datetime
    valid_until: datetime
    document: str  # etsched.week/1
    digest: str


@dataclass(frozen=True, slots=True)
class PlanHead:
    """What says which plan holds and until when; the rest of it is large."""

    revision: int
    at: datetime
    valid_until: datetime


class Supposing(StrEnum):
    """Which runs a balance credits: those that were reported, or those that were planned."""

    REPORTED = "reported"
    PLANNED = "planned"


@dataclass(frozen=True, slots=True)
class KeptBalance:
    """The water of a morning under one supposition of what ran before it."""

    site: str
    supposing: Supposing
    water: WaterState
    at: datetime


class How(StrEnum):
    """How a valve came to run."""

    PROGRAM = "program"
    HAND = "hand"
    CUT_SHORT = "cut short"


@dataclass(frozen=True, slots=True)
class AppliedRun:
    """Minutes of one station that a controller or a person reports; `opens_on` is the date the night begins on."""

    report: str  # the reporter's own id, so that the same report twice counts once
    terminal: int
    opens_on: date
    minutes_min: float
    how: How
    began: datetime | None = None


@dataclass(frozen=True, slots=True)
class KeyedIn:
    """A person said that a plan is in the clock since a night: as `programs`, without any as its table by station."""

    since: date
    plan_revision: int
    at: datetime
    actor: str
    programs: tuple[Program, ...] = ()


@dataclass(frozen=True, slots=True)
class ControllerState:
    """How the service knows what ran: by a controller's reports, by a person's word, or not at all."""

    kind: str  # "reporting", "silent", "keyed in" or "nobody said"
    since: date | None  # the first night of silence, or the night since which the table is in the clock
    words: str


@dataclass(frozen=True, slots=True)
class NightSeen:
    """What a station was planned to do in a night, beside what it was reported to have done."""

    terminal: int
    planned_min: int
    ran_min: int
    what: str  # "as planned", "skipped", "cut short", "by hand", "longer than planned" or "not told"


@dataclass(frozen=True, slots=True)
class KeptVisit:
    """The record of a visit as it was given, and what it establishes."""

    visit: str
    site: str
    day: date
    document: str
    findings: str  # JSON
    at: datetime
    actor: str


class JobState(StrEnum):
    """What became of a job's period."""

    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    SKIPPED = "skipped"


@dataclass(frozen=True, slots=True)
class Period:
    """What a job is to be done for: a site, a job by its name, a local date."""

    site: str
    job: str
    day: date


@dataclass(frozen=True, slots=True)
class Claim:
    """The right to do one job's period: valid until the lease ends, and only while nobody claimed it after."""

    period: Period
    fence: int
    worker: str
    leased_until: datetime
    tries: int


@dataclass(frozen=True, slots=True)
class JobRun:
    """One job's period as it stands in the table of job runs."""

    period: Period
    state: JobState
    tries: int
    began: datetime
    ended: datetime | None
    note: str


@dataclass(frozen=True, slots=True)
class TrailEntry:
    """Who changed what, and when."""

    entry: int
    at: datetime
    actor: str
    did: str
    site: str | None
    detail: str
