"""Run the steps on the connection that `stores.migrate` hands over; there is no other way in."""

from __future__ import annotations

from alembic import context

from etsched.stores.schema import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    transaction_per_migration=False,
    render_as_batch=True,
)
context.run_migrations()
