"""The one place where real parts are chosen: settings, clock, book, photos, rubrics, causes."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from evalkit.domain.causes import CauseMap
from evalkit.errors import AlreadyError, BookError, InputError, NotFoundError
from evalkit.files.places import rubrics_dir
from evalkit.settings import Paper, Settings
from evalkit.workbench import Workbench, set_up, wall_clock

NOON = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)
LATE = datetime(2026, 5, 1, 22, 30, 15, tzinfo=UTC)


def bench(folder: Path, **settings: object) -> Workbench:
    return Workbench(Settings.model_validate({"book": folder / "book", **settings}), clock=lambda: LATE)


def test_it_is_set_up_from_the_environment_and_opens_nothing(tmp_path: Path):
    workbench = set_up({"EVALKIT_BOOK": str(tmp_path / "none"), "EVALKIT_TODAY": "2026-05-01"})
    assert workbench.settings.book == tmp_path / "none"
    assert workbench.today == date(2026, 5, 1)
    assert list(tmp_path.iterdir()) == []


def test_a_day_set_as_today_rules_the_clock(tmp_path: Path):
    workbench = bench(tmp_path, today=date(2026, 5, 1))
    assert (workbench.today, workbench.now()) == (date(2026, 5, 1), NOON)


def test_otherwise_the_clock_rules(tmp_path: Path):
    workbench = bench(tmp_path)
    assert workbench.now() == LATE
    assert workbench.today == LATE.astimezone().date()
    assert wall_clock().tzinfo is UTC


def test_what_is_given_goes_before_the_settings_and_none_leaves_them(tmp_path: Path):
    workbench = bench(tmp_path, paper="Letter", who="oda")
    assert workbench.at(paper=None).settings == workbench.settings
    changed = workbench.at(paper="A4")
    assert (changed.settings.paper, changed.settings.who) == (Paper.A4, "oda")
    assert changed.now() == LATE
    with pytest.raises(InputError, match="A4 or Letter"):
        workbench.at(paper="A5")


def test_a_book_is_made_once_and_opened(tmp_path: Path):
    workbench = bench(tmp_path)
    with pytest.raises(BookError, match="there is no book here"):
        workbench.open_book()
    with workbench.new_book(tmp_path / "book"):
        assert not (tmp_path / "book").exists(), "it has its name when it is done"
    with workbench.open_book() as book:
        assert book.list_people() == []
    with pytest.raises(AlreadyError), workbench.new_book(tmp_path / "book"):
        pass


def test_a_book_that_could_not_be_filled_is_not_there(tmp_path: Path):
    with pytest.raises(ZeroDivisionError), bench(tmp_path).new_book(tmp_path / "book"):
        raise ZeroDivisionError
    assert list(tmp_path.iterdir()) == []


def test_acts_carry_the_moment_of_the_clock(tmp_path: Path):
    from evalkit.domain.round import Person

    with bench(tmp_path).new_book(tmp_path / "book") as book:
        book.add_person("mentor", Person(key="oda", name="Oda"), "oda")
        assert [act.at for act in book.list_acts()] == [LATE]


def test_photos_lie_beside_the_book(tmp_path: Path):
    assert bench(tmp_path).photos().folder == tmp_path / "book" / "photos"


def test_a_rubric_is_found_by_key_or_file_own_ones_first(tmp_path: Path):
    assert bench(tmp_path).find_rubric("shears").key == "shears"
    own = tmp_path / "own"
    own.mkdir()
    text = (rubrics_dir() / "shears.toml").read_text(encoding="utf-8")
    (own / "shears.toml").write_text(text.replace("mark = 75", "mark = 80", 1), encoding="utf-8")
    assert bench(tmp_path, rubrics=own).find_rubric("shears").mark == 80
    assert bench(tmp_path).find_rubric("shears").mark == 75
    assert bench(tmp_path).find_rubric(str(own / "shears.toml")).mark == 80
    with pytest.raises(NotFoundError, match="shears"):
        bench(tmp_path).find_rubric("shaers")


def test_causes_are_your_own_where_there_are_any(tmp_path: Path):
    shipped = bench(tmp_path).causes()
    assert len(shipped.causes) >= 25
    own = tmp_path / "own"
    own.mkdir()
    assert bench(tmp_path, rubrics=own).causes() == shipped
    first = (rubrics_dir() / "causes.toml").read_text(encoding="utf-8")
    blocks = re.split(r"^(?=\[\[causes\]\])", first, flags=re.MULTILINE)
    (own / "causes.toml").write_text("".join(blocks[:2]), encoding="utf-8")
    found = bench(tmp_path, rubrics=own).causes()
    assert isinstance(found, CauseMap)
    assert [cause.key for cause in found.causes] == [shipped.causes[0].key]
