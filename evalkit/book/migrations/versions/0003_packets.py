"""0003: the packets taken in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

MOMENT = sa.String(27)


def upgrade() -> None:
    """One new table; nothing of before is touched."""
    op.create_table(
        "packets",
        sa.Column("seal", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("version", sa.Integer),
        sa.Column("became", sa.Integer),
        sa.Column("taken_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("seal", name="pk_packets"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_packets_round_key_rounds"),
    )
    op.create_index("ix_packets_round_key", "packets", ["round_key"])
