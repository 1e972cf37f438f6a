"""Every change is told, and any change that was not told is found."""

from __future__ import annotations

import hashlib
import itertools
import json
import random
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from evalkit.book.book import Book
from evalkit.book.connect import FILE
from evalkit.book.history import WIDER, Changed
from evalkit.book.schema import metadata
from evalkit.book.steps_back import ON_THE_BENCH
from evalkit.errors import BookError, NotFoundError
from tests.book.conftest import MEANINGLESS
from tests.book.values import START, TickingClock


def test_acts_say_who_what_when_and_on_what(full_book: Book):
    acts = full_book.list_acts()
    assert [act.seq for act in acts] == list(range(1, len(acts) + 1))
    assert all(one.at < other.at for one, other in itertools.pairwise(acts))
    assert acts[0].at > START
    assert acts[0].at.utcoffset() is not None
    assert [(act.who, act.act, act.subject) for act in acts[:6]] == [
        ("oda", "add mentor", "person oda"),
        ("oda", "add mentor", "person berit"),
        ("oda", "add trainee", "person nia"),
        ("oda", "add pairs", "3 pairs"),
        ("oda", "freeze rubric", "rubric bench"),
        ("oda", "plan round", "round nia-1"),
    ]
    assert [act.act for act in full_book.list_acts("nia-1")][-7:] == [
        "finish marking",
        "take in marking",
        "mark pair",
        "take in second marking",
        "pick for a second marking",
        "mark pair a second time",
        "mark pair a second time",
    ]
    assert full_book.list_acts("round nia-1") == full_book.list_acts("nia-1")
    assert full_book.list_acts("%") == full_book.list_acts("ia-1") == []
    assert json.loads(json.dumps(acts[0].as_dict()))["at"] == "2026-03-02T09:30:01.123456Z"
    with pytest.raises(NotFoundError):
        full_book.get_act(999)


def test_an_act_named_after_a_round_changes_that_round_alone(full_book: Book):
    """Pages keep what rests on other rounds; only packets bring more along."""
    of_rounds = [act for act in full_book.list_acts() if act.subject.startswith("round ") and act.act != WIDER]
    assert len({act.act for act in of_rounds}) >= 12
    for act in of_rounds:
        key = act.subject.removeprefix("round ")
        for name, value in full_book.get_act(act.seq).after.items():
            kind, _, rest = name.partition(" ")
            told = value["round"] if name.startswith("second marking ") else rest.removeprefix("draft ").split()[0]
            assert told == key or kind == "photo", (act.act, name)


def test_what_was_changed_since(full_book: Book):
    acts = full_book.list_acts()
    assert full_book.changed_since(acts[-1].seq) == Changed()
    assert full_book.changed_since(0) is None, "people and pairs were added"
    for act in acts[:-1]:
        after = [later for later in acts if later.seq > act.seq]
        is_wider = any(later.act == WIDER or not later.subject.startswith("round ") for later in after)
        changed = full_book.changed_since(act.seq)
        assert (changed is None) == is_wider
        if changed is not None:
            assert changed.rounds == {later.subject.removeprefix("round ") for later in after}


def test_only_acts_on_the_bench_change_nothing_but_marks(full_book: Book):
    for act in full_book.list_acts():
        names = full_book.get_act(act.seq).after
        if all(name.startswith(("marking ", "second draft ")) and " number " in name for name in names):
            assert act.act in (*ON_THE_BENCH, "pick for a second marking", "put away second marking"), act


def test_a_person_can_recompute_the_chain(full_copy: Path):
    """By the words of the schema alone, without the code that wrote it."""
    rows = sqlite3.connect(full_copy / FILE).execute(
        "SELECT seq, at, who, act, subject, before, after, salt, content_digest, digest FROM acts ORDER BY seq"
    )
    before = "0" * 64
    for seq, at, *told, content_digest, digest in rows:
        content = dict(zip(("who", "act", "subject", "before", "after", "salt"), told, strict=True))
        for value, expected in ((content, content_digest), ([before, seq, at, content_digest], digest)):
            words = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
            assert hashlib.sha256(words.encode()).hexdigest() == expected
        before = digest


def test_a_sound_book(full_book: Book, full_copy: Path, content_of):
    before = content_of(full_copy)
    assert full_book.check() == []
    assert content_of(full_copy) == before


def other_value(value: object, kind: str) -> object:
    match value:
        case None:
            return 1 if kind in ("INTEGER", "DOUBLE", "BOOLEAN") else "x"
        case int() | float():
            return 1 - value if kind == "BOOLEAN" else value + 1
        case str() if value.startswith("20"):
            return value.replace("20", "19", 1)
        case str():
            return value + "x"
    raise AssertionError(value)


CELLS = [
    (table.name, column.name)
    for table in metadata.sorted_tables
    for column in table.columns
    if (table.name, column.name) not in MEANINGLESS and column.name != "position"
]


def test_every_cell_altered_behind_the_book_is_found(full_copy: Path):
    connection = sqlite3.connect(full_copy / FILE, isolation_level=None)
    connection.execute("PRAGMA ignore_check_constraints = ON")
    silent = []
    with Book.open(full_copy, TickingClock()) as book:
        for table, column in CELLS:
            kind = {name: kind for _, name, kind, *_ in connection.execute(f"PRAGMA table_info({table})")}[column]
            rowid, value = connection.execute(f'SELECT rowid, "{column}" FROM {table} LIMIT 1').fetchone()  # noqa: S608
            alter = f'UPDATE {table} SET "{column}" = ? WHERE rowid = ?'  # noqa: S608
            altered = other_value(value, kind)
            try:
                connection.execute(alter, [altered, rowid])
            except sqlite3.IntegrityError:  # that one is taken
                altered = value + 1000
                connection.execute(alter, [altered, rowid])
            if not book.check():
                silent.append((table, column))
            # For SQLite a single whole-number key is the number of the row.
            connection.execute(alter, [value, altered if column in ("id", "seq") else rowid])
        assert silent == []
        assert book.check() == []


@pytest.mark.parametrize("table", [table for table in metadata.tables if table != "acts"])
def test_a_row_taken_out_is_found(full_copy: Path, table: str):
    with sqlite3.connect(full_copy / FILE) as connection:
        connection.execute(f"DELETE FROM {table} WHERE rowid = (SELECT max(rowid) FROM {table})")  # noqa: S608
    connection.close()
    with Book.open(full_copy, TickingClock()) as book:
        assert book.check() != []


BEHIND: dict[str, str] = {
    "an act gone": "DELETE FROM acts WHERE seq = 5",
    "the last act gone": "DELETE FROM acts WHERE seq = (SELECT max(seq) FROM acts)",
    "all acts gone": "DELETE FROM acts",
    "two acts exchanged": "UPDATE acts SET seq = 1 - seq WHERE seq IN (-1, 2)",
    "a person added": "INSERT INTO people SELECT 'eve', role, name, added_at FROM people WHERE key = 'oda'",
    "an opening added": "INSERT INTO openings (round_key, number, who, opened_at) SELECT round_key, 3, who, opened_at"
    " FROM openings LIMIT 1",
    "an opening doubled": "INSERT INTO openings (round_key, number, who, opened_at) SELECT round_key, number, who,"
    " opened_at FROM openings LIMIT 1",
    "readings in another order": "UPDATE readings SET position = 99 - position",
    "pairs in another order": "UPDATE assessed_pairs SET position = 99 - position",
    "pairs of a box in another order": "UPDATE numbered_pairs SET position = 99 - position",
    "legs in another order": "UPDATE legs SET position = 99 - position",
    "a rubric and its digest": "UPDATE rubrics SET content = replace(content, '75', '10')",
    "a version of another round": "UPDATE pairs SET version = 9 WHERE tag = 'S-102'",
}


@pytest.mark.parametrize("how", BEHIND)
def test_changes_behind_the_book(full_copy: Path, how: str):
    with sqlite3.connect(full_copy / FILE) as connection:
        connection.execute(BEHIND[how])
        if how == "two acts exchanged":
            connection.execute("UPDATE acts SET seq = CASE seq WHEN 2 THEN -3 ELSE seq END")
            connection.execute("UPDATE acts SET seq = 2 WHERE seq = 3")
            connection.execute("UPDATE acts SET seq = 3 WHERE seq = -3")
    connection.close()
    with Book.open(full_copy, TickingClock()) as book:
        assert book.check() != []


def meaning_of(book: Book) -> list[object]:
    """Everything that can be asked of the book of `full_folder`."""
    return [
        book.list_people("mentor"),
        book.list_people("trainee"),
        book.list_pairs(),
        book.list_rubrics(),
        book.get_rubric("bench"),
        book.list_rounds(),
        [book.get_assessment("nia-1", line.version) for line in book.assessment_versions("nia-1")],
        [book.get_marking("nia-1", "oda", line.version) for line in book.marking_versions("nia-1", "oda")],
        book.find_draft("nia-1", "berit"),
        book.list_photos("nia-1"),
        [book.was_opened("nia-1", number, who) for number in (1, 2, 3) for who in ("oda", "berit")],
        [book.get_act(act.seq) for act in book.list_acts()],
    ]


def test_single_bits_flipped_on_disk(full_copy: Path):
    """Whatever bit turns over, the book is refused, a fault is told, or nothing that means anything has changed."""
    path = full_copy / FILE
    sound = path.read_bytes()
    with Book.open(full_copy, TickingClock()) as book:
        expected = meaning_of(book)
    dice = random.Random(20261125)
    for _ in range(40):
        at, bit = dice.randrange(len(sound)), 1 << dice.randrange(8)
        path.write_bytes(sound[:at] + bytes([sound[at] ^ bit]) + sound[at + 1 :])
        if is_found_sound(full_copy):
            with Book.open(full_copy, TickingClock()) as book:
                assert meaning_of(book) == expected, f"bit {bit} of byte {at}"
        for rest in full_copy.glob(f"{FILE}-*"):
            rest.unlink()


def is_found_sound(folder: Path) -> bool:
    try:
        with Book.open(folder, TickingClock()) as book:
            return not book.check()
    except BookError:
        return False


def test_a_damaged_row_is_told_when_read(full_copy: Path):
    with sqlite3.connect(full_copy / FILE) as connection:
        connection.execute("UPDATE readings SET level = 77 WHERE kind = 'level'")
        connection.execute("UPDATE pairs SET size_in = 'five'")
        connection.execute("UPDATE assessments SET sealed_at = 'yesterday'")
    connection.close()
    with Book.open(full_copy, TickingClock()) as book:
        asks: list[Callable[[], object]] = [
            lambda: book.get_marking("nia-1"),
            book.list_pairs,
            lambda: book.assessment_versions("nia-1"),
        ]
        for ask in asks:
            with pytest.raises(BookError, match="a row is not what was stored"):
                ask()


def test_an_act_without_change_leaves_no_trace(full_book: Book, full_copy: Path, content_of):
    before = content_of(full_copy)
    with full_book.act("oda", "look", "round nia-1"):
        pass
    assert content_of(full_copy) == before


def test_an_act_that_stops_in_the_middle_leaves_no_trace(full_book: Book, full_copy: Path, content_of):
    from evalkit.book.people import add_person
    from evalkit.domain.round import Person

    before = content_of(full_copy)

    def stop_in_the_middle() -> None:
        with full_book.act("oda", "add trainee", "person eve") as doing:
            add_person(doing, "trainee", Person(key="eve", name="Eve"))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stop_in_the_middle()
    assert content_of(full_copy) == before
