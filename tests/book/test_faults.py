"""Two writers, a full disk, a locked book, a killed program: nothing half written, one clear line."""

from __future__ import annotations

import json
import sqlite3
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlalchemy import event

from evalkit.book import connect
from evalkit.book.book import Book
from evalkit.book.connect import FILE
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.reading import Stage
from evalkit.domain.round import Person
from evalkit.errors import AlreadyError, BookError
from tests.book.conftest import start
from tests.book.values import NIA, PAIRS, TickingClock, readings_of, round_of, rubric_of


def trainee(n: int) -> Person:
    return Person(key=f"t-{n}", name=f"Trainee {n}")


def test_two_writers_lose_nothing(folder: Path):
    def write(first: int) -> None:
        with Book.open(folder, TickingClock()) as book:
            for n in range(first, first + 15):
                book.add_person("trainee", trainee(n), "oda")

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(write, (0, 100)))
    with Book.open(folder, TickingClock()) as book:
        assert len(book.list_people("trainee")) == 30
        assert [act.seq for act in book.list_acts()] == list(range(1, 31))
        assert book.check() == []


def test_two_writers_of_one_thing(folder: Path):
    with Book.open(folder, TickingClock()) as one, Book.open(folder, TickingClock()) as other:
        one.add_person("trainee", NIA, "oda")
        with pytest.raises(AlreadyError):
            other.add_person("trainee", NIA, "oda")
        assert other.list_people() == [NIA]


def test_a_reader_does_not_wait_for_a_writer(folder: Path):
    with Book.open(folder, TickingClock()) as one, Book.open(folder, TickingClock()) as other:
        one.add_person("trainee", NIA, "oda")
        with one.act("oda", "add trainee", "person t-1") as doing:
            from evalkit.book.people import add_person

            add_person(doing, "trainee", trainee(1))
            assert other.list_people() == [NIA]
        assert other.list_people() == [NIA, trainee(1)]


def test_a_locked_book(folder: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(connect, "BUSY_MS", 30)
    holder = sqlite3.connect(folder / FILE, isolation_level=None)
    with Book.open(folder, TickingClock()) as book:
        holder.execute("BEGIN IMMEDIATE")
        with pytest.raises(BookError, match=r"another program is writing.*Try again"):
            book.add_person("trainee", NIA, "oda")
        assert book.list_people() == []
        holder.execute("ROLLBACK")
        book.add_person("trainee", NIA, "oda")
    holder.close()


@pytest.mark.parametrize(
    ("pragma", "told"), [("max_page_count = 1", "the disk is full"), ("query_only = ON", "may not be written")]
)
def test_a_disk_that_takes_nothing_more(book: Book, folder: Path, content_of, pragma: str, told: str):
    """Real answers of SQLite: it counts the pages, or refuses to write."""
    before = content_of(folder)
    with book._engine.connect() as connection:
        connection.connection.cursor().execute(f"PRAGMA {pragma}")
    pairs = [
        Pair(tag=f"N-{n}", edge_type=EdgeType.BEVEL, size_in=PAIRS[2].size_in, origin="x" * 2000) for n in range(50)
    ]
    with pytest.raises(BookError, match=told):
        book.add_pairs(pairs, "oda")
    assert content_of(folder) == before
    assert book.list_pairs() == list(PAIRS)


def test_a_contradiction_is_told_in_words(book: Book, folder: Path, content_of):
    from evalkit.book.schema import people

    before = content_of(folder)

    def add_twice() -> None:
        with book.act("oda", "add", "person nia") as doing:
            row = {"key": "nia", "role": "trainee", "name": "Twice", "added_at": doing.at}
            doing.connection.execute(people.insert(), row)

    with pytest.raises(BookError, match="contradict itself"):
        add_twice()
    assert content_of(folder) == before


# --- twelve pairs x fourteen criteria x six places ------------------------------------------------------------------

KEYS = tuple(f"criterion-{n}" for n in range(14))
STOCK = tuple(Pair(tag=f"B-{n}", edge_type=EdgeType.CONVEX, size_in=PAIRS[2].size_in) for n in range(12))


@pytest.fixture
def dense(folder: Path):
    rubric = rubric_of(*KEYS, key="long")
    with Book.open(folder, TickingClock()) as book:
        start(book)
        book.add_pairs(STOCK, "oda")
        book.freeze_rubric(rubric, "oda")
        round_ = round_of(rubric=rubric, pairs=STOCK)
        book.add_round(round_, "oda")
        assessment = Assessment(
            round_key=round_.key,
            trainee_key="nia",
            rubric_digest=rubric.digest,
            pairs=tuple(
                AssessedPair(number=number, readings=readings_of(number, Stage.AS_FINISHED, KEYS))
                for number in round_.numbers
            ),
        )
        book.seal_assessment(assessment, "nia")
        yield book, assessment


def test_a_dense_round_loads_in_few_queries(dense):
    book, assessment = dense
    asked: list[str] = []
    event.listen(
        book._engine, "before_cursor_execute", lambda *told: asked.append(told[2]) if told[2] != "BEGIN" else None
    )
    sealed = book.get_assessment("nia-1")
    assert sum(len(pair.readings) for pair in sealed.assessment.pairs) == 12 * 14 * 6
    assert sealed.assessment == assessment
    assert len(asked) == 4
    asked.clear()
    book.get_round("nia-1")
    assert len(asked) == 3
    asked.clear()
    book.list_rounds()
    assert len(asked) == 3


# --- killed in the middle -------------------------------------------------------------------------------------------

KILLED = '''
"""Forks writers, kills each at a random moment, and says what each had been told was kept."""
import json, os, pathlib, random, signal, sys, time
from evalkit.book.book import Book
from evalkit.domain.round import Person
from tests.book.values import TickingClock, marking_of, round_of

dice = random.Random(20261125)
for folder in map(pathlib.Path, sys.argv[1:]):
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        book = Book.open(folder, TickingClock())
        for n in range(10_000):
            round_ = round_of(f"r-{n}")
            book.add_round(round_, "oda")
            os.write(writing, f"round r-{n}\\n".encode())
            version = book.take_in_marking(marking_of(round_), "oda").version
            os.write(writing, f"marking r-{n} oda v{version}\\n".encode())
    os.close(writing)
    words = b""
    n_lines = dice.randint(1, 8)
    while words.count(b"\\n") < n_lines:  # so far it is allowed to come, and a little further
        words += os.read(reading, 1)
    time.sleep(dice.uniform(0, 0.02))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    while more := os.read(reading, 65536):
        words += more
    print(json.dumps([str(folder), words[: words.rfind(b"\\n") + 1].decode().splitlines()]))
'''


@pytest.mark.skipif(sys.platform == "win32", reason="forks")
def test_a_killed_program_leaves_the_book_whole(book: Book, folder: Path, tmp_path: Path):
    import shutil

    book.close()
    folders = [Path(shutil.copytree(folder, tmp_path / f"killed-{n}")) for n in range(10)]
    done = subprocess.run([sys.executable, "-c", KILLED, *folders], capture_output=True, text=True, check=True)
    lines = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(lines) == len(folders)
    for name, told in lines:
        with Book.open(Path(name), TickingClock()) as killed:
            assert killed.check() == []
            facts = {fact for act in killed.list_acts() for fact in killed.get_act(act.seq).after}
            assert set(told) <= facts
            killed.add_person("trainee", trainee(1), "oda")
            assert killed.check() == []
    assert sum(len(told) for _, told in lines) > 10, "the writers got going"
