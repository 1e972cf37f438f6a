"""0005: the mentor's readings before posting; pictures, retirement and weight of pairs of the stock."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

MOMENT = sa.String(27)


def upgrade() -> None:
    """Four new tables and one column that may be empty; no row of before is touched."""
    op.add_column("pairs", sa.Column("weight_g", sa.Double))
    create_intakes()
    create_stock_photos()
    create_retirements()


def create_intakes() -> None:
    """`intakes`, and which pictures each shows."""
    op.create_table(
        "intakes",
        sa.Column("id", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("mentor_key", sa.String(40), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("taken_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_intakes"),
        sa.UniqueConstraint("round_key", "version", name="uq_intakes_round_key_version"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_intakes_round_key_rounds"),
        sa.ForeignKeyConstraint(["mentor_key"], ["people.key"], name="fk_intakes_mentor_key_people"),
    )
    op.create_table(
        "intake_photos",
        sa.Column("intake_id", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("intake_id", "sha256", name="pk_intake_photos"),
        sa.ForeignKeyConstraint(["intake_id"], ["intakes.id"], name="fk_intake_photos_intake_id_intakes"),
        sa.ForeignKeyConstraint(["sha256"], ["photos.sha256"], name="fk_intake_photos_sha256_photos"),
    )


def create_stock_photos() -> None:
    """`stock_photos`."""
    op.create_table(
        "stock_photos",
        sa.Column("tag", sa.String(20), nullable=False),
        sa.Column("position", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("caption", sa.String(200), nullable=False),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("tag", "position", name="pk_stock_photos"),
        sa.ForeignKeyConstraint(["sha256"], ["photos.sha256"], name="fk_stock_photos_sha256_photos"),
    )


def create_retirements() -> None:
    """`retirements`."""
    op.create_table(
        "retirements",
        sa.Column("id", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("tag", sa.String(20), nullable=False),
        sa.Column("retired_on", sa.Date, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("retired_at", MOMENT, nullable=False),
        sa.Column("back_on", sa.Date),
        sa.Column("back_reason", sa.Text, nullable=False),
        sa.Column("back_at", MOMENT),
        sa.PrimaryKeyConstraint("id", name="pk_retirements"),
    )
    op.create_index("ix_retirements_tag", "retirements", ["tag"])
