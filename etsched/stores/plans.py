"""Plans: a week's document a revision, and the table that a person says is in the clock."""

from __future__ import annotations

from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.documents.clock_document import read_programs, written_programs
from etsched.model.service import KeptPlan, KeyedIn, PlanHead
from etsched.stores.schema import plans, tables_keyed_in

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy import Connection


def latest_plan(reading: Connection, site: str) -> KeptPlan | None:
    """Give the plan that holds now; None before the first."""
    query = sa.select(plans).where(plans.c.site == site).order_by(plans.c.revision.desc()).limit(1)
    row = reading.execute(query).mappings().first()
    return None if row is None else KeptPlan(**row)


def latest_head(reading: Connection, site: str) -> KeptPlan | None:
    """Give all of the plan that holds now but its document, which is large and left empty."""
    columns = [column for column in plans.c if column is not plans.c.document]
    query = sa.select(*columns).where(plans.c.site == site).order_by(plans.c.revision.desc()).limit(1)
    row = reading.execute(query).mappings().first()
    return None if row is None else KeptPlan(**row, document="")


def latest_heads(reading: Connection) -> dict[str, PlanHead]:
    """Give by its short name which plan holds now of every property that has one.

    Columns behind the document are left alone: SQLite reads through all of it to get at them.
    """
    last = sa.select(plans.c.site, sa.func.max(plans.c.revision).label("revision")).group_by(plans.c.site).subquery()
    same = sa.and_(plans.c.site == last.c.site, plans.c.revision == last.c.revision)
    query = sa.select(plans.c.site, plans.c.revision, plans.c.at, plans.c.valid_until).join(last, same)
    return {site: PlanHead(*head) for site, *head in reading.execute(query)}


def find_plan(reading: Connection, site: str, revision: int) -> KeptPlan | None:
    """Give one plan by its revision."""
    query = sa.select(plans).where(plans.c.site == site, plans.c.revision == revision)
    row = reading.execute(query).mappings().first()
    return None if row is None else KeptPlan(**row)


def plan_of_day(reading: Connection, site: str, first_day: date) -> KeptPlan | None:
    """Give the last plan made for a week that begins on a day."""
    query = (
        sa.select(plans)
        .where(plans.c.site == site, plans.c.first_day == first_day)
        .order_by(plans.c.revision.desc())
        .limit(1)
    )
    row = reading.execute(query).mappings().first()
    return None if row is None else KeptPlan(**row)


def plan_in_force(reading: Connection, site: str, serves: date) -> KeptPlan | None:
    """Give the plan that held on the night that serves a day: the last one of the latest week begun by then."""
    query = (
        sa.select(plans)
        .where(plans.c.site == site, plans.c.first_day <= serves)
        .order_by(plans.c.first_day.desc(), plans.c.revision.desc())
        .limit(1)
    )
    row = reading.execute(query).mappings().first()
    return None if row is None else KeptPlan(**row)


def put_plan(writing: Connection, plan: KeptPlan) -> None:
    """Keep a plan; its revision must be the next one of its site."""
    writing.execute(
        sa.insert(plans).values(
            site=plan.site,
            revision=plan.revision,
            first_day=plan.first_day,
            at=plan.at,
            valid_until=plan.valid_until,
            document=plan.document,
            digest=plan.digest,
        )
    )


def keep_keyed_in(writing: Connection, site: str, keyed: KeyedIn) -> None:
    """Keep that a plan's table is in the clock since a night; the later word on the same night stands."""
    mine = sa.and_(tables_keyed_in.c.site == site, tables_keyed_in.c.since == keyed.since)
    writing.execute(sa.delete(tables_keyed_in).where(mine))
    writing.execute(
        sa.insert(tables_keyed_in).values(
            site=site,
            since=keyed.since,
            plan_revision=keyed.plan_revision,
            at=keyed.at,
            actor=keyed.actor,
            programs=written_programs(keyed.programs),
        )
    )


def drop_keyed_in(writing: Connection, site: str, since: date) -> bool:
    """Take back the word on a night; tells whether there was one."""
    mine = sa.and_(tables_keyed_in.c.site == site, tables_keyed_in.c.since == since)
    return writing.execute(sa.delete(tables_keyed_in).where(mine)).rowcount > 0


def sites_keyed_in(reading: Connection) -> frozenset[str]:
    """Name the properties of which somebody ever said what is in the clock."""
    return frozenset(reading.execute(sa.select(tables_keyed_in.c.site).distinct()).scalars())


def keyed_in_on(reading: Connection, site: str, opens_on: date) -> KeyedIn | None:
    """Give the table that is in the clock on a night by the last word before it; None where nobody said."""
    query = (
        sa.select(tables_keyed_in)
        .where(tables_keyed_in.c.site == site, tables_keyed_in.c.since <= opens_on)
        .order_by(tables_keyed_in.c.since.desc())
        .limit(1)
    )
    row = reading.execute(query).mappings().first()
    if row is None:
        return None
    programs = read_programs(row["programs"]) if row["programs"] else ()
    return KeyedIn(row["since"], row["plan_revision"], row["at"], row["actor"], programs)
