"""0002: the mentor's sign-offs and her second markings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

MOMENT = sa.String(27)


def upgrade() -> None:
    """Two new tables; nothing of before is touched."""
    create_sign_offs()
    create_second_markings()


def create_sign_offs() -> None:
    """Each with the figures as they stood, and its withdrawal if there was one."""
    op.create_table(
        "sign_offs",
        sa.Column("id", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("trainee_key", sa.String(40), nullable=False),
        sa.Column("mentor_key", sa.String(40), nullable=False),
        sa.Column("edge_types", sa.Text, nullable=False),
        sa.Column("signed_on", sa.Date, nullable=False),
        sa.Column("answers", sa.Text, nullable=False),
        sa.Column("evidence", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("signed_at", MOMENT, nullable=False),
        sa.Column("withdrawn_on", sa.Date),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("withdrawn_at", MOMENT),
        sa.PrimaryKeyConstraint("id", name="pk_sign_offs"),
        sa.ForeignKeyConstraint(["trainee_key"], ["people.key"], name="fk_sign_offs_trainee_key_people"),
        sa.ForeignKeyConstraint(["mentor_key"], ["people.key"], name="fk_sign_offs_mentor_key_people"),
    )
    op.create_index("ix_sign_offs_trainee_key", "sign_offs", ["trainee_key"])


def create_second_markings() -> None:
    """Whole documents, beside the first markings."""
    op.create_table(
        "second_markings",
        sa.Column("id", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("mentor_key", sa.String(40), nullable=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("taken_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_second_markings"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_second_markings_round_key_rounds"),
        sa.ForeignKeyConstraint(["mentor_key"], ["people.key"], name="fk_second_markings_mentor_key_people"),
    )
    op.create_index("ix_second_markings_round_key", "second_markings", ["round_key"])
