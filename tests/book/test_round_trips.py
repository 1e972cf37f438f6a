"""Whatever the domain allows comes back from the book as it went in."""

from __future__ import annotations

import itertools
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evalkit.book.book import Book
from evalkit.domain.pair import Pair
from evalkit.domain.rubric import Rubric
from tests.book import values
from tests.book.conftest import start
from tests.book.values import JOURNEY, PAIRS, PHOTO, RUBRIC, TickingClock, round_of, rubric_of

QUICK = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
OTHER_PHOTO = ("cd" * 32, "image/png", 99, 10, 20)
NAMES = [PHOTO[0], OTHER_PHOTO[0]]


@pytest.fixture(scope="module")
def grown(empty_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    """One book that all examples share, as a real one is shared by all rounds."""
    folder = shutil.copytree(empty_folder, tmp_path_factory.mktemp("grown") / "book")
    with Book.open(folder, TickingClock()) as book:
        start(book)
        book.add_photo_row(*PHOTO, "oda")
        book.add_photo_row(*OTHER_PHOTO, "oda")
        yield book
        assert book.check() == []


numbers = itertools.count(1)


@QUICK
@given(st.data())
def test_a_pair_and_its_new_description(grown: Book, data: st.DataObject):
    tag = f"T-{next(numbers)}"
    for act in (grown.add_pair, grown.change_pair):
        pair = data.draw(values.pairs(tag))
        act(pair, "oda")
        kept = grown.get_pair(tag)
        assert kept == pair
        assert str(kept.size_in) == str(pair.size_in)
        assert str(kept.declared_value) == str(pair.declared_value)


@QUICK
@given(st.data())
def test_an_assessment(grown: Book, data: st.DataObject):
    round_ = round_of(f"round-{next(numbers)}")
    grown.add_round(round_, "oda")
    assessment = data.draw(values.assessments(round_, NAMES))
    kept = grown.seal_assessment(assessment, "nia")
    assert grown.get_assessment(round_.key).assessment == assessment
    assert grown.seal_assessment(assessment, "nia") == type(kept)(1, is_new=False)


@QUICK
@given(st.data())
def test_a_marking(grown: Book, data: st.DataObject):
    round_ = round_of(f"round-{next(numbers)}")
    grown.add_round(round_, "oda")
    marking = data.draw(values.markings(round_, NAMES))
    grown.take_in_marking(marking, "oda")
    assert grown.get_marking(round_.key).marking == marking


@QUICK
@given(st.data())
def test_an_intake(grown: Book, data: st.DataObject):
    round_ = round_of(f"round-{next(numbers)}")
    grown.add_round(round_, "oda")
    intake = data.draw(values.intakes(round_, NAMES))
    kept = grown.take_in_intake(intake, "oda")
    found = grown.find_intake(round_.key)
    assert found is not None
    assert found.intake == intake
    assert grown.take_in_intake(intake, "oda") == type(kept)(1, is_new=False)


@QUICK
@given(st.data())
def test_a_draft_kept_pair_by_pair(grown: Book, data: st.DataObject):
    round_ = round_of(f"round-{next(numbers)}")
    grown.add_round(round_, "oda")
    pairs = [data.draw(values.marked_pairs(number, NAMES)) for number in (3, 1, 2, 1)]
    for pair in pairs:
        grown.save_marked_pair(round_.key, "oda", pair, round_.rubric_digest, "oda")
    draft = grown.find_draft(round_.key, "oda")
    assert draft is not None
    first = pairs[3]
    if first.judged == pairs[1].judged:
        # Only what is judged can be swayed: words and pictures added later leave a pair as blind as it was.
        first = first.model_copy(update={"was_opened": pairs[1].was_opened})
    assert draft.pairs == (first, pairs[2], pairs[0])


@pytest.mark.parametrize("legs", [JOURNEY[:n] for n in range(len(JOURNEY) + 1)])
def test_a_round_with_its_journey(book: Book, legs):
    round_ = round_of(pairs=PAIRS[::-1]).model_copy(update={"legs": legs})
    book.add_round(round_, "oda")
    assert book.get_round(round_.key) == round_
    assert book.list_rounds("nia") == book.list_rounds() == [round_]


@pytest.mark.parametrize("rubric", [RUBRIC, rubric_of("tip", key="other", mark=60)])
def test_a_rubric(book: Book, rubric: Rubric):
    version = book.freeze_rubric(rubric, "oda")
    kept, _ = book.get_rubric(rubric.key)
    assert kept == rubric
    assert kept.digest == rubric.digest
    assert book.get_rubric(rubric.key, version) == (rubric, version)
    assert book.get_rubric_by_digest(rubric.digest) == rubric


def test_every_field_of_a_pair_has_a_column():
    from evalkit.book.schema import pairs

    assert set(Pair.model_fields) <= set(pairs.c.keys())
