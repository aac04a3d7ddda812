"""Writes that may come twice: the answer is kept in the transaction of the write and given again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING, Annotated, Any

from fastapi import Depends, Header, Request, Response
from sqlalchemy.exc import IntegrityError

from etsched.model.access import GivenAnswer, Holder
from etsched.stores.answers import find_answer, put_answer
from etsched.stores.database import Database
from etsched.usecases.service import Service
from etsched.web.conditional import JSON, to_bytes
from etsched.web.problems import NO_IDEMPOTENCY_KEY, OTHER_BODY, Refused

if TYPE_CHECKING:
    from sqlalchemy import Connection

_KEY = Header(
    pattern=r"^[!-~]{1,128}$",
    description="Your own name of this write: the same write under the same name is done once and answered alike.",
)
Key = Annotated[str | None, _KEY]


@dataclass(frozen=True, slots=True)
class Write:
    """A write as it came: under which name, and what it says in a digest."""

    key: str | None
    digest: str


@dataclass(frozen=True, slots=True)
class Answer:
    """What a write is answered; `secrets` are fields that are shown once and not kept."""

    document: dict[str, Any]
    status: int = 200
    secrets: tuple[str, ...] = ()


async def write_of(request: Request, idempotency_key: Key = None) -> Write:
    """Read the name of a write; a POST must have one."""
    if idempotency_key is None and request.method == "POST":
        fault = ("/header/idempotency-key", "it is missing; send a new random one with each new write")
        raise Refused(NO_IDEMPOTENCY_KEY, "a POST needs the header Idempotency-Key", [fault])
    said = f"{request.method} {request.url.path}?{request.url.query}\n".encode() + await request.body()
    return Write(idempotency_key, sha256(said).hexdigest())


Written = Annotated[Write, Depends(write_of)]


class OneTransaction(Database):
    """A database inside a transaction that is open already: what a use case writes stands or falls with it."""

    def __init__(self, outer: Database, open_connection: Connection) -> None:
        self.url, self.engine, self._open = outer.url, outer.engine, open_connection

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Read what the open transaction sees."""
        yield self._open

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Write up to a point that a failure goes back to."""
        with self._open.begin_nested():
            yield self._open


def once(service: Service, holder: Holder, write: Write, act: Callable[[Service], Answer]) -> Response:
    """Do a write and keep its answer in one transaction; where it was done before, answer as then.

    Raises Refused where the name was used for another write, and whatever the write raises.
    """
    try:
        return _once(service, holder, write, act)
    except IntegrityError:
        # The same write may have been done by another process at the same moment; if so, its answer is there now.
        with service.database.reading() as reading:
            known = None if write.key is None else find_answer(reading, holder.actor, write.key)
        if known is None:
            raise
        return _again(known, write)


def _once(service: Service, holder: Holder, write: Write, act: Callable[[Service], Answer]) -> Response:
    with service.database.writing() as writing:
        if write.key is not None and (known := find_answer(writing, holder.actor, write.key)):
            return _again(known, write)
        done = act(replace(service, database=OneTransaction(service.database, writing)))
        _keep(writing, service, holder, write, done)
    return Response(to_bytes(done.document), done.status, media_type=JSON)


def after(service: Service, holder: Holder, write: Write, act: Callable[[Service], Answer]) -> Response:
    """Do a write that is too long for one transaction and harmless when repeated; its answer is kept after it."""
    with service.database.reading() as reading:
        known = None if write.key is None else find_answer(reading, holder.actor, write.key)
    if known is not None:
        return _again(known, write)
    done = act(service)
    return once(service, holder, write, lambda _: done)


def _keep(writing: Connection, service: Service, holder: Holder, write: Write, done: Answer) -> None:
    if write.key is None:
        return
    kept = {name: None if name in done.secrets else value for name, value in done.document.items()}
    body = to_bytes(kept).decode()
    put_answer(writing, GivenAnswer(holder.actor, write.key, write.digest, done.status, body, service.clock.now()))


def _again(known: GivenAnswer, write: Write) -> Response:
    if known.request_digest != write.digest:
        fault = ("/header/idempotency-key", "it named another write before; send a new one")
        raise Refused(OTHER_BODY, "the header Idempotency-Key was used before for another write", [fault])
    return Response(known.body.encode(), known.status, media_type=JSON)
