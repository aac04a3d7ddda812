"""The first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from etsched.stores.schema import Day, Instant

revision = "0001"
down_revision = None

_ONLY_GROWS = "what was written into the trail stays as it is"


def upgrade() -> None:
    """Make them."""
    _properties()
    _water()
    _plans()
    _jobs()
    _access()
    _outgoing()
    _trail()
    _keep_the_trail()


def _properties() -> None:
    op.create_table(
        "sites",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("zone", sa.Text(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("put_away", Instant(), nullable=True),
        sa.PrimaryKeyConstraint("site", name=op.f("pk_sites")),
    )
    op.create_table(
        "site_revisions",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_site_revisions_site")),
        sa.PrimaryKeyConstraint("site", "revision", name=op.f("pk_site_revisions")),
    )
    op.create_table(
        "visits",
        sa.Column("visit", sa.String(length=36), nullable=False),
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("day", Day(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("findings", sa.Text(), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_visits_site")),
        sa.PrimaryKeyConstraint("visit", name=op.f("pk_visits")),
        sa.UniqueConstraint("site", "day", name=op.f("uq_visits_site_day")),
    )


def _water() -> None:
    op.create_table(
        "applied",
        sa.Column("report", sa.String(length=36), nullable=False),
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("terminal", sa.Integer(), nullable=False),
        sa.Column("opens_on", Day(), nullable=False),
        sa.Column("began", Instant(), nullable=True),
        sa.Column("minutes", sa.Float(), nullable=False),
        sa.Column("how", sa.String(length=16), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.CheckConstraint("minutes >= 0", name=op.f("ck_applied_minutes")),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_applied_site")),
        sa.PrimaryKeyConstraint("report", name=op.f("pk_applied")),
    )
    op.create_index(op.f("ix_applied_site_opens_on"), "applied", ["site", "opens_on"], unique=False)
    op.create_table(
        "balances",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("morning", Day(), nullable=False),
        sa.Column("supposing", sa.String(length=16), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_balances_site")),
        sa.PrimaryKeyConstraint("site", "morning", "supposing", name=op.f("pk_balances")),
    )
    op.create_table(
        "night_reports",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("opens_on", Day(), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_night_reports_site")),
        sa.PrimaryKeyConstraint("site", "opens_on", name=op.f("pk_night_reports")),
    )
    op.create_table(
        "weathers",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("fetched", Instant(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_weathers_site")),
        sa.PrimaryKeyConstraint("site", "fetched", name=op.f("pk_weathers")),
    )


def _plans() -> None:
    op.create_table(
        "plans",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("first_day", Day(), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("valid_until", Instant(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_plans_site")),
        sa.PrimaryKeyConstraint("site", "revision", name=op.f("pk_plans")),
    )
    op.create_table(
        "tables_keyed_in",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("since", Day(), nullable=False),
        sa.Column("plan_revision", sa.Integer(), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site", "plan_revision"],
            ["plans.site", "plans.revision"],
            name=op.f("fk_tables_keyed_in_site_plan_revision"),
        ),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_tables_keyed_in_site")),
        sa.PrimaryKeyConstraint("site", "since", name=op.f("pk_tables_keyed_in")),
    )


def _jobs() -> None:
    op.create_table(
        "job_runs",
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("job", sa.String(length=32), nullable=False),
        sa.Column("period", Day(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("fence", sa.Integer(), nullable=False),
        sa.Column("worker", sa.Text(), nullable=False),
        sa.Column("leased_until", Instant(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("began", Instant(), nullable=False),
        sa.Column("ended", Instant(), nullable=True),
        sa.Column("note", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_job_runs_site")),
        sa.PrimaryKeyConstraint("site", "job", "period", name=op.f("pk_job_runs")),
    )
    op.create_index(op.f("ix_job_runs_state_leased_until"), "job_runs", ["state", "leased_until"], unique=False)


def _access() -> None:
    op.create_table(
        "keys",
        sa.Column("key_id", sa.String(length=16), nullable=False),
        sa.Column("secret_hash", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("scopes", sa.Text(), nullable=False),
        sa.Column("all_sites", sa.Boolean(), nullable=False),
        sa.Column("made", Instant(), nullable=False),
        sa.Column("expires", Instant(), nullable=True),
        sa.Column("revoked", Instant(), nullable=True),
        sa.PrimaryKeyConstraint("key_id", name=op.f("pk_keys")),
    )
    op.create_table(
        "users",
        sa.Column("user_name", sa.String(length=64), nullable=False),
        sa.Column("password_hash", sa.Text(), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("all_sites", sa.Boolean(), nullable=False),
        sa.Column("made", Instant(), nullable=False),
        sa.Column("shut", Instant(), nullable=True),
        sa.PrimaryKeyConstraint("user_name", name=op.f("pk_users")),
    )
    op.create_table(
        "key_sites",
        sa.Column("key_id", sa.String(length=16), nullable=False),
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["key_id"], ["keys.key_id"], name=op.f("fk_key_sites_key_id")),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_key_sites_site")),
        sa.PrimaryKeyConstraint("key_id", "site", name=op.f("pk_key_sites")),
    )
    op.create_table(
        "sessions",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("user_name", sa.String(length=64), nullable=False),
        sa.Column("made", Instant(), nullable=False),
        sa.Column("expires", Instant(), nullable=False),
        sa.ForeignKeyConstraint(["user_name"], ["users.user_name"], name=op.f("fk_sessions_user_name")),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_sessions")),
    )
    op.create_table(
        "user_sites",
        sa.Column("user_name", sa.String(length=64), nullable=False),
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_user_sites_site")),
        sa.ForeignKeyConstraint(["user_name"], ["users.user_name"], name=op.f("fk_user_sites_user_name")),
        sa.PrimaryKeyConstraint("user_name", "site", name=op.f("pk_user_sites")),
    )


def _outgoing() -> None:
    op.create_table(
        "answers_given",
        sa.Column("actor", sa.Text(), nullable=False),
        sa.Column("idempotency_key", sa.String(length=128), nullable=False),
        sa.Column("request_digest", sa.String(length=64), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.PrimaryKeyConstraint("actor", "idempotency_key", name=op.f("pk_answers_given")),
    )
    op.create_table(
        "calendar_addresses",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("made", Instant(), nullable=False),
        sa.Column("revoked", Instant(), nullable=True),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_calendar_addresses_site")),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_calendar_addresses")),
    )
    op.create_table(
        "webhooks",
        sa.Column("webhook", sa.String(length=36), nullable=False),
        sa.Column("site", sa.String(length=64), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("secret", sa.Text(), nullable=False),
        sa.Column("made", Instant(), nullable=False),
        sa.Column("ended", Instant(), nullable=True),
        sa.ForeignKeyConstraint(["site"], ["sites.site"], name=op.f("fk_webhooks_site")),
        sa.PrimaryKeyConstraint("webhook", name=op.f("pk_webhooks")),
    )
    op.create_table(
        "outbox",
        sa.Column("event", sa.String(length=36), nullable=False),
        sa.Column("webhook", sa.String(length=36), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("made", Instant(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("next_try", Instant(), nullable=True),
        sa.Column("delivered", Instant(), nullable=True),
        sa.Column("last_answer", sa.Text(), server_default="", nullable=False),
        sa.ForeignKeyConstraint(["webhook"], ["webhooks.webhook"], name=op.f("fk_outbox_webhook")),
        sa.PrimaryKeyConstraint("event", name=op.f("pk_outbox")),
    )
    op.create_index(op.f("ix_outbox_next_try"), "outbox", ["next_try"], unique=False)


def _trail() -> None:
    op.create_table(
        "trail",
        sa.Column("entry", sa.Integer(), autoincrement=True, nullable=False),
        sa.Column("at", Instant(), nullable=False),
        sa.Column("actor", sa.Text(), nullable=False),
        sa.Column("did", sa.String(length=32), nullable=False),
        sa.Column("site", sa.String(length=64), nullable=True),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("entry", name=op.f("pk_trail")),
    )
    op.create_index(op.f("ix_trail_site_entry"), "trail", ["site", "entry"], unique=False)


def _keep_the_trail() -> None:
    if op.get_context().dialect.name == "sqlite":
        for what in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER trail_{what.lower()} BEFORE {what} ON trail "
                f"BEGIN SELECT RAISE(ABORT, '{_ONLY_GROWS}'); END"
            )
        return
    op.execute(
        "CREATE FUNCTION trail_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{_ONLY_GROWS}'; END $$"
    )
    op.execute(
        "CREATE TRIGGER trail_stays BEFORE UPDATE OR DELETE ON trail FOR EACH ROW EXECUTE FUNCTION trail_only_grows()"
    )
