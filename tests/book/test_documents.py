"""Assessments are sealed and markings finished; amended, never overwritten."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from evalkit.book.assessments import seal_of
from evalkit.book.book import Book
from evalkit.book.canonical import canonical
from evalkit.book.kept import Kept, PhotoRow
from evalkit.domain.assessment import AssessedPair, Photo
from evalkit.domain.marking import MarkedPair
from evalkit.domain.reading import NotSeen, SeenCut, SeenLevel, SeenMeasure
from evalkit.errors import AlreadyError, InputError, NotFoundError
from tests.book.values import (
    NIA,
    ODA,
    PHOTO,
    RUBRIC,
    SECOND,
    assessment_of,
    marked,
    marking_of,
    round_of,
    rubric_of,
)

ROUND = round_of()
KINDS = (SeenLevel, SeenMeasure, SeenCut, NotSeen)
FIRST = assessment_of(ROUND)
OTHER = assessment_of(ROUND, level=2)


@pytest.fixture
def planned(book: Book) -> Book:
    book.add_round(ROUND, "oda")
    book.add_photo_row(*PHOTO, "oda")
    return book


def save(book: Book, pair, mentor: str = "oda"):
    return book.save_marked_pair("nia-1", mentor, pair, RUBRIC.digest, mentor)


# --- assessments ----------------------------------------------------------------------------------------------------


def test_sealing_amending_and_sealing_again(planned: Book):
    assert planned.find_assessment("nia-1") is None
    assert planned.seal_assessment(FIRST, "nia") == Kept(1, is_new=True)
    n_acts = len(planned.list_acts())
    assert planned.seal_assessment(FIRST, "nia") == Kept(1, is_new=False)
    assert planned.seal_assessment(FIRST, "nia", "for no reason") == Kept(1, is_new=False)
    assert len(planned.list_acts()) == n_acts
    with pytest.raises(AlreadyError, match="give a reason"):
        planned.seal_assessment(OTHER, "nia")
    assert planned.seal_assessment(OTHER, "nia", " measured again ") == Kept(2, is_new=True)
    assert planned.seal_assessment(FIRST, "nia") == Kept(1, is_new=False)
    assert planned.seal_assessment(FIRST, "nia", "the first was right") == Kept(3, is_new=True)
    found = [planned.get_assessment("nia-1", version) for version in (1, 2, 3)]
    assert [one.assessment for one in found] == [FIRST, OTHER, FIRST]
    assert [one.reason for one in found] == ["", "measured again", "the first was right"]
    assert [one.seal for one in found] == [seal_of(FIRST), seal_of(OTHER), seal_of(FIRST)]
    assert planned.get_assessment("nia-1").version == 3
    assert [(line.version, line.by) for line in planned.assessment_versions("nia-1")] == [
        (1, "nia"),
        (2, "nia"),
        (3, "nia"),
    ]
    assert planned.check() == []


def test_a_seal_hangs_on_content_alone():
    again = type(FIRST).model_validate_json(FIRST.model_dump_json())
    assert seal_of(again) == seal_of(FIRST)
    seals = {seal_of(FIRST), seal_of(OTHER), seal_of(FIRST.model_copy(update={"pairs": FIRST.pairs[::-1]}))}
    assert len(seals) == 3


def test_the_kind_of_what_was_seen_can_be_told_without_its_name():
    tells = {kind: {name for name, field in kind.model_fields.items() if field.is_required()} for kind in KINDS}
    for kind, names in tells.items():
        assert names - set().union(*(others for other, others in tells.items() if other is not kind))


def test_minus_nought_is_nought():
    assert canonical({"a": [-0.0], "b": "-0.0"}) == canonical({"a": [0.0], "b": "-0.0"}) == '{"a":[0.0],"b":"-0.0"}'


def with_photo(name: str):
    return FIRST.model_copy(update={"pairs": (AssessedPair(number=1, photos=(Photo(file=name),)),)})


@pytest.mark.parametrize(
    ("assessment", "told"),
    [
        (FIRST.model_copy(update={"round_key": "nia-9"}), "no round 'nia-9'"),
        (FIRST.model_copy(update={"trainee_key": "oda"}), "is nia's, not oda's"),
        (FIRST.model_copy(update={"rubric_digest": rubric_of("tip").digest}), "another rubric"),
        (FIRST.model_copy(update={"pairs": (AssessedPair(number=4),)}), "no pair 4"),
        (with_photo("ff" * 32), "does not know the photo"),
        (with_photo("tip.jpg"), "does not know the photo 'tip.jpg'"),
    ],
)
def test_an_assessment_that_does_not_fit(planned: Book, folder: Path, content_of, assessment, told: str):
    before = content_of(folder)
    with pytest.raises(InputError, match=told):
        planned.seal_assessment(assessment, "nia", photos=[PhotoRow("ee" * 32, "image/png", 1, 2, 3)])
    assert content_of(folder) == before


def test_photos_come_with_their_assessment(planned: Book):
    new = PhotoRow("ff" * 32, "image/jpeg", 10, 20, 30)
    planned.seal_assessment(with_photo(new.sha256), "nia", photos=[new])
    assert planned.list_photos("nia-1") == [new]
    assert planned.check() == []


def test_asking_for_what_is_not_there(planned: Book):
    with pytest.raises(NotFoundError, match="no sealed assessment of round 'nia-1' yet"):
        planned.get_assessment("nia-1")
    planned.seal_assessment(FIRST, "nia")
    with pytest.raises(NotFoundError, match=r"no version 7.*There is: 1"):
        planned.get_assessment("nia-1", 7)
    with pytest.raises(NotFoundError, match="no round 'nia-9'"):
        planned.get_assessment("nia-9")
    with pytest.raises(NotFoundError, match="no finished marking of round 'nia-1' by 'oda' yet"):
        planned.get_marking("nia-1", "oda")


# --- markings: a draft ----------------------------------------------------------------------------------------------


def test_a_draft_from_first_pair_to_finish(planned: Book):
    assert planned.find_draft("nia-1", "oda") is None
    for pair in (marked(3), marked(1, level=0), marked(1)):
        save(planned, pair)
    draft = planned.find_draft("nia-1", "oda")
    assert draft is not None
    assert draft.pairs == (marked(1), marked(3))
    assert planned.find_marking("nia-1") is None
    assert planned.finish_marking("nia-1", "oda", "oda", date(2026, 4, 2), "well done") == 1
    assert planned.find_draft("nia-1", "oda") is None
    finished = planned.get_marking("nia-1")
    assert finished.marking == draft.model_copy(update={"marked_on": date(2026, 4, 2), "letter": "well done"})
    with pytest.raises(AlreadyError, match="begin an amendment"):
        save(planned, marked(2))
    with pytest.raises(NotFoundError, match="is not marking"):
        planned.finish_marking("nia-1", "oda", "oda")
    assert planned.check() == []


def test_what_a_draft_replaces_goes_to_the_history(planned: Book):
    save(planned, marked(1, level=0))
    save(planned, marked(1))
    act = planned.get_act(planned.list_acts()[-1].seq)
    (before,) = act.before.values()
    assert {reading["seen"]["level"] for reading in before["readings"]} == {0}  # type: ignore[index]
    n_acts = len(planned.list_acts())
    save(planned, marked(1))
    assert len(planned.list_acts()) == n_acts


def test_what_is_marked_after_opening_is_not_blind(planned: Book):
    save(planned, marked(1))
    planned.record_opening("nia-1", None, "oda")
    assert save(planned, marked(1)).was_opened is False, "the same words were written blind"
    assert save(planned, marked(2)).was_opened is True
    assert save(planned, marked(1, level=0)).was_opened is True
    assert save(planned, marked(1), mentor="berit").was_opened is False, "it was not berit who opened it"
    assert save(planned, marked(2, was_opened=True), mentor="berit").was_opened is True


def test_an_amendment_keeps_the_old(planned: Book):
    save(planned, marked(1))
    planned.finish_marking("nia-1", "oda", "oda", letter="first")
    for reason in ("", "  "):
        with pytest.raises(InputError, match="needs its reason"):
            planned.start_amendment("nia-1", "oda", reason, "oda")
    assert planned.start_amendment("nia-1", "oda", "looked again", "oda") == 2
    with pytest.raises(AlreadyError, match="worked on already"):
        planned.start_amendment("nia-1", "oda", "twice", "oda")
    assert planned.get_marking("nia-1").version == 1
    save(planned, marked(1, level=3))
    save(planned, marked(2))
    planned.finish_marking("nia-1", "oda", "oda", letter="second")
    old, new = planned.get_marking("nia-1", version=1), planned.get_marking("nia-1")
    assert (old.marking.pairs, old.marking.letter, old.reason) == ((marked(1),), "first", "")
    assert (new.version, new.marking.pairs, new.reason) == (2, (marked(1, level=3), marked(2)), "looked again")
    assert [line.reason for line in planned.marking_versions("nia-1")] == ["", "looked again"]
    assert planned.check() == []


def test_a_draft_put_away(planned: Book):
    save(planned, marked(1))
    planned.finish_marking("nia-1", "oda", "oda")
    planned.start_amendment("nia-1", "oda", "by mistake", "oda")
    save(planned, marked(1, level=0))
    planned.discard_draft("nia-1", "oda", "oda")
    assert planned.find_draft("nia-1", "oda") is None
    assert planned.get_marking("nia-1").marking.pairs == (marked(1),)
    assert planned.check() == []
    with pytest.raises(NotFoundError):
        planned.discard_draft("nia-1", "oda", "oda")


@pytest.mark.parametrize(
    ("act", "told"),
    [
        (lambda book: save(book, marked(9)), "no pair 9"),
        (lambda book: save(book, marked(1), mentor="nia"), "no mentor 'nia'"),
        (lambda book: book.save_marked_pair("nia-1", "oda", marked(1), "0" * 64, "oda"), "another rubric"),
        (lambda book: book.save_marked_pair("nia-9", "oda", marked(1), RUBRIC.digest, "oda"), "no round 'nia-9'"),
        (lambda book: save(book, marked(1, photos=(Photo(file="x"),))), "does not know the photo"),
        (lambda book: book.finish_marking("nia-1", "oda", "oda"), "is not marking"),
        (lambda book: book.start_amendment("nia-1", "oda", "why", "oda"), "has finished no marking"),
        (lambda book: book.start_amendment("nia-1", "oda", "w" * 9999, "oda"), "reason is too long"),
        (lambda book: book.start_amendment("nia-9", "oda", "why", "oda"), "no round 'nia-9'"),
        (lambda book: book.take_in_marking(marking_of(ROUND, mentor=NIA), "oda"), "no mentor 'nia'"),
        (lambda book: book.save_marked_pair("nia-1", "oda", marked(1), RUBRIC.digest, " "), "who acts"),
        (lambda book: book.save_marked_pair("nia-1", "oda", marked(1), RUBRIC.digest, "o" * 41), "who acts"),
    ],
)
def test_a_refused_act_changes_nothing(
    planned: Book, folder: Path, content_of, act: Callable[[Book], object], told: str
):
    before = content_of(folder)
    with pytest.raises(InputError, match=told):
        act(planned)
    assert content_of(folder) == before


def test_a_letter_that_is_no_text(planned: Book, folder: Path, content_of):
    save(planned, marked(1))
    before = content_of(folder)
    for letter in ("x" * 20_001, "a\x00b"):
        with pytest.raises(InputError, match="letter is too long or not text"):
            planned.finish_marking("nia-1", "oda", "oda", letter=letter)
    assert content_of(folder) == before


# --- markings: a whole one ------------------------------------------------------------------------------------------


def test_taking_in_amending_and_taking_in_again(planned: Book):
    first, other = marking_of(ROUND), marking_of(ROUND, letter="better")
    assert planned.take_in_marking(first, "oda") == Kept(1, is_new=True)
    assert planned.take_in_marking(first, "oda") == Kept(1, is_new=False)
    with pytest.raises(AlreadyError, match="give a reason"):
        planned.take_in_marking(other, "oda")
    assert planned.take_in_marking(other, "oda", "a word more") == Kept(2, is_new=True)
    assert planned.take_in_marking(first, "oda") == Kept(1, is_new=False)
    assert [planned.get_marking("nia-1", "oda", version).marking for version in (1, 2)] == [first, other]
    assert planned.check() == []


def test_reading_the_assessment_later_does_not_make_the_same_words_others(planned: Book):
    first = marking_of(ROUND)
    planned.take_in_marking(first, "oda")
    seen = first.model_copy(
        update={"pairs": tuple(pair.model_copy(update={"was_opened": True}) for pair in first.pairs)}
    )
    assert planned.take_in_marking(seen, "oda") == Kept(1, is_new=False)
    changed = seen.model_copy(update={"pairs": (*seen.pairs[:2], marked(3, level=0, was_opened=True))})
    planned.take_in_marking(changed, "oda", "the third")
    assert [pair.was_opened for pair in planned.get_marking("nia-1").marking.pairs] == [False, False, True]


def test_a_sheet_does_not_overtake_a_draft(planned: Book, folder: Path, content_of):
    save(planned, marked(1).model_copy(update={"notes": "said in the draft alone"}))
    before = content_of(folder)
    with pytest.raises(AlreadyError, match="being worked on"):
        planned.take_in_marking(marking_of(ROUND), "oda")
    assert content_of(folder) == before


def test_a_sheet_that_says_all_of_a_draft_goes_on_from_it_as_blind_as_it_was(planned: Book):
    marking = marking_of(ROUND)
    first = marking.pairs[0]
    save(planned, first)
    seen = marking.model_copy(
        update={"pairs": tuple(one.model_copy(update={"was_opened": True}) for one in marking.pairs)}
    )
    assert planned.take_in_marking(seen, "oda") == Kept(1, is_new=True)
    assert planned.find_draft("nia-1", "oda") is None
    kept = planned.get_marking("nia-1").marking.pairs
    assert [pair.was_opened for pair in kept] == [False] + [True] * (len(kept) - 1)


@pytest.mark.parametrize(
    "more",
    [
        {"transit": ("tips",)},
        {"transit_note": "tip chipped"},
        {"keep": "the heel"},
        {"change": "the tip"},
        {"notes": "mine"},
        {"called_for": "sharpen"},
        {"comments": ({"criterion": "tips", "text": "dull"},)},
        {"answers": ({"question": 1, "text": "yes"},)},
        {"photos": ({"file": "a.jpg", "caption": ""},)},
    ],
)
def test_what_only_one_of_two_says_is_not_all_said(more: dict[str, object]):
    bare = MarkedPair(number=1)
    said = MarkedPair.model_validate({"number": 1, **more})
    assert said.answers_all_of(bare)
    assert said.answers_all_of(said)
    assert not bare.answers_all_of(said)
    assert not bare.answers_all_of(marked(1))


def test_a_second_mentor_stands_beside_the_first(planned: Book):
    planned.take_in_marking(marking_of(ROUND, mentor=SECOND, letter="mine"), "berit")
    assert planned.get_marking("nia-1").marking.mentor_key == "berit", "there is no other yet"
    planned.take_in_marking(marking_of(ROUND), "oda")
    assert planned.get_marking("nia-1").marking.mentor_key == ODA.key
    assert planned.get_marking("nia-1", "berit").marking.letter == "mine"
    assert [(line.by, line.version) for line in planned.marking_versions("nia-1")] == [("oda", 1), ("berit", 1)]
