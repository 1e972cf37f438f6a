"""0006: second markings that are being worked on."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

MOMENT = sa.String(27)


def upgrade() -> None:
    """Add `second_drafts`; nothing that stands is touched."""
    op.create_table(
        "second_drafts",
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("mentor_key", sa.String(40), nullable=False),
        sa.Column("number", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("saved_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("round_key", "mentor_key", "number", name="pk_second_drafts"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_second_drafts_round_key_rounds"),
        sa.ForeignKeyConstraint(["mentor_key"], ["people.key"], name="fk_second_drafts_mentor_key_people"),
    )
