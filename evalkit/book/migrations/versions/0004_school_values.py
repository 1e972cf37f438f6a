"""0004: what the school has taught."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

MOMENT = sa.String(27)


def upgrade() -> None:
    """One new table; nothing of before is touched."""
    op.create_table(
        "school_values",
        sa.Column("id", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("learnt_at", MOMENT, nullable=False),
        sa.Column("forgotten_at", MOMENT),
        sa.PrimaryKeyConstraint("id", name="pk_school_values"),
    )
