"""People, stock, rubrics, rounds, openings, photos: what each method does."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from evalkit.book.book import Book
from evalkit.book.kept import PhotoRow
from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.round import Leg, LegKind, Person, RoundState
from evalkit.errors import AlreadyError, InputError, NotFoundError
from tests.book.values import JOURNEY, LAID_OUT, NIA, ODA, PAIRS, PHOTO, RUBRIC, SECOND, SHELF, round_of, rubric_of


def test_people(book: Book):
    assert book.list_people() == [SECOND, NIA, ODA]
    assert book.list_people("mentor") == [SECOND, ODA]
    assert book.get_person("trainee", "nia") == NIA
    with pytest.raises(NotFoundError, match=r"no trainee 'nai'.*Did you mean 'nia'"):
        book.get_person("trainee", "nai")
    with pytest.raises(NotFoundError, match="no trainee 'oda'"):
        book.get_person("trainee", "oda")
    with pytest.raises(AlreadyError, match="'oda' is Oda Brink's, a mentor"):
        book.add_person("trainee", Person(key="oda", name="Another"), "oda")


def test_the_stock(book: Book):
    assert book.list_pairs() == list(PAIRS)
    with pytest.raises(NotFoundError, match="Did you mean 'S-101'"):
        book.get_pair("S-1O1")
    for tag in ("S-101", "s-101"):
        with pytest.raises(AlreadyError, match="'S-101' is used"):
            book.add_pair(PAIRS[0].model_copy(update={"tag": tag}), "oda")


def test_pairs_come_all_or_none(book: Book, folder, content_of):
    fresh = [Pair(tag=f"N-{n}", edge_type=EdgeType.BEVEL, size_in=Decimal(5)) for n in range(3)]
    before = content_of(folder)
    with pytest.raises(AlreadyError):
        book.add_pairs([*fresh, fresh[0]], "oda")
    assert content_of(folder) == before
    book.add_pairs(fresh, "oda")
    assert book.list_acts()[-1].subject == "3 pairs"
    assert book.get_pair("N-2") == fresh[2]


def change(pair: Pair, **what: object) -> Pair:
    return Pair.model_validate({**dict(pair), **what})


def test_a_new_description_reaches_only_boxes_that_are_not_back(book: Book):
    book.add_round(round_of("back"), "oda")
    for leg in JOURNEY:
        book.add_leg("back", leg, "oda")
    book.add_round(round_of("away"), "oda")
    book.add_leg("away", JOURNEY[0], "oda")
    ground = change(PAIRS[0], blade_length_mm=62.0)
    book.change_pair(ground, "oda")
    assert book.get_pair("S-101") == ground
    assert book.get_round("back").get_pair(1).pair == PAIRS[0]
    assert book.get_round("away").get_pair(1).pair == ground
    assert book.get_round("away").get_pair(1).called_for == round_of().pairs[0].called_for
    assert book.check() == []
    act = book.get_act(book.list_acts()[-1].seq)
    assert act.before["pair S-101 v2"]["blade_length_mm"] == 63.7  # type: ignore[index]


def test_a_correction_reaches_every_box_with_that_description(book: Book):
    book.add_round(round_of("back"), "oda")
    for leg in JOURNEY:
        book.add_leg("back", leg, "oda")
    right = change(PAIRS[2], blade_length_mm=55.5)
    book.change_pair(right, "oda", is_correction=True)
    assert book.get_round("back").get_pair(3).pair == right
    n_acts = len(book.list_acts())
    book.change_pair(right, "oda")
    assert len(book.list_acts()) == n_acts
    with pytest.raises(NotFoundError):
        book.change_pair(change(right, tag="S-999"), "oda")


def test_a_rubric_is_frozen_by_content(book: Book):
    edited = rubric_of("rod-line", "tension", mark=80)
    assert book.freeze_rubric(RUBRIC, "oda") == 1
    assert book.freeze_rubric(edited, "oda") == 2
    assert book.freeze_rubric(RUBRIC, "oda") == 1
    assert book.get_rubric("bench") == (edited, 2)
    assert book.get_rubric("bench", 1) == (RUBRIC, 1)
    assert book.get_rubric_by_digest(RUBRIC.digest) == RUBRIC
    lines = book.list_rubrics()
    assert [(line.key, line.version, line.digest) for line in lines] == [
        ("bench", 1, RUBRIC.digest),
        ("bench", 2, edited.digest),
    ]
    assert lines[0].name == "Bench rubric"
    for ask in (
        lambda: book.get_rubric("bench", 3),
        lambda: book.get_rubric("bnch"),
        lambda: book.get_rubric_by_digest("0" * 64),
    ):
        with pytest.raises(NotFoundError):
            ask()


def test_rounds(book: Book):
    later = round_of("a-later").model_copy(update={"planned_on": date(2026, 6, 1)})
    book.add_round(later, "oda")
    book.add_round(round_of(pairs=PAIRS[:1]), "oda")
    assert [round_.key for round_ in book.list_rounds()] == ["nia-1", "a-later"]
    assert [round_.key for round_ in book.rounds_holding("S-103")] == ["a-later"]
    assert [round_.key for round_ in book.rounds_holding("S-101")] == ["nia-1", "a-later"]
    assert book.rounds_holding("none") == []
    with pytest.raises(NotFoundError, match="Did you mean 'nia-1'"):
        book.get_round("nia-2")
    with pytest.raises(NotFoundError, match="no trainee 'nai'"):
        book.list_rounds("nai")


def test_a_journey(book: Book):
    book.add_round(round_of(), "oda")
    for n, leg in enumerate(JOURNEY, start=1):
        assert book.add_leg("nia-1", leg, "oda").legs == JOURNEY[:n]
    assert book.get_round("nia-1").state is RoundState.BACK
    with pytest.raises(InputError, match="cannot be 'sent' now"):
        book.add_leg("nia-1", Leg(kind=LegKind.SENT, happened_on=date(2026, 5, 1)), "oda")


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, "there is a round 'nia-1' already"),
        ({"key": "nia-2", "trainee": Person(key="nobody", name="No")}, "no trainee 'nobody'"),
        ({"key": "nia-2", "mentor": NIA}, "no mentor 'nia'"),
        ({"key": "nia-2", "trainee": Person(key="nia", name="Nia Other")}, "'nia' is Nia Solheim"),
        ({"key": "nia-2", "rubric_key": "other"}, "no frozen rubric 'other'"),
        ({"key": "nia-2", "rubric_version": 2}, "no version of rubric 'bench' '2'"),
        ({"key": "nia-2", "rubric_digest": "0" * 64}, "another content"),
        ({"key": "nia-2", "pairs": round_of(pairs=(change(PAIRS[0], difficulty=5),)).pairs}, "described otherwise"),
        ({"key": "nia-2", "pairs": round_of(pairs=(change(PAIRS[0], tag="S-9"),)).pairs}, "no pair 'S-9'"),
    ],
)
def test_a_round_that_does_not_fit_the_book(book: Book, folder, content_of, changed, told):
    book.add_round(round_of(), "oda")
    before = content_of(folder)
    with pytest.raises(InputError, match=told):
        book.add_round(round_of().model_copy(update=changed), "oda")
    assert content_of(folder) == before


def test_openings(book: Book):
    book.add_round(round_of(), "oda")
    assert not book.was_opened("nia-1", 1)
    book.record_opening("nia-1", 2, "oda")
    book.record_opening("nia-1", 2, "oda")
    assert len(book.list_acts("nia-1")) == 2
    assert [book.was_opened("nia-1", number) for number in (1, 2, 3)] == [False, True, False]
    assert not book.was_opened("nia-1", 2, "berit")
    book.record_opening("nia-1", None, "berit")
    assert [book.was_opened("nia-1", number, "berit") for number in (1, 2, 3)] == [True, True, True]
    assert not book.was_opened("nia-1", 1, "oda")
    with pytest.raises(InputError, match=r"no pair 4.*1 to 3"):
        book.record_opening("nia-1", 4, "oda")
    with pytest.raises(NotFoundError):
        book.record_opening("nia-9", 1, "oda")


def test_photos(full_book: Book):
    shown = [PhotoRow(*PHOTO), PhotoRow(*LAID_OUT)]
    assert full_book.photo_names() == (PHOTO[0], LAID_OUT[0], SHELF[0])
    assert full_book.list_photos("nia-1") == shown
    assert full_book.add_photo_row(*PHOTO, "oda") is False
    assert full_book.add_photo_row("ef" * 32, "image/png", 1, 2, 3, "oda") is True
    assert full_book.list_photos("nia-1") == shown
    with pytest.raises(InputError, match="another size"):
        full_book.add_photo_row(PHOTO[0], "image/png", 1, 2, 3, "oda")
