"""Plans: tonight for a controller, the week and its reasons for a reader, water, weather, the heat check."""

from __future__ import annotations

import json
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from etsched.model.service import KeptPlan, Supposing
from etsched.reports import encode
from etsched.reports.heat_json import heat_json
from etsched.reports.kept_figures import balance_in, days_in
from etsched.stores import water
from etsched.usecases import kept_plans
from etsched.usecases.daily import plan_now
from etsched.usecases.kept_heat import Hotter, heat_of
from etsched.usecases.properties import get_site, units_for
from etsched.usecases.reports_in import controller_state
from etsched.usecases.service import Service
from etsched.web.access import Manager, Reader, Serving
from etsched.web.conditional import answer
from etsched.web.idempotency import Answer, Written, after
from etsched.web.problems import INVALID, Refused
from etsched.web.shapes import (
    CONDITIONAL_WORDS,
    NOT_MODIFIED,
    NOT_YET_WORDS,
    BalanceOut,
    ControllerOut,
    HeatIn,
    PlannedOut,
    SiteKey,
    Terminal,
    TonightOut,
    Units,
    WeatherOut,
    WeekOut,
    WhyAsk,
    WhyOut,
    answers,
    by_name,
)

router = APIRouter(prefix="/v1/sites/{site}", tags=["plans"], generate_unique_id_function=by_name)


@router.get(
    "/tonight",
    responses={**answers(TonightOut), **NOT_MODIFIED},
    summary="What a controller runs in the night that is on or comes next",
    description=f"{CONDITIONAL_WORDS} {NOT_YET_WORDS}",
)
def tonight(request: Request, service: Serving, holder: Reader, site: SiteKey, units: Units = None) -> Response:
    """Give instants, whole minutes, how long they are good and what to do after."""
    return answer(request, kept_plans.tonight_json(service, site, units))


@router.get(
    "/week",
    responses={**answers(WeekOut), **NOT_MODIFIED},
    summary="The week's document of the plan that holds now",
    description=f"{CONDITIONAL_WORDS} {NOT_YET_WORDS}",
)
def week(request: Request, service: Serving, holder: Reader, site: SiteKey, units: Units = None) -> Response:
    """Give the week as it was planned."""
    return answer(request, kept_plans.week_json(service, site, units))


@router.get(
    "/why/{terminal}",
    responses=answers(WhyOut),
    summary="How a station comes to its minutes",
    description=f"The working of a station, of one night where it is named by the date it opens on. {NOT_YET_WORDS}",
)
def why(
    request: Request,
    service: Serving,
    holder: Reader,
    site: SiteKey,
    terminal: Terminal,
    ask: Annotated[WhyAsk, Query()],
) -> Response:
    """Give the working of a station, of one night where it is named by the date it opens on."""
    return answer(request, kept_plans.why_json(service, site, terminal, ask.night, ask.units))


@router.post("/plan", responses=answers(PlannedOut, 400, 409), summary="Plan now")
def plan(service: Serving, holder: Manager, write: Written, site: SiteKey) -> Response:
    """Make a plan of what is known now; where it comes out the same, the revision stays."""
    get_site(service, site)
    return after(service, holder, write, lambda inside: Answer(_planned(plan_now(inside, site, holder.actor))))


def _planned(kept: KeptPlan) -> dict[str, Any]:
    return {
        "site": kept.site,
        "plan_revision": kept.revision,
        "first_day": kept.first_day.isoformat(),
        "made": encode.utc(kept.at),
        "valid_until": encode.utc(kept.valid_until),
    }


@router.post("/heat-check", responses=answers(None, 400, 409, 413), summary="What hotter days do to the table")
def heat(service: Serving, holder: Reader, site: SiteKey, body: HeatIn, units: Units = None) -> Response:
    """Hold the table in the clock against the forecast, or against hotter days; it changes nothing."""
    if body.hotter_c is None and (body.days is not None or body.first is not None):
        raise Refused(INVALID, "days alone say nothing of heat", [("/hotter_c", "say too how much hotter they are")])
    given = {"length_d": body.days, "first": body.first}
    more = {name: value for name, value in given.items() if value is not None}
    hotter = None if body.hotter_c is None else Hotter(body.hotter_c, **more)  # type: ignore[arg-type]
    checked = heat_of(service, site, hotter)
    return Response(heat_json(checked, units).encode(), media_type="application/json")


@router.get("/balance", responses=answers(BalanceOut), summary="The water of the last closed morning")
def balance(request: Request, service: Serving, holder: Reader, site: SiteKey, units: Units = None) -> Response:
    """Give both balances: by what was reported, and by what was planned."""
    system = units_for(service, site, units)
    with service.database.reading() as reading:
        both = {each.value: water.latest_balance(reading, site, each) for each in Supposing}
    written = {name: None if kept is None else balance_in(kept, system) for name, kept in both.items()}
    return answer(request, {"site": site, "units": system, "controller": _controller(service, site), **written})


@router.get("/controller", responses=answers(ControllerOut), summary="What is known of what runs")
def controller(request: Request, service: Serving, holder: Reader, site: SiteKey) -> Response:
    """Say whether a controller reports, is silent since a date, or a table is in the clock."""
    get_site(service, site)
    return answer(request, {"site": site, **_controller(service, site)})


def _controller(service: Service, site: str) -> dict[str, Any]:
    state = controller_state(service, site)
    since = None if state.since is None else state.since.isoformat()
    return {"kind": state.kind, "since": since, "words": state.words}


@router.get("/weather", responses=answers(WeatherOut), summary="The weather that was last planned by")
def weather(request: Request, service: Serving, holder: Reader, site: SiteKey, units: Units = None) -> Response:
    """Give the merged and checked weather with its provenance."""
    system = units_for(service, site, units)
    with service.database.reading() as reading:
        kept = water.latest_weather(reading, site)
    fetched, document = (None, None) if kept is None else (encode.utc(kept[0]), json.loads(kept[1]))
    days = None if document is None else days_in(document, system)
    return answer(request, {"site": site, "units": system, "fetched": fetched, "weather": document, "days": days})
