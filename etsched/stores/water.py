"""Balances of mornings, weather as it was planned by, runs as they were reported."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.plan import WaterState
from etsched.model.service import AppliedRun, How, KeptBalance, Supposing
from etsched.stores.schema import applied, balances, night_reports, weathers

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy import Connection


def put_balance(writing: Connection, kept: KeptBalance) -> None:
    """Keep the water of a morning; closing a day again replaces what it said before."""
    mine = sa.and_(
        balances.c.site == kept.site,
        balances.c.morning == kept.water.morning,
        balances.c.supposing == kept.supposing.value,
    )
    document = {
        "deficit_mm": {str(terminal): list(row) for terminal, row in kept.water.deficit_mm.items()},
        "thickness_mm": {str(terminal): list(row) for terminal, row in kept.water.thickness_mm.items()},
    }
    writing.execute(sa.delete(balances).where(mine))
    writing.execute(
        sa.insert(balances).values(
            site=kept.site,
            morning=kept.water.morning,
            supposing=kept.supposing.value,
            document=json.dumps(document, sort_keys=True),
            at=kept.at,
        )
    )


def latest_balance(
    reading: Connection, site: str, supposing: Supposing, until: date | None = None
) -> KeptBalance | None:
    """Give the last morning's water that is kept, on or before a day where one is named."""
    query = (
        sa.select(balances)
        .where(balances.c.site == site, balances.c.supposing == supposing.value)
        .order_by(balances.c.morning.desc())
        .limit(1)
    )
    if until is not None:
        query = query.where(balances.c.morning <= until)
    row = reading.execute(query).mappings().first()
    return None if row is None else _balance(row)


def balances_between(
    reading: Connection, site: str, supposing: Supposing, first: date, last: date
) -> list[KeptBalance]:
    """Give the mornings' water that is kept between two days, both included, in order."""
    query = (
        sa.select(balances)
        .where(
            balances.c.site == site, balances.c.supposing == supposing.value, balances.c.morning.between(first, last)
        )
        .order_by(balances.c.morning)
    )
    return [_balance(row) for row in reading.execute(query).mappings()]


def _balance(row: sa.RowMapping) -> KeptBalance:
    document = json.loads(row["document"])
    by_terminal = (
        {int(terminal): tuple(layers) for terminal, layers in document[name].items()}
        for name in ("deficit_mm", "thickness_mm")
    )
    return KeptBalance(row["site"], Supposing(row["supposing"]), WaterState(row["morning"], *by_terminal), row["at"])


def forget_balances(writing: Connection, site: str, after: date) -> None:
    """Forget the mornings after a day, so that they are reckoned anew from one that is kept; none where none is."""
    mine = balances.c.site == site
    base = sa.select(balances.c.morning).where(mine, balances.c.morning <= after).limit(1)
    if writing.execute(base).first() is not None:
        writing.execute(sa.delete(balances).where(mine, balances.c.morning > after))


def put_weather(writing: Connection, site: str, fetched: datetime, document: str) -> bool:
    """Keep weather as it was planned by; False where the last one kept says the same."""
    digest = hashlib.sha256(document.encode()).hexdigest()
    last = (
        sa.select(weathers.c.digest).where(weathers.c.site == site).order_by(weathers.c.fetched.desc()).limit(1)
    )
    if writing.execute(last).scalar() == digest:
        return False
    writing.execute(sa.insert(weathers).values(site=site, fetched=fetched, document=document, digest=digest))
    return True


def latest_weather(reading: Connection, site: str) -> tuple[datetime, str] | None:
    """Give the last weather kept, and when it was fetched."""
    query = (
        sa.select(weathers.c.fetched, weathers.c.document)
        .where(weathers.c.site == site)
        .order_by(weathers.c.fetched.desc())
        .limit(1)
    )
    row = reading.execute(query).first()
    return None if row is None else (row[0], row[1])


def put_applied(writing: Connection, site: str, runs: list[AppliedRun], at: datetime, actor: str) -> int:
    """Keep reported runs; one that is known by its id already is passed over. Gives how many were new."""
    ids = [run.report for run in runs]
    known = set(writing.execute(sa.select(applied.c.report).where(applied.c.report.in_(ids))).scalars())
    fresh = [run for run in {run.report: run for run in runs}.values() if run.report not in known]
    for run in fresh:
        writing.execute(
            sa.insert(applied).values(
                report=run.report,
                site=site,
                terminal=run.terminal,
                opens_on=run.opens_on,
                began=run.began,
                minutes=run.minutes_min,
                how=run.how.value,
                at=at,
                actor=actor,
            )
        )
    return len(fresh)


def put_night_report(writing: Connection, site: str, opens_on: date, at: datetime, actor: str) -> None:
    """Keep that a controller has told all of a night, whether or not anything ran."""
    mine = sa.and_(night_reports.c.site == site, night_reports.c.opens_on == opens_on)
    writing.execute(sa.delete(night_reports).where(mine))
    writing.execute(sa.insert(night_reports).values(site=site, opens_on=opens_on, at=at, actor=actor))


def applied_between(reading: Connection, site: str, first: date, last: date) -> list[AppliedRun]:
    """Give the reported runs of nights that begin between two dates, both included, in order."""
    query = (
        sa.select(applied)
        .where(applied.c.site == site, applied.c.opens_on.between(first, last))
        .order_by(applied.c.opens_on, applied.c.terminal, applied.c.report)
    )
    return [
        AppliedRun(row["report"], row["terminal"], row["opens_on"], row["minutes"], How(row["how"]), row["began"])
        for row in reading.execute(query).mappings()
    ]


def nights_reported(reading: Connection, site: str, first: date, last: date) -> frozenset[date]:
    """Give the nights between two dates of which a controller has told all."""
    query = sa.select(night_reports.c.opens_on).where(
        night_reports.c.site == site, night_reports.c.opens_on.between(first, last)
    )
    return frozenset(reading.execute(query).scalars())


def last_report(reading: Connection, site: str) -> date | None:
    """Give the last night of which a controller told all; None where none ever did."""
    return reading.execute(
        sa.select(sa.func.max(night_reports.c.opens_on)).where(night_reports.c.site == site)
    ).scalar()


def last_reports(reading: Connection) -> dict[str, date]:
    """Give by property the last night of which a controller told all, of those that ever did."""
    query = sa.select(night_reports.c.site, sa.func.max(night_reports.c.opens_on)).group_by(night_reports.c.site)
    return {row[0]: row[1] for row in reading.execute(query)}
