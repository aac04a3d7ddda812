"""The programs that a person says are in a clock."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Every word that was kept before is of a plan's table by station, so its programs are none."""
    op.add_column("tables_keyed_in", sa.Column("programs", sa.Text, nullable=False, server_default=""))
