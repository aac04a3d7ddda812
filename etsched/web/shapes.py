"""What requests hold and what answers hold, as the OpenAPI document tells it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any, Literal

from fastapi import Path, Query
from fastapi.routing import APIRoute
from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field

from etsched.model.service import How
from etsched.units import UnitSystem
from etsched.web.paging import Most
from etsched.web.problems import MEDIA_TYPE, ProblemOut

SITE_PATTERN = r"^[a-z0-9]([a-z0-9-]{0,62}[a-z0-9])?$"
SiteKey = Annotated[str, Path(pattern=SITE_PATTERN, description="The property's short name.")]
Id = Annotated[str, Path(pattern=r"^[0-9a-f-]{8,36}$")]
Terminal = Annotated[int, Path(ge=1, le=9999, description="The terminal that the station's valve is wired to.")]
_UNITS_WORDS = "Units of the readers' figures; default: the site's own."
Units = Annotated[UnitSystem | None, Query(description=_UNITS_WORDS)]


def _text(value: object) -> object:
    """Take a date from text alone: a number would be read as seconds since 1970."""
    if not isinstance(value, str):
        raise ValueError("write it as text, such as 2026-07-13")
    return value


def _number(value: object) -> object:
    """Take a whole number as JSON means it, 5.0 too, and neither text nor true."""
    if isinstance(value, bool | str):
        raise ValueError("write a whole number")
    return value


def _whole(value: str) -> str:
    if "\0" in value:
        raise ValueError("it holds a NUL, which no text may")
    return value


Day = Annotated[date, BeforeValidator(_text)]
Instant = Annotated[AwareDatetime, BeforeValidator(_text)]
AfterDay = Annotated[Day | None, Query(description="The day of the last one of the page before.")]
Whole = Annotated[int, BeforeValidator(_number)]
Text = Annotated[str, Field(min_length=1, max_length=1_000_000, strict=True), AfterValidator(_whole)]


class _In(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class DocumentIn(_In):
    """A file as etsched reads it, TOML in one text."""

    document: Text


class RunIn(_In):
    """One valve's run as it was; `report` is your own id of it, so that it counts once."""

    report: Annotated[str, Field(pattern=r"^[A-Za-z0-9._:-]{1,64}$")]
    terminal: Annotated[Whole, Field(ge=1, le=9999)]
    opens_on: Day
    minutes: Annotated[float, Field(ge=0, le=1440, allow_inf_nan=False, strict=True)]
    how: How = How.PROGRAM
    began: Instant | None = None


class AppliedIn(_In):
    """Runs, and the nights (by the date they begin on) of which this tells all: nothing else ran in them."""

    runs: Annotated[list[RunIn], Field(max_length=1000)] = []
    nights_whole: Annotated[list[Day], Field(max_length=31)] = []


class KeyedInIn(_In):
    """A person says that a plan's table is in the clock since a night."""

    since: Day
    plan_revision: Annotated[Whole, Field(ge=1, le=2_147_483_647)]


class HeatIn(_In):
    """How much hotter, for how many days, from which day on; nothing: the forecast as it is."""

    hotter_c: Annotated[float, Field(gt=0, le=30, allow_inf_nan=False, strict=True)] | None = None
    days: Annotated[Whole, Field(ge=1, le=14)] | None = None
    first: Day | None = None


class WhyAsk(_In):
    """Which night, by the date it opens on, and in which units; neither: the whole week in the site's own."""

    night: Day | None = None
    units: UnitSystem | None = None


class FindingsAsk(_In):
    """Which page, and in which units."""

    after: AfterDay = None
    most: Most = 50
    units: Annotated[UnitSystem | None, Field(description=_UNITS_WORDS)] = None


class WebhookIn(_In):
    """Where events go: https, a public address."""

    url: Annotated[str, Field(min_length=1, max_length=2000, strict=True), AfterValidator(_whole)]


class SiteLine(BaseModel):
    """One property in a list."""

    site: str
    name: str
    zone: str
    revision: int


class SiteOut(SiteLine):
    """A property with its site file as it was given."""

    document: str
    put_away: str | None


class SitesOut(BaseModel):
    """A page of properties; the next one stands in the Link header."""

    sites: list[SiteLine]


class CycleOut(BaseModel):
    """One opening of a valve."""

    start_utc: datetime
    start_local: datetime
    minutes: int


class ControllerRun(BaseModel):
    """What one station does in a night."""

    terminal: int
    area: str
    minutes: int
    applied_mm: float
    depth: str
    flow_l: float | None
    volume: str
    reason: str
    cycles: list[CycleOut]


class ControllerNight(BaseModel):
    """A night as a controller runs it."""

    opens_on: date
    serves: date
    opens_utc: datetime
    closes_utc: datetime
    opens_local: datetime
    closes_local: datetime
    minutes: int
    volume: str
    runs: list[ControllerRun]
    light_runs: list[dict[str, Any]]


class AfterOut(BaseModel):
    """What a controller does after `valid_until` while no newer plan answers."""

    do: Literal["keep_last"]
    until: datetime
    words: str


class PlanHead(BaseModel):
    """Which plan this is and how long it is good."""

    site: str
    name: str
    plan_revision: int
    made: datetime
    valid_until: datetime
    after_valid_until: AfterOut


class TonightOut(PlanHead):
    """What runs in the night that is on or comes next; null where the week is over."""

    schema_: Annotated[str, Field(alias="schema")]
    units: UnitSystem
    expired: bool
    night: ControllerNight | None


class WeekOut(PlanHead):
    """The week's document, schema etsched.week/1."""

    week: dict[str, Any]


class WhyOut(PlanHead):
    """One station's reasons, schema etsched.why/1."""

    why: dict[str, Any]


class PlannedOut(BaseModel):
    """The plan that holds now."""

    site: str
    plan_revision: int
    first_day: date
    made: datetime
    valid_until: datetime


class BalanceOut(BaseModel):
    """The water of the last closed morning, by what was reported and by what was planned; null before the first."""

    site: str
    units: UnitSystem
    controller: dict[str, Any]
    reported: dict[str, Any] | None
    planned: dict[str, Any] | None


class WeatherOut(BaseModel):
    """Weather as it was last planned by, and its days as their readers read them, by column; null before the first."""

    site: str
    units: UnitSystem
    fetched: datetime | None
    weather: Any
    days: dict[str, list[str | None]] | None


class ControllerOut(BaseModel):
    """What is known of what runs: reporting, silent, keyed in, or nobody said."""

    site: str
    kind: str
    since: date | None
    words: str


class VisitLine(BaseModel):
    """One visit in a list."""

    visit: str
    day: date
    at: datetime
    actor: str


class VisitOut(VisitLine):
    """A visit as it was recorded, with what it establishes."""

    site: str
    document: str
    units: UnitSystem
    findings: Any


class VisitsOut(BaseModel):
    """A page of visits; the next one stands in the Link header."""

    visits: list[VisitLine]


class FindingsOut(BaseModel):
    """A page of what every visit established, the earliest first; the next one stands in the Link header."""

    units: UnitSystem
    findings: list[dict[str, Any]]


class AppliedOut(BaseModel):
    """How many of the runs were new."""

    new_count: int


class KeyedInOut(BaseModel):
    """The table that is in the clock."""

    since: date
    plan_revision: int


class WebhookLine(BaseModel):
    """Where events go."""

    webhook: str
    url: str
    made: datetime


class WebhookOut(WebhookLine):
    """A new webhook; its secret is shown this once."""

    secret: str | None


class WebhooksOut(BaseModel):
    """A page of the webhooks of a property; the next one stands in the Link header."""

    webhooks: list[WebhookLine]


class EventLine(BaseModel):
    """An event and how far it is."""

    event: str
    webhook: str
    kind: str
    made: datetime
    tries: int
    delivered: datetime | None
    next_try: datetime | None
    last_answer: str


class EventsOut(BaseModel):
    """A page of events, the newest first; the next one, of older ones, stands in the Link header."""

    events: list[EventLine]


class CalendarOut(BaseModel):
    """A calendar address; the address is the secret and is shown this once."""

    calendar: str
    address: str | None


class CalendarLine(BaseModel):
    """A calendar address without its secret."""

    calendar: str
    made: datetime


class CalendarsOut(BaseModel):
    """A page of the calendar addresses of a property that hold; the next one stands in the Link header."""

    calendars: list[CalendarLine]


class TrailLine(BaseModel):
    """Who changed what."""

    entry: int
    at: datetime
    actor: str
    did: str
    site: str | None
    detail: str


class TrailOut(BaseModel):
    """A page of the trail; the next one stands in the Link header."""

    entries: list[TrailLine]


class ReadyOut(BaseModel):
    """It runs."""

    status: Literal["ok"]


class HealthOut(ReadyOut):
    """It runs, and what its clock shows."""

    now: datetime


def by_name(route: APIRoute) -> str:
    """Name an operation in the OpenAPI document by its function."""
    return route.name


Responses = dict[int | str, dict[str, Any]]
_PROBLEM: dict[str, Any] = {
    "description": "A problem document",
    "content": {MEDIA_TYPE: {"schema": {"$ref": f"#/components/schemas/{ProblemOut.__name__}"}}},
}
_EVERYWHERE = (401, 403, 404, 422, 429, 503)


def answers(model: type[BaseModel] | None, *more: int, status: int = 200) -> Responses:
    """Say what a route answers: its model, and which problems."""
    done: dict[str, Any] = {"description": "Done"} if model is None else {"description": "Done", "model": model}
    return {status: done, **dict.fromkeys((*_EVERYWHERE, *more), _PROBLEM)}


NOT_MODIFIED: Responses = {304: {"description": "The reader has these bytes already"}}
ENDED_WORDS = "The same again is answered alike, so whoever lost the answer may ask again."
CONDITIONAL_WORDS = "With If-None-Match the answer is 304 while the bytes are the same."
NOT_YET_WORDS = "Before the first plan the answer is 404 of the type /problems/no-plan-yet: ask again later."
