"""An erased trainee is found nowhere in the book's files; the bare levels stay, and the book stays sound."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import update

from evalkit.actions.shelf import held_pairs
from evalkit.book.book import Book
from evalkit.book.connect import writing
from evalkit.book.schema import acts
from evalkit.domain.pair import Pair
from evalkit.domain.round import LegKind, Person
from evalkit.errors import InputError, NotFoundError
from evalkit.progress.box_candidates import LeftOut
from tests.book.values import (
    JOURNEY,
    LAID_OUT,
    NIA,
    PAIRS,
    PHOTO,
    RUBRIC,
    SECOND,
    TickingClock,
    assessment_of,
    marking_of,
    round_of,
    sign_off_of,
)

Content = dict[str, list[tuple[object, ...]]]
WORDS = (
    "Nia Solheim", "nia-1", '"nia"', "*better* than before", "why at the tip?", "I forgot", "flatten", "washer",
    "good line", "read this", "third pair found", "the tip", "stiff", "well done", "ref 0", "forgot the letter",
    PHOTO[0], "as steady as they come", "seen on the bench", "screw half out", "looked twice", "before it went",
    LAID_OUT[0],
)  # fmt: skip


def bytes_of(folder: Path) -> bytes:
    """All that lies in the folder of the book, its log too."""
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def levels_of(book: Book, key: str) -> tuple[object, ...]:
    """Every reading without its note, of both sides."""
    sealed = [book.get_assessment(key, line.version).assessment for line in book.assessment_versions(key)]
    marked = [book.get_marking(key, line.by, line.version).marking for line in book.marking_versions(key)]
    read = [kept.intake for kept in book.list_intakes(key)]
    return tuple(
        (reading.number, reading.stage, reading.criterion, reading.place, reading.seen)
        for document in (*sealed, *marked, *read)
        for pair in document.pairs
        for reading in pair.readings
    )


def test_nothing_personal_is_found_in_any_file(full_copy: Path) -> None:
    with Book.open(full_copy, TickingClock()) as book:
        before = levels_of(book, "nia-1")
    found = bytes_of(full_copy)
    assert all(word.encode() in found for word in WORDS)
    with Book.open(full_copy, TickingClock()) as book:
        erased, is_clean = book.erase_person("nia", "oda")
        assert (erased.key, erased.n_rounds, erased.photos, is_clean) == ("erased-1", 1, (PHOTO[0], LAID_OUT[0]), True)
        assert levels_of(book, "erased-1-1") == before
        assert book.check() == []
        assert [person.name for person in book.list_people("trainee")] == ["(erased)"]
        assert book.list_sign_offs() == []
        assert len(book.list_second_markings("erased-1-1")) == 1
        assert sorted(book.list_second_drafts("erased-1-1", "oda")) == [1, 2]
        still = bytes_of(full_copy)
    assert [word for word in WORDS if word.encode() in still] == []
    assert [word for word in WORDS if word.encode() in bytes_of(full_copy)] == []


def test_what_is_said_of_pairs_stays_without_the_trainees_name(full_book: Book) -> None:
    full_book.erase_person("nia", "oda")
    assert full_book.retired_pairs()["S-103"].reason == "spent hollow, by (erased) in erased-1-1"
    assert full_book.list_retirements("S-102")[0].reason == "teeth worn"
    assert [photo.caption for photo in full_book.list_stock_photos("S-102")] == ["teeth, after erased-1-1"]
    assert full_book.check() == []


def test_the_figures_that_the_school_has_learnt_from_stay(full_book: Book) -> None:
    before = full_book.get_assessment("nia-1").assessment.find_pair(1)
    full_book.erase_person("nia", "oda")
    after = full_book.get_assessment("erased-1-1").assessment.find_pair(1)
    assert before is not None
    assert after is not None
    assert after.work.model_copy(update={"steps": before.work.steps, "parts": before.work.parts}) == before.work
    kept = ("stated_class", "decision", "verdict", "number")
    assert [getattr(after, name) for name in kept] == [getattr(before, name) for name in kept]
    assert [leg.happened_on for leg in full_book.get_round("erased-1-1").legs] == [leg.happened_on for leg in JOURNEY]


def test_another_trainee_keeps_every_word(full_book: Book, content_of: Callable[[Path], Content]) -> None:
    ida = Person(key="ida", name="Ida Holm")
    full_book.add_person("trainee", ida, "oda")
    pairs = tuple(Pair(tag=f"T-{n}", edge_type=pair.edge_type, size_in=pair.size_in) for n, pair in enumerate(PAIRS))
    full_book.add_pairs(pairs, "oda")
    round_ = round_of("ida-1", pairs=pairs).model_copy(update={"trainee": ida})
    full_book.add_round(round_, "oda")
    full_book.seal_assessment(assessment_of(round_, letter="from Ida"), "ida")
    full_book.take_in_marking(marking_of(round_), "oda")
    full_book.record_sign_off(sign_off_of("bevel", trainee=ida, mentor=SECOND), "oda")
    before = (full_book.get_assessment("ida-1"), full_book.get_marking("ida-1"), full_book.list_sign_offs("ida"))
    erased, _ = full_book.erase_person("nia", "oda")
    assert erased.photos == (LAID_OUT[0],)  # ida's round shows the other picture too
    assert (
        full_book.get_assessment("ida-1"),
        full_book.get_marking("ida-1"),
        full_book.list_sign_offs("ida"),
    ) == before
    assert full_book.check() == []
    assert full_book.erase_person("ida", "oda")[0].photos == (PHOTO[0],)
    assert full_book.check() == []
    assert [person.key for person in full_book.list_people("trainee")] == ["erased-1", "erased-2"]


def test_a_draft_that_was_put_away_is_gone_from_the_history_too(full_copy: Path) -> None:
    with Book.open(full_copy, TickingClock()) as book:
        book.discard_draft("nia-1", "berit", "berit")
        book.erase_person("nia", "oda")
        assert book.check() == []
        assert not [act for act in book.list_acts() if "nia" in f"{act.who} {act.subject}".split()]
    assert b"the line" not in bytes_of(full_copy)


def test_an_emptied_act_that_no_erasure_tells_of_is_found(full_book: Book) -> None:
    from evalkit.book.history import EMPTIED

    with writing(full_book._engine) as connection:
        connection.execute(update(acts).where(acts.c.seq == 4).values(EMPTIED))
    assert "act 4 is emptied, but no erasure tells of it" in full_book.check()


def test_acts_after_an_erasure_are_still_chained(full_book: Book) -> None:
    full_book.erase_person("nia", "oda")
    full_book.add_person("trainee", NIA, "oda")
    full_book.freeze_rubric(RUBRIC.model_copy(update={"name": "another"}), "oda")
    assert full_book.check() == []


@pytest.mark.parametrize("key", ["nobody", "oda"])
def test_an_unknown_trainee_is_told_and_nothing_changes(full_book: Book, key: str) -> None:
    n_acts = len(full_book.list_acts())
    with pytest.raises(NotFoundError):
        full_book.erase_person(key, "oda")
    assert len(full_book.list_acts()) == n_acts


def test_an_erased_trainee_is_not_erased_again(full_book: Book) -> None:
    full_book.erase_person("nia", "oda")
    with pytest.raises(InputError, match="nothing personal"):
        full_book.erase_person("erased-1", "oda")


# --- what concerns the stock


@pytest.fixture
def came_short(book: Book) -> Book:
    words = {
        LegKind.RECEIVED: "Damaged in transit: pair 1. Too much: a red one of Nia's. Nia's box was wet",
        LegKind.RECEIVED_BACK: "Missing: pair 3. Damaged in transit: pair 2. Nia forgot it at Ropewalk",
    }
    book.add_round(round_of(), "oda")
    for leg in JOURNEY:
        book.add_leg("nia-1", leg.model_copy(update={"condition": words.get(leg.kind, "as Nia packed it")}), "oda")
    return book


def test_a_missing_pair_is_missing_after_its_trainee_was_erased(came_short: Book) -> None:
    tag = came_short.get_round("nia-1").get_pair(3).pair.tag
    assert came_short.find_missing(tag) == "nia-1"
    (before,) = came_short.list_whereabouts([tag])
    came_short.erase_person("nia", "oda")
    (after,) = came_short.list_whereabouts([tag])
    assert came_short.find_missing(tag) == "erased-1-1"
    assert (before.is_missing, after.is_missing, after.since) == (True, True, before.since)
    assert held_pairs(came_short)[tag][0] is LeftOut.MISSING, "so no box is proposed with it"
    assert came_short.check() == []


def test_of_the_words_of_a_leg_only_numbers_of_pairs_stay(came_short: Book) -> None:
    came_short.erase_person("nia", "oda")
    legs = came_short.get_round("erased-1-1").legs
    assert [leg.condition for leg in legs] == [
        "", "Damaged in transit: pair 1.", "", "Missing: pair 3. Damaged in transit: pair 2.",
    ]  # fmt: skip
    assert [leg.carrier_ref for leg in legs] == ["", "", "", ""]


def test_no_free_word_of_a_leg_is_found_in_any_file(came_short: Book, folder: Path) -> None:
    assert b"Ropewalk" in bytes_of(folder)
    came_short.erase_person("nia", "oda")
    found = bytes_of(folder)
    assert [word for word in (b"Ropewalk", b"red one", b"was wet", b"packed it") if word in found] == []
    assert b"Missing: pair 3." in found
