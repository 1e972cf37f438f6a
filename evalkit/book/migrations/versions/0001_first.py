"""0001: people, stock, rubrics, rounds, assessments, markings, photos, openings, history."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

MOMENT = sa.String(27)


def upgrade() -> None:
    """Each table after those it points to."""
    create_people()
    create_pairs()
    create_rubrics()
    create_rounds()
    create_numbered_pairs()
    create_legs()
    create_assessments()
    create_assessed_pairs()
    create_markings()
    create_marked_pairs()
    create_readings()
    create_photos()
    create_pair_photos()
    create_openings()
    create_acts()


def create_people() -> None:
    """Mentors and trainees."""
    op.create_table(
        "people",
        sa.Column("key", sa.String(40), nullable=False),
        sa.Column("role", sa.String(10), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_people"),
    )


def create_pairs() -> None:
    """The stock, each description of a pair a version."""
    op.create_table(
        "pairs",
        sa.Column("tag", sa.String(20), nullable=False),
        sa.Column("version", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("edge_type", sa.String(20), nullable=False),
        sa.Column("edge_line", sa.String(20), nullable=False),
        sa.Column("size_in", sa.String(40), nullable=False),
        sa.Column("size_method", sa.String(20), nullable=False),
        sa.Column("blade_length_mm", sa.Double),
        sa.Column("hand", sa.String(10), nullable=False),
        sa.Column("handle", sa.String(20), nullable=False),
        sa.Column("make", sa.String(20), nullable=False),
        sa.Column("teeth", sa.Integer),
        sa.Column("pivot", sa.String(200), nullable=False),
        sa.Column("faults", sa.Text, nullable=False),
        sa.Column("difficulty", sa.Integer, nullable=False),
        sa.Column("declared_value", sa.String(40)),
        sa.Column("currency", sa.String(3)),
        sa.Column("origin", sa.Text, nullable=False),
        sa.Column("written_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("tag", "version", name="pk_pairs"),
    )


def create_rubrics() -> None:
    """Rubrics frozen by content."""
    op.create_table(
        "rubrics",
        sa.Column("key", sa.String(40), nullable=False),
        sa.Column("version", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("frozen_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("key", "version", name="pk_rubrics"),
        sa.UniqueConstraint("digest", name="uq_rubrics_digest"),
    )


def create_rounds() -> None:
    """Boxes."""
    op.create_table(
        "rounds",
        sa.Column("key", sa.String(40), nullable=False),
        sa.Column("trainee_key", sa.String(40), nullable=False),
        sa.Column("mentor_key", sa.String(40), nullable=False),
        sa.Column("rubric_digest", sa.String(64), nullable=False),
        sa.Column("planned_on", sa.Date, nullable=False),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_rounds"),
        sa.ForeignKeyConstraint(["trainee_key"], ["people.key"], name="fk_rounds_trainee_key_people"),
        sa.ForeignKeyConstraint(["mentor_key"], ["people.key"], name="fk_rounds_mentor_key_people"),
        sa.ForeignKeyConstraint(["rubric_digest"], ["rubrics.digest"], name="fk_rounds_rubric_digest_rubrics"),
    )
    op.create_index("ix_rounds_trainee_key", "rounds", ["trainee_key"])


def create_numbered_pairs() -> None:
    """Which pair wears which number in a box."""
    op.create_table(
        "numbered_pairs",
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("number", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("tag", sa.String(20), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("called_for", sa.String(20)),
        sa.PrimaryKeyConstraint("round_key", "number", name="pk_numbered_pairs"),
        sa.ForeignKeyConstraint(
            ["tag", "version"], ["pairs.tag", "pairs.version"], name="fk_numbered_pairs_tag_version_pairs"
        ),
        sa.UniqueConstraint("round_key", "tag", name="uq_numbered_pairs_round_key_tag"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_numbered_pairs_round_key_rounds"),
    )
    op.create_index("ix_numbered_pairs_tag", "numbered_pairs", ["tag"])


def create_legs() -> None:
    """Steps of a box's journey."""
    op.create_table(
        "legs",
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("position", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("happened_on", sa.Date, nullable=False),
        sa.Column("carrier_ref", sa.String(200), nullable=False),
        sa.Column("condition", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("round_key", "position", name="pk_legs"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_legs_round_key_rounds"),
    )


def create_assessments() -> None:
    """Sealed versions of a trainee's record."""
    op.create_table(
        "assessments",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("written_on", sa.Date),
        sa.Column("disinfected_with", sa.Text, nullable=False),
        sa.Column("letter", sa.Text, nullable=False),
        sa.Column("is_transcribed", sa.Boolean, nullable=False),
        sa.Column("sealed_at", MOMENT, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("seal", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_assessments"),
        sa.UniqueConstraint("round_key", "version", name="uq_assessments_round_key_version"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_assessments_round_key_rounds"),
    )


def create_assessed_pairs() -> None:
    """What the trainee recorded of one pair."""
    op.create_table(
        "assessed_pairs",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("assessment_id", sa.Integer, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("stated_class", sa.String(1)),
        sa.Column("decision", sa.String(20)),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("work", sa.Text, nullable=False),
        sa.Column("verdict", sa.String(20)),
        sa.Column("notes", sa.Text, nullable=False),
        sa.Column("questions", sa.Text, nullable=False),
        sa.Column("lessons", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_assessed_pairs"),
        sa.UniqueConstraint("assessment_id", "number", name="uq_assessed_pairs_assessment_id_number"),
        sa.ForeignKeyConstraint(
            ["assessment_id"], ["assessments.id"], name="fk_assessed_pairs_assessment_id_assessments"
        ),
    )


def create_markings() -> None:
    """Versions of a mentor's marking; at most one of them a draft."""
    op.create_table(
        "markings",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("mentor_key", sa.String(40), nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("started_at", MOMENT, nullable=False),
        sa.Column("finished_at", MOMENT),
        sa.Column("marked_on", sa.Date),
        sa.Column("letter", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_markings"),
        sa.UniqueConstraint("round_key", "mentor_key", "version", name="uq_markings_round_key_mentor_key_version"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_markings_round_key_rounds"),
        sa.ForeignKeyConstraint(["mentor_key"], ["people.key"], name="fk_markings_mentor_key_people"),
    )
    is_draft = sa.text("finished_at IS NULL")
    op.create_index(
        "uq_markings_draft",
        "markings",
        ["round_key", "mentor_key"],
        unique=True,
        sqlite_where=is_draft,
        postgresql_where=is_draft,
    )


def create_marked_pairs() -> None:
    """What the mentor saw of one pair."""
    op.create_table(
        "marked_pairs",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("marking_id", sa.Integer, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("transit", sa.Text, nullable=False),
        sa.Column("transit_note", sa.Text, nullable=False),
        sa.Column("called_for", sa.String(20)),
        sa.Column("comments", sa.Text, nullable=False),
        sa.Column("keep", sa.String(200), nullable=False),
        sa.Column("change", sa.String(200), nullable=False),
        sa.Column("answers", sa.Text, nullable=False),
        sa.Column("notes", sa.Text, nullable=False),
        sa.Column("was_opened", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_marked_pairs"),
        sa.UniqueConstraint("marking_id", "number", name="uq_marked_pairs_marking_id_number"),
        sa.ForeignKeyConstraint(["marking_id"], ["markings.id"], name="fk_marked_pairs_marking_id_markings"),
    )


def owner_columns() -> tuple[sa.Column[int], sa.Column[int]]:
    """Of these, one is filled."""
    return sa.Column("assessed_pair_id", sa.Integer), sa.Column("marked_pair_id", sa.Integer)


def owner_rules(table: str) -> tuple[sa.Constraint, ...]:
    """Every row belongs to one assessed pair or to one marked pair."""
    is_owned = "(assessed_pair_id IS NULL) <> (marked_pair_id IS NULL)"
    return (
        sa.CheckConstraint(is_owned, name=op.f(f"ck_{table}_one_owner")),
        sa.ForeignKeyConstraint(
            ["assessed_pair_id"], ["assessed_pairs.id"], name=f"fk_{table}_assessed_pair_id_assessed_pairs"
        ),
        sa.ForeignKeyConstraint(
            ["marked_pair_id"], ["marked_pairs.id"], name=f"fk_{table}_marked_pair_id_marked_pairs"
        ),
        sa.PrimaryKeyConstraint("id", name=f"pk_{table}"),
    )


def create_readings() -> None:
    """One thing seen, of an assessed or of a marked pair."""
    op.create_table(
        "readings",
        sa.Column("id", sa.Integer, nullable=False),
        *owner_columns(),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("stage", sa.String(20), nullable=False),
        sa.Column("criterion", sa.String(40), nullable=False),
        sa.Column("blade", sa.String(10)),
        sa.Column("station", sa.String(10)),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("level", sa.Integer),
        sa.Column("number", sa.Double),
        sa.Column("unit", sa.String(20)),
        sa.Column("doubt", sa.Double),
        sa.Column("ring", sa.String(10)),
        sa.Column("start_deg", sa.Double),
        sa.Column("medium", sa.String(20)),
        sa.Column("result", sa.String(20)),
        sa.Column("push_mm", sa.Double),
        sa.Column("why", sa.String(20)),
        sa.Column("note", sa.Text, nullable=False),
        *owner_rules("readings"),
    )
    op.create_index("ix_readings_assessed_pair_id", "readings", ["assessed_pair_id"])
    op.create_index("ix_readings_marked_pair_id", "readings", ["marked_pair_id"])


def create_photos() -> None:
    """Pictures kept beside the book."""
    op.create_table(
        "photos",
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("media_type", sa.String(40), nullable=False),
        sa.Column("n_bytes", sa.Integer, nullable=False),
        sa.Column("width_px", sa.Integer, nullable=False),
        sa.Column("height_px", sa.Integer, nullable=False),
        sa.Column("added_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("sha256", name="pk_photos"),
    )


def create_pair_photos() -> None:
    """Which picture stands beside which pair."""
    op.create_table(
        "pair_photos",
        sa.Column("id", sa.Integer, nullable=False),
        *owner_columns(),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("caption", sa.String(200), nullable=False),
        *owner_rules("pair_photos"),
        sa.ForeignKeyConstraint(["sha256"], ["photos.sha256"], name="fk_pair_photos_sha256_photos"),
    )
    op.create_index("ix_pair_photos_assessed_pair_id", "pair_photos", ["assessed_pair_id"])
    op.create_index("ix_pair_photos_marked_pair_id", "pair_photos", ["marked_pair_id"])


def create_openings() -> None:
    """Who read an assessment before marking."""
    op.create_table(
        "openings",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("round_key", sa.String(40), nullable=False),
        sa.Column("number", sa.Integer),
        sa.Column("who", sa.String(40), nullable=False),
        sa.Column("opened_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_openings"),
        sa.ForeignKeyConstraint(["round_key"], ["rounds.key"], name="fk_openings_round_key_rounds"),
    )
    op.create_index("ix_openings_round_key", "openings", ["round_key"])


def create_acts() -> None:
    """The history, chained by digests."""
    op.create_table(
        "acts",
        sa.Column("seq", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.String(40), nullable=False),
        sa.Column("act", sa.String(40), nullable=False),
        sa.Column("subject", sa.String(120), nullable=False),
        sa.Column("before", sa.Text, nullable=False),
        sa.Column("after", sa.Text, nullable=False),
        sa.Column("salt", sa.String(32), nullable=False),
        sa.Column("content_digest", sa.String(64), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_acts"),
    )
    op.create_index("ix_acts_subject", "acts", ["subject"])
