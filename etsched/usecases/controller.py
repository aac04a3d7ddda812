"""How the service knows what ran at a property, and that somebody is told once when its controller falls silent."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from etsched.days import day_text
from etsched.model.service import ControllerState
from etsched.planning.outlook import watering_night
from etsched.stores import plans, trail, water
from etsched.usecases import outbox
from etsched.usecases.what_ran import is_due, served_by

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy import Connection

    from etsched.model.site import Site

REPORTING, SILENT, KEYED_IN, NOBODY_SAID = "reporting", "silent", "keyed in", "nobody said"
_TOLD = "controller silent"  # what the trail calls it when somebody was told
_BY = "service"


def state_in(reading: Connection, key: str, site: Site, now: datetime) -> ControllerState:
    """Say how it is known what runs at a site."""
    today = now.astimezone(site.place.zone).date()
    last = water.last_report(reading, key)
    keyed = plans.keyed_in_on(reading, key, today)
    if keyed is not None and (last is None or keyed.since > last):
        what = "door paper" if keyed.programs else "table"
        said = f"since {day_text(keyed.since)}, {keyed.actor.removeprefix('user ')} says"
        words = f"the {what} of plan {keyed.plan_revision} is in the clock {said}, and its water is counted"
        return ControllerState(KEYED_IN, keyed.since, words)
    if last is None:
        return ControllerState(
            NOBODY_SAID,
            None,
            "nobody has said what is in the clock and no controller reports, so the plan reckons that nothing ran: "
            "at worst it waters more than was needed",
        )
    since = _first_untold(site, last, today, now)
    if since is None:
        return ControllerState(REPORTING, None, f"the controller has told all up to the night of {day_text(last)}")
    return ControllerState(
        SILENT,
        since,
        f"the controller has told nothing since the night of {day_text(since)}; until it does, the plan goes by the "
        "drier of what was planned and what was reported: look at the controller and its connection, or say that a "
        "table is in the clock",
    )


def _first_untold(site: Site, last: date, today: date, now: datetime) -> date | None:
    """Give the first night after the last one told that should have been told by now."""
    # A ban may keep every window shut for longer; who is silent only meanwhile has nothing to tell.
    for later in range(1, (today - last).days + 1):
        serves = served_by(site, last + timedelta(days=later))
        window = watering_night(site, serves)
        if window is not None and is_due(window, now):
            return window.opens_on
    return None


def tell_silence(writing: Connection, key: str, state: ControllerState, now: datetime) -> None:
    """Announce a silence that nobody was told of yet; it stands or falls with the transaction."""
    if state.kind != SILENT or state.since is None:
        return
    since = state.since.isoformat()
    if trail.is_noted(writing, key, _TOLD, f"since {since}"):
        return
    trail.note(writing, now, _BY, _TOLD, key, f"since {since}")
    outbox.announce(writing, now, key, "controller silent", {"since": since, "words": state.words})
