"""Answers to writes that carried an idempotency key."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING

import sqlalchemy as sa

from etsched.model.access import GivenAnswer
from etsched.stores.schema import answers_given

if TYPE_CHECKING:
    from sqlalchemy import Connection


def find_answer(reading: Connection, actor: str, idempotency_key: str) -> GivenAnswer | None:
    """Give what an actor's write under this key was answered; None where it is new."""
    query = sa.select(answers_given).where(
        answers_given.c.actor == actor, answers_given.c.idempotency_key == idempotency_key
    )
    row = reading.execute(query).mappings().first()
    return None if row is None else GivenAnswer(**row)


def put_answer(writing: Connection, answer: GivenAnswer) -> None:
    """Keep an answer in the transaction of its write; the database refuses a second one under the same key."""
    writing.execute(sa.insert(answers_given).values(**asdict(answer)))
