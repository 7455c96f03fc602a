"""The table of events."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "events",
        sa.Column(
            "seq", sa.BigInteger().with_variant(sa.Integer, "sqlite"), primary_key=True, autoincrement=True
        ),
        sa.Column("id", sa.String(200), nullable=False, unique=True),
        sa.Column("stream", sa.String(250), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("received", sa.String(40), nullable=False),
        sa.Column("by", sa.String(200), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("data", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("events_stream", "events", ["stream", "seq"])
