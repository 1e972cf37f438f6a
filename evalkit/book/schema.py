"""The tables of the book, described, numbered, with their history.

What was seen is stored; levels, scores and verdicts are computed from it. Every table works the same on SQLite and
PostgreSQL. Nothing that was acknowledged is overwritten: a pair, an assessment and a marking get a further version,
and `acts` keeps what stood before.

History of the tables, one step of `migrations/versions/` each:

- 0001: first.
- 0002: sign_offs, second_markings.
- 0003: packets.
- 0004: school_values.
- 0005: intakes, intake_photos, stock_photos, retirements; pairs get weight_g.
- 0006: second_drafts.
"""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Dialect,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

VERSIONS = ("0001", "0002", "0003", "0004", "0005", "0006")
"""Every number a book may wear, oldest first; the last is the one this program writes."""

MOMENT_LENGTH = 27

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)


def moment_text(moment: datetime) -> str:
    """A moment as it is stored and sealed: UTC, to the microsecond, sorted as text as it is in time."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")


class Moment(TypeDecorator[datetime]):
    """A moment in UTC, aware on every database: SQLite would hand it back without its zone."""

    impl = String(MOMENT_LENGTH)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:
        del dialect
        return None if value is None else moment_text(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> datetime | None:
        del dialect
        if value is None:
            return None
        moment = datetime.fromisoformat(str(value))
        if moment_text(moment) != value:  # Python reads other spellings too, and a changed letter would go unseen
            raise ValueError(f"{value!r} is not how a moment is written")
        return moment


# Mentors and trainees.
people = Table(
    "people",
    metadata,
    Column("key", String(40), primary_key=True),
    Column("role", String(10), nullable=False),  # mentor, trainee
    Column("name", String(200), nullable=False),
    Column("added_at", Moment, nullable=False),
)

# The stock. A pair described anew gets a further version, and rounds name the version that lay in the box: the blade
# gets narrower, the old report must not. `faults` is JSON: read and written whole with the description, in order.
# Decimals are text, so that 5.50 stays 5.50.
pairs = Table(
    "pairs",
    metadata,
    Column("tag", String(20), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("edge_type", String(20), nullable=False),
    Column("edge_line", String(20), nullable=False),
    Column("size_in", String(40), nullable=False),
    Column("size_method", String(20), nullable=False),
    Column("blade_length_mm", Double),
    Column("hand", String(10), nullable=False),
    Column("handle", String(20), nullable=False),
    Column("make", String(20), nullable=False),
    Column("teeth", Integer),
    Column("pivot", String(200), nullable=False),
    Column("faults", Text, nullable=False),
    Column("difficulty", Integer, nullable=False),
    Column("declared_value", String(40)),
    Column("currency", String(3)),
    Column("origin", Text, nullable=False),
    Column("written_at", Moment, nullable=False),
    Column("weight_g", Double),
)

# Rubrics as they were when first used; `content` is the JSON whose SHA-256 is `digest`.
rubrics = Table(
    "rubrics",
    metadata,
    Column("key", String(40), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("digest", String(64), nullable=False),
    Column("content", Text, nullable=False),
    Column("frozen_at", Moment, nullable=False),
    UniqueConstraint("digest"),
)

# One row per box.
rounds = Table(
    "rounds",
    metadata,
    Column("key", String(40), primary_key=True),
    Column("trainee_key", ForeignKey("people.key"), nullable=False, index=True),
    Column("mentor_key", ForeignKey("people.key"), nullable=False),
    Column("rubric_digest", ForeignKey("rubrics.digest"), nullable=False),
    Column("planned_on", Date, nullable=False),
    Column("added_at", Moment, nullable=False),
)

# Which pair, as then described, wears which number in a box.
numbered_pairs = Table(
    "numbered_pairs",
    metadata,
    Column("round_key", ForeignKey("rounds.key"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("position", Integer, nullable=False),
    Column("tag", String(20), nullable=False),
    Column("version", Integer, nullable=False),
    Column("called_for", String(20)),
    ForeignKeyConstraint(["tag", "version"], ["pairs.tag", "pairs.version"]),
    UniqueConstraint("round_key", "tag"),
    Index(None, "tag"),
)

# The journey of a box, step by step.
legs = Table(
    "legs",
    metadata,
    Column("round_key", ForeignKey("rounds.key"), primary_key=True),
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(20), nullable=False),
    Column("happened_on", Date, nullable=False),
    Column("carrier_ref", String(200), nullable=False),
    Column("condition", Text, nullable=False),
)

# Sealed versions of the trainee's record of a round; `seal` is the SHA-256 of its canonical JSON. Trainee and rubric
# are those of the round. Immutable.
assessments = Table(
    "assessments",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("round_key", ForeignKey("rounds.key"), nullable=False),
    Column("version", Integer, nullable=False),
    Column("written_on", Date),
    Column("disinfected_with", Text, nullable=False),
    Column("letter", Text, nullable=False),
    Column("is_transcribed", Boolean, nullable=False),
    Column("sealed_at", Moment, nullable=False),
    Column("reason", Text, nullable=False),  # of the amendment; empty for the first version
    Column("seal", String(64), nullable=False),
    UniqueConstraint("round_key", "version"),
)

# What the trainee recorded of one pair. `work` and `questions` are JSON: read and written whole, in order.
assessed_pairs = Table(
    "assessed_pairs",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("assessment_id", ForeignKey("assessments.id"), nullable=False),
    Column("position", Integer, nullable=False),
    Column("number", Integer, nullable=False),
    Column("stated_class", String(1)),
    Column("decision", String(20)),
    Column("reason", Text, nullable=False),
    Column("work", Text, nullable=False),
    Column("verdict", String(20)),
    Column("notes", Text, nullable=False),
    Column("questions", Text, nullable=False),
    Column("lessons", Text, nullable=False),
    UniqueConstraint("assessment_id", "number"),
)

# Versions of a mentor's marking of a round. `finished_at` is NULL while it is being worked on; then immutable.
markings = Table(
    "markings",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("round_key", ForeignKey("rounds.key"), nullable=False),
    Column("mentor_key", ForeignKey("people.key"), nullable=False),
    Column("version", Integer, nullable=False),
    Column("started_at", Moment, nullable=False),
    Column("finished_at", Moment),
    Column("marked_on", Date),
    Column("letter", Text, nullable=False),
    Column("reason", Text, nullable=False),  # of the amendment; empty for the first version
    UniqueConstraint("round_key", "mentor_key", "version"),
)

# What the mentor saw of one pair. `transit`, `comments` and `answers` are JSON: read and written whole, in order.
marked_pairs = Table(
    "marked_pairs",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("marking_id", ForeignKey("markings.id"), nullable=False),
    Column("position", Integer, nullable=False),
    Column("number", Integer, nullable=False),
    Column("transit", Text, nullable=False),
    Column("transit_note", Text, nullable=False),
    Column("called_for", String(20)),
    Column("comments", Text, nullable=False),
    Column("keep", String(200), nullable=False),
    Column("change", String(200), nullable=False),
    Column("answers", Text, nullable=False),
    Column("notes", Text, nullable=False),
    Column("was_opened", Boolean, nullable=False),
    UniqueConstraint("marking_id", "number"),
)

# One thing seen, of an assessed or of a marked pair. Which value columns are filled follows from `kind`.
readings = Table(
    "readings",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("assessed_pair_id", ForeignKey("assessed_pairs.id"), index=True),
    Column("marked_pair_id", ForeignKey("marked_pairs.id"), index=True),
    Column("position", Integer, nullable=False),
    Column("stage", String(20), nullable=False),
    Column("criterion", String(40), nullable=False),
    Column("blade", String(10)),
    Column("station", String(10)),
    Column("kind", String(10), nullable=False),  # level, measure, cut, not seen
    Column("level", Integer),
    Column("number", Double),
    Column("unit", String(20)),
    Column("doubt", Double),
    Column("ring", String(10)),
    Column("start_deg", Double),
    Column("medium", String(20)),
    Column("result", String(20)),
    Column("push_mm", Double),
    Column("why", String(20)),
    Column("note", Text, nullable=False),
    CheckConstraint("(assessed_pair_id IS NULL) <> (marked_pair_id IS NULL)", name="one_owner"),
)

# Pictures whose bytes lie in the folder beside the book, each under its SHA-256.
photos = Table(
    "photos",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("media_type", String(40), nullable=False),
    Column("n_bytes", Integer, nullable=False),
    Column("width_px", Integer, nullable=False),
    Column("height_px", Integer, nullable=False),
    Column("added_at", Moment, nullable=False),
)

# Which picture stands beside which assessed or marked pair.
pair_photos = Table(
    "pair_photos",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("assessed_pair_id", ForeignKey("assessed_pairs.id"), index=True),
    Column("marked_pair_id", ForeignKey("marked_pairs.id"), index=True),
    Column("position", Integer, nullable=False),
    Column("sha256", ForeignKey("photos.sha256"), nullable=False),
    Column("caption", String(200), nullable=False),
    CheckConstraint("(assessed_pair_id IS NULL) <> (marked_pair_id IS NULL)", name="one_owner"),
)

# Who read the assessment of a pair (of all pairs where `number` is NULL): what they mark afterwards is not blind.
openings = Table(
    "openings",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("round_key", ForeignKey("rounds.key"), nullable=False, index=True),
    Column("number", Integer),
    Column("who", String(40), nullable=False),
    Column("opened_at", Moment, nullable=False),
)

# The mentor's word that customers' shears of some edge types may come. `edge_types` and `answers` are JSON, `evidence`
# the figures as they stood, letter for letter. Nothing of a row changes but its withdrawal, once.
sign_offs = Table(
    "sign_offs",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("trainee_key", ForeignKey("people.key"), nullable=False, index=True),
    Column("mentor_key", ForeignKey("people.key"), nullable=False),
    Column("edge_types", Text, nullable=False),
    Column("signed_on", Date, nullable=False),
    Column("answers", Text, nullable=False),
    Column("evidence", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("signed_at", Moment, nullable=False),
    Column("withdrawn_on", Date),
    Column("reason", Text, nullable=False),
    Column("withdrawn_at", Moment),
)

# A blind second marking of some pairs of a round: it tells how steady the mentor is and changes no verdict. `content`
# is the canonical JSON of the marking. Immutable.
second_markings = Table(
    "second_markings",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("round_key", ForeignKey("rounds.key"), nullable=False, index=True),
    Column("mentor_key", ForeignKey("people.key"), nullable=False),
    Column("content", Text, nullable=False),
    Column("taken_at", Moment, nullable=False),
)

# A second marking while it is being worked on, pair by pair: picked, or begun. `content` is the canonical JSON of the
# pair. Rewritten with each change, gone once it is finished or put away; the history keeps what stood.
second_drafts = Table(
    "second_drafts",
    metadata,
    Column("round_key", ForeignKey("rounds.key"), primary_key=True),
    Column("mentor_key", ForeignKey("people.key"), primary_key=True),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("content", Text, nullable=False),
    Column("saved_at", Moment, nullable=False),
)

# Packets taken in, by their seal: the same one again is known, and another under the same version of the sender's is
# refused. `became` is the book's own version of what was in it. Both are NULL for a kind that has none. Immutable.
packets = Table(
    "packets",
    metadata,
    Column("seal", String(64), primary_key=True),
    Column("kind", String(20), nullable=False),  # assessment, round, report
    Column("round_key", ForeignKey("rounds.key"), nullable=False, index=True),
    Column("version", Integer),
    Column("became", Integer),
    Column("taken_at", Moment, nullable=False),
)

# What the school has taught of the numbers that progress reckons with; the newest row counts, unless it was forgotten.
# `content` is canonical JSON. Nothing of a row changes but its being forgotten, once.
school_values = Table(
    "school_values",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("content", Text, nullable=False),
    Column("learnt_at", Moment, nullable=False),
    Column("forgotten_at", Moment),
)

# What the mentor read of the pairs of a box before it reached the trainee, in versions. `content` is the canonical JSON
# of the day and the pairs; round, mentor and rubric stand beside it or in the round. Immutable.
intakes = Table(
    "intakes",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("round_key", ForeignKey("rounds.key"), nullable=False),
    Column("mentor_key", ForeignKey("people.key"), nullable=False),
    Column("version", Integer, nullable=False),
    Column("content", Text, nullable=False),
    Column("reason", Text, nullable=False),  # of the amendment; empty for the first version
    Column("taken_at", Moment, nullable=False),
    UniqueConstraint("round_key", "version"),
)

# Which pictures an intake shows; where each stands is in its content.
intake_photos = Table(
    "intake_photos",
    metadata,
    Column("intake_id", ForeignKey("intakes.id"), primary_key=True),
    Column("sha256", ForeignKey("photos.sha256"), primary_key=True),
)

# Pictures of a pair of the stock, whatever box it is in, in the order in which they were added.
stock_photos = Table(
    "stock_photos",
    metadata,
    Column("tag", String(20), primary_key=True),
    Column("position", Integer, primary_key=True, autoincrement=False),
    Column("sha256", ForeignKey("photos.sha256"), nullable=False),
    Column("caption", String(200), nullable=False),
    Column("added_at", Moment, nullable=False),
)

# Pairs that are sent no more. Nothing of a row changes but that the pair is brought back, once.
retirements = Table(
    "retirements",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("tag", String(20), nullable=False, index=True),
    Column("retired_on", Date, nullable=False),
    Column("reason", Text, nullable=False),
    Column("retired_at", Moment, nullable=False),
    Column("back_on", Date),
    Column("back_reason", Text, nullable=False),
    Column("back_at", Moment),
)

# The history, one row per act. `before` and `after` are JSON from fact to value: what stood and what stands now, a long
# document as its SHA-256. `content_digest` covers who, act, subject, before, after and a salt; `digest` covers it, the
# number, the moment and the digest before: a chain. So an erasure can empty an act and leave the chain whole.
acts = Table(
    "acts",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("at", Moment, nullable=False),
    Column("who", String(40), nullable=False),
    Column("act", String(40), nullable=False),
    Column("subject", String(120), nullable=False, index=True),
    Column("before", Text, nullable=False),
    Column("after", Text, nullable=False),
    Column("salt", String(32), nullable=False),
    Column("content_digest", String(64), nullable=False),
    Column("digest", String(64), nullable=False),
)

# At most one marking of a round by one mentor is being worked on.
Index(
    "uq_markings_draft",
    markings.c.round_key,
    markings.c.mentor_key,
    unique=True,
    sqlite_where=markings.c.finished_at.is_(None),
    postgresql_where=markings.c.finished_at.is_(None),
)
