"""The numbered steps make exactly the tables described, each whole or not at all."""

from __future__ import annotations

import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateIndex, CreateTable

from evalkit.book.book import Book
from evalkit.book.connect import FILE, engine_for
from evalkit.book.making import MIGRATIONS, migrate, read_version
from evalkit.book.schema import VERSIONS, metadata
from evalkit.errors import BookError
from tests.book.values import TickingClock

DESCRIBED = "SELECT type, name, sql FROM sqlite_master WHERE tbl_name != 'alembic_version' ORDER BY type, name"


def test_the_steps_make_the_described_tables(folder: Path):
    described = create_engine("sqlite://")
    metadata.create_all(described)
    with described.connect() as connection:
        expected = connection.exec_driver_sql(DESCRIBED).all()
    with sqlite3.connect(folder / FILE) as connection:
        found = connection.execute(DESCRIBED).fetchall()
    assert _unspaced(found) == _unspaced(expected)


def _unspaced(rows: Iterable[Sequence[str | None]]) -> list[tuple[str, ...]]:
    """A column that a later step added stands on the line of the one before it: blanks say nothing."""
    return [tuple(" ".join((words or "").split()) for words in row) for row in rows]


def test_alembic_finds_no_difference(folder: Path):
    with engine_for(folder / FILE).connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_the_numbers_are_those_of_the_steps(folder: Path):
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    steps = [step.revision for step in ScriptDirectory.from_config(config).walk_revisions()]
    assert tuple(reversed(steps)) == VERSIONS
    assert read_version(engine_for(folder / FILE)) == VERSIONS[-1]


def test_postgresql_can_say_every_table():
    dialect = postgresql.dialect()
    for table in metadata.sorted_tables:
        assert str(CreateTable(table).compile(dialect=dialect))
        for index in table.indexes:
            words = str(CreateIndex(index).compile(dialect=dialect))
            assert ("WHERE finished_at IS NULL" in words) == (index.name == "uq_markings_draft")


def test_opening_does_not_load_alembic(folder: Path):
    script = (
        "import sys, pathlib\n"
        "from datetime import UTC, datetime\n"
        "from evalkit.book.book import Book\n"
        "Book.open(pathlib.Path(sys.argv[1]), lambda: datetime.now(UTC)).close()\n"
        "print('alembic' in sys.modules)\n"
    )
    done = subprocess.run([sys.executable, "-c", script, folder], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


# --- a step to come -------------------------------------------------------------------------------------------------

NEXT = f"{int(VERSIONS[-1]) + 1:04}"
SECOND_STEP = '''
"""People get a town."""
import sqlalchemy as sa
from alembic import op

revision, down_revision, branch_labels, depends_on = "{number}", "{before}", None, None

def upgrade() -> None:
    with op.batch_alter_table("people", recreate="always") as people:
        people.add_column(sa.Column("town", sa.Text, nullable=False, server_default=""))
    op.create_table("towns", sa.Column("name", sa.Text, primary_key=True))
    {then}
'''


@pytest.fixture
def steps(tmp_path: Path) -> Path:
    return Path(shutil.copytree(MIGRATIONS, tmp_path / "steps"))


def write_step(steps: Path, then: str) -> None:
    (steps / "versions" / "next_town.py").write_text(
        SECOND_STEP.format(then=then, number=NEXT, before=VERSIONS[-1]), encoding="utf-8"
    )


def test_a_further_step_keeps_every_row(full_copy: Path, steps: Path):
    write_step(steps, "pass")
    migrate(full_copy / FILE, to=NEXT, steps=steps)
    assert read_version(engine_for(full_copy / FILE)) == NEXT
    with sqlite3.connect(full_copy / FILE) as connection:
        assert connection.execute("SELECT key, town FROM people ORDER BY key").fetchall() == [
            ("berit", ""),
            ("nia", ""),
            ("oda", ""),
        ]
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
        connection.execute("UPDATE alembic_version SET version_num = ?", [VERSIONS[-1]])
    with Book.open(full_copy, TickingClock()) as book:
        assert book.check() == []


def test_a_step_that_fails_leaves_nothing(full_copy: Path, steps: Path, content_of):
    before = content_of(full_copy)
    write_step(steps, 'op.execute("INSERT INTO nowhere VALUES (1)")')
    with pytest.raises(BookError):
        migrate(full_copy / FILE, to=NEXT, steps=steps)
    assert content_of(full_copy) == before
    assert "towns" not in content_of(full_copy)


def test_a_step_that_tears_a_reference_is_told(full_copy: Path, steps: Path):
    write_step(steps, """op.execute("DELETE FROM people WHERE key = 'nia'")""")
    with pytest.raises(BookError, match="points nowhere"):
        migrate(full_copy / FILE, to=NEXT, steps=steps)
