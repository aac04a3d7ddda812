"""The tables of the service: what each row is, what may not be missing, and how instants are kept."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa
from sqlalchemy.types import TypeDecorator

if TYPE_CHECKING:
    from sqlalchemy.engine import Dialect
    from sqlalchemy.types import TypeEngine

_INSTANT = "%Y-%m-%dT%H:%M:%S.%fZ"


class Instant(TypeDecorator[datetime]):
    """An aware instant, kept in UTC; SQLite keeps it as text whose order is that of time."""

    impl = sa.DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Text on SQLite, a timestamp with time zone elsewhere."""
        kind: TypeEngine[Any] = sa.String(27) if dialect.name == "sqlite" else sa.DateTime(timezone=True)
        return dialect.type_descriptor(kind)

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | str | None:
        """Refuse an instant that does not say its offset."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value} does not say its offset from UTC")
        utc = value.astimezone(UTC)
        return utc.strftime(_INSTANT) if dialect.name == "sqlite" else utc

    def process_result_value(self, value: object, dialect: Dialect) -> datetime | None:
        """Give it back aware, in UTC."""
        if value is None:
            return None
        if isinstance(value, datetime):
            return value.astimezone(UTC)
        return datetime.strptime(str(value), _INSTANT).replace(tzinfo=UTC)


class Day(TypeDecorator[date]):
    """A local date, kept as `2026-07-13` in every database."""

    impl = sa.String(10)
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> str | None:
        """Write it by ISO 8601."""
        return None if value is None else value.isoformat()

    def process_result_value(self, value: str | None, dialect: Dialect) -> date | None:
        """Read it."""
        return None if value is None else date.fromisoformat(value)


metadata = sa.MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)


def _site() -> sa.Column[str]:
    return sa.Column("site", sa.String(64), sa.ForeignKey("sites.site"), nullable=False)


sites = sa.Table(
    "sites",
    metadata,
    sa.Column("site", sa.String(64), primary_key=True),  # a short name that stands in addresses
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("zone", sa.Text, nullable=False),
    sa.Column("revision", sa.Integer, nullable=False),  # of the site file that holds now
    sa.Column("put_away", Instant, nullable=True),  # no jobs, no reports; what is kept stays
)

site_revisions = sa.Table(
    "site_revisions",
    metadata,
    _site(),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("document", sa.Text, nullable=False),  # the site file as it was given
    sa.Column("at", Instant, nullable=False),
    sa.Column("actor", sa.Text, nullable=False),
    sa.PrimaryKeyConstraint("site", "revision"),
)

weathers = sa.Table(
    "weathers",
    metadata,
    _site(),
    sa.Column("fetched", Instant, nullable=False),
    sa.Column("document", sa.Text, nullable=False),  # the merged, checked weather with its provenance
    sa.Column("digest", sa.String(64), nullable=False),
    sa.PrimaryKeyConstraint("site", "fetched"),
)

balances = sa.Table(
    "balances",
    metadata,
    _site(),
    sa.Column("morning", Day, nullable=False),
    sa.Column("supposing", sa.String(16), nullable=False),  # "reported" or "planned": which runs it credits
    sa.Column("document", sa.Text, nullable=False),  # deficit and thickness by terminal
    sa.Column("at", Instant, nullable=False),
    sa.PrimaryKeyConstraint("site", "morning", "supposing"),
)

plans = sa.Table(
    "plans",
    metadata,
    _site(),
    sa.Column("revision", sa.Integer, nullable=False),
    sa.Column("first_day", Day, nullable=False),
    sa.Column("at", Instant, nullable=False),
    sa.Column("valid_until", Instant, nullable=False),
    sa.Column("document", sa.Text, nullable=False),  # etsched.week/1
    sa.Column("digest", sa.String(64), nullable=False),  # of the document
    sa.PrimaryKeyConstraint("site", "revision"),
)

visits = sa.Table(
    "visits",
    metadata,
    sa.Column("visit", sa.String(36), primary_key=True),
    _site(),
    sa.Column("day", Day, nullable=False),
    sa.Column("document", sa.Text, nullable=False),  # the record as it was given
    sa.Column("findings", sa.Text, nullable=False),  # what it establishes, JSON
    sa.Column("at", Instant, nullable=False),
    sa.Column("actor", sa.Text, nullable=False),
    sa.UniqueConstraint("site", "day"),
)

applied = sa.Table(
    "applied",
    metadata,
    sa.Column("report", sa.String(36), primary_key=True),
    _site(),
    sa.Column("terminal", sa.Integer, nullable=False),
    sa.Column("opens_on", Day, nullable=False),  # the night, by the date it begins on
    sa.Column("began", Instant, nullable=True),
    sa.Column("minutes", sa.Float, nullable=False),
    sa.Column("how", sa.String(16), nullable=False),  # "program", "hand" or "cut short"
    sa.Column("at", Instant, nullable=False),
    sa.Column("actor", sa.Text, nullable=False),
    sa.CheckConstraint("minutes >= 0", name="minutes"),
    sa.Index(None, "site", "opens_on"),
)

# A controller has reported on a whole night, whether or not anything ran: silence is not such a row.
night_reports = sa.Table(
    "night_reports",
    metadata,
    _site(),
    sa.Column("opens_on", Day, nullable=False),
    sa.Column("at", Instant, nullable=False),
    sa.Column("actor", sa.Text, nullable=False),
    sa.PrimaryKeyConstraint("site", "opens_on"),
)

# What a person says is in the clock, since a night, where no controller reports: a plan's programs, or, where the text
# is empty, its table by station.
tables_keyed_in = sa.Table(
    "tables_keyed_in",
    metadata,
    _site(),
    sa.Column("since", Day, nullable=False),
    sa.Column("plan_revision", sa.Integer, nullable=False),
    sa.Column("at", Instant, nullable=False),
    sa.Column("actor", sa.Text, nullable=False),
    sa.Column("programs", sa.Text, nullable=False, server_default=""),
    sa.PrimaryKeyConstraint("site", "since"),
    sa.ForeignKeyConstraint(["site", "plan_revision"], ["plans.site", "plans.revision"]),
)

job_runs = sa.Table(
    "job_runs",
    metadata,
    _site(),
    sa.Column("job", sa.String(32), nullable=False),
    sa.Column("period", Day, nullable=False),  # the local date it is for
    sa.Column("state", sa.String(16), nullable=False),  # "running", "done", "failed" or "skipped"
    sa.Column("fence", sa.Integer, nullable=False),  # grows with every claim; a commit must still hold it
    sa.Column("worker", sa.Text, nullable=False),
    sa.Column("leased_until", Instant, nullable=False),
    sa.Column("tries", sa.Integer, nullable=False),
    sa.Column("began", Instant, nullable=False),
    sa.Column("ended", Instant, nullable=True),
    sa.Column("note", sa.Text, nullable=False, server_default=""),
    sa.PrimaryKeyConstraint("site", "job", "period"),
    sa.Index(None, "state", "leased_until"),
)

keys = sa.Table(
    "keys",
    metadata,
    sa.Column("key_id", sa.String(16), primary_key=True),  # stands in front of the secret
    sa.Column("secret_hash", sa.String(64), nullable=False),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("scopes", sa.Text, nullable=False),  # names, a blank between
    sa.Column("all_sites", sa.Boolean, nullable=False),
    sa.Column("made", Instant, nullable=False),
    sa.Column("expires", Instant, nullable=True),
    sa.Column("revoked", Instant, nullable=True),
)

key_sites = sa.Table(
    "key_sites",
    metadata,
    sa.Column("key_id", sa.String(16), sa.ForeignKey("keys.key_id"), nullable=False),
    _site(),
    sa.PrimaryKeyConstraint("key_id", "site"),
)

users = sa.Table(
    "users",
    metadata,
    sa.Column("user_name", sa.String(64), primary_key=True),
    sa.Column("password_hash", sa.Text, nullable=False),
    sa.Column("role", sa.String(16), nullable=False),  # "manager", "technician" or "admin"
    sa.Column("all_sites", sa.Boolean, nullable=False),
    sa.Column("made", Instant, nullable=False),
    sa.Column("shut", Instant, nullable=True),
)

user_sites = sa.Table(
    "user_sites",
    metadata,
    sa.Column("user_name", sa.String(64), sa.ForeignKey("users.user_name"), nullable=False),
    _site(),
    sa.PrimaryKeyConstraint("user_name", "site"),
)

sessions = sa.Table(
    "sessions",
    metadata,
    sa.Column("token_hash", sa.String(64), primary_key=True),
    sa.Column("user_name", sa.String(64), sa.ForeignKey("users.user_name"), nullable=False),
    sa.Column("made", Instant, nullable=False),
    sa.Column("expires", Instant, nullable=False),
)

# Answers to writes that carried an idempotency key, given again when the same write comes again.
answers_given = sa.Table(
    "answers_given",
    metadata,
    sa.Column("actor", sa.Text, nullable=False),
    sa.Column("idempotency_key", sa.String(128), nullable=False),
    sa.Column("request_digest", sa.String(64), nullable=False),
    sa.Column("status", sa.Integer, nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("at", Instant, nullable=False),
    sa.PrimaryKeyConstraint("actor", "idempotency_key"),
)

webhooks = sa.Table(
    "webhooks",
    metadata,
    sa.Column("webhook", sa.String(36), primary_key=True),
    _site(),
    sa.Column("url", sa.Text, nullable=False),
    sa.Column("secret", sa.Text, nullable=False),  # signs what is sent, so it is kept as it is
    sa.Column("made", Instant, nullable=False),
    sa.Column("ended", Instant, nullable=True),
)

outbox = sa.Table(
    "outbox",
    metadata,
    sa.Column("event", sa.String(36), primary_key=True),  # the id that a receiver sees, the same at every try
    sa.Column("webhook", sa.String(36), sa.ForeignKey("webhooks.webhook"), nullable=False),
    sa.Column("kind", sa.String(32), nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Column("made", Instant, nullable=False),
    sa.Column("tries", sa.Integer, nullable=False),
    sa.Column("next_try", Instant, nullable=True),  # None: delivered, or given up
    sa.Column("delivered", Instant, nullable=True),
    sa.Column("last_answer", sa.Text, nullable=False, server_default=""),
    sa.Index(None, "next_try"),
)

calendar_addresses = sa.Table(
    "calendar_addresses",
    metadata,
    sa.Column("token_hash", sa.String(64), primary_key=True),
    _site(),
    sa.Column("made", Instant, nullable=False),
    sa.Column("revoked", Instant, nullable=True),
)

# Who changed what. Rows are added and never touched again; triggers refuse the rest.
trail = sa.Table(
    "trail",
    metadata,
    sa.Column("entry", sa.Integer, primary_key=True, autoincrement=True),
    sa.Column("at", Instant, nullable=False),
    sa.Column("actor", sa.Text, nullable=False),
    sa.Column("did", sa.String(32), nullable=False),
    sa.Column("site", sa.String(64), nullable=True),
    sa.Column("detail", sa.Text, nullable=False),
    sa.Index(None, "site", "entry"),
)
