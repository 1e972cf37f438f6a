"""Where each pair is, against the same asked of whole rounds."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from evalkit.actions.shelf import held_pairs
from evalkit.book.book import Book
from evalkit.book.whereabouts import Asked
from evalkit.domain.round import Leg, LegKind, RoundState
from evalkit.progress.box_candidates import LeftOut
from tests.book.values import JOURNEY, PAIRS, round_of

KEY = "nia-1"


@pytest.fixture
def planned(book: Book) -> Book:
    book.add_round(round_of(), "oda")
    return book


def where(book: Book, tag: str):
    (found,) = book.list_whereabouts([tag])
    return found


def everywhere(book: Book):
    return book.list_whereabouts(book.fitting_tags(Asked()))


def go(book: Book, *kinds: LegKind, words: str = "", days: int = 0) -> None:
    for leg in JOURNEY:
        if leg.kind in kinds:
            condition = words if leg.kind is LegKind.RECEIVED_BACK else ""
            on = leg.happened_on + timedelta(days=days)
            book.add_leg(KEY, Leg(kind=leg.kind, happened_on=on, condition=condition), "oda")


def test_a_pair_that_was_never_sent_is_nowhere_since_unknown(book: Book):
    found = everywhere(book)
    assert [one.pair for one in found] == sorted(PAIRS, key=lambda pair: pair.tag)
    assert {(one.box, one.since, one.is_missing, one.retirement) for one in found} == {(None, None, False, None)}


@pytest.mark.parametrize("n", range(len(JOURNEY) + 1))
def test_each_step_of_its_box_says_where_it_is_since_when(planned: Book, n: int):
    go(planned, *[leg.kind for leg in JOURNEY[:n]])
    round_ = planned.get_round(KEY)
    one = where(planned, round_.pairs[0].pair.tag)
    assert one.box is not None
    assert (one.box.key, one.box.trainee, one.box.state) == (KEY, round_.trainee, round_.state)
    assert one.since == (round_.legs[-1].happened_on if round_.legs else round_.planned_on)


def test_a_missing_pair_is_missing_since_the_box_came_back_until_it_is_found(planned: Book):
    go(planned, *[leg.kind for leg in JOURNEY], words="Missing: pair 2.")
    tag = planned.get_round(KEY).get_pair(2).pair.tag
    one = where(planned, tag)
    assert one.is_missing
    assert one.since == JOURNEY[-1].happened_on
    assert sum(other.is_missing for other in everywhere(planned)) == 1
    planned.bring_back_pair(tag, JOURNEY[-1].happened_on + timedelta(days=3), "lay under the cloth", "oda")
    assert not where(planned, tag).is_missing
    assert where(planned, tag).retirement is None


def test_retired_stands_before_all_and_says_since_when(planned: Book):
    go(planned, *[leg.kind for leg in JOURNEY], words="Missing: pair 2.")
    tag = planned.get_round(KEY).get_pair(2).pair.tag
    planned.retire_pair(tag, date(2026, 6, 1), "worn out", "oda")
    one = where(planned, tag)
    assert one.since == date(2026, 6, 1)
    assert one.retirement is not None
    assert one.retirement.reason == "worn out"


def test_lost_stays_lost_whatever_round_came_later(planned: Book):
    go(planned, LegKind.SENT)
    planned.add_leg(KEY, Leg(kind=LegKind.LOST, happened_on=date(2026, 4, 1)), "oda")
    later = round_of("nia-2").model_copy(update={"planned_on": date(2026, 5, 1)})
    planned.add_round(later, "oda")
    one = where(planned, later.pairs[0].pair.tag)
    assert one.box is not None
    assert (one.box.key, one.box.state, one.since) == (KEY, RoundState.LOST, date(2026, 4, 1))


def test_it_agrees_with_what_holds_a_pair_back(full_book: Book):
    """The one list serves pages, the other the choice of a box: they may not contradict each other."""
    held = held_pairs(full_book)
    for one in everywhere(full_book):
        why = held.get(one.pair.tag, (None, None))[0]
        assert (one.retirement is not None) == (why is LeftOut.RETIRED)
        if one.retirement is None:
            assert one.is_missing == (why is LeftOut.MISSING)


def test_the_whole_stock_is_told_each_pair_with_its_last_box(full_book: Book):
    found = everywhere(full_book)
    assert [one.pair for one in found] == full_book.list_pairs()
    for one in found:
        holding = full_book.rounds_holding(one.pair.tag)
        if one.is_missing or any(round_.state is RoundState.LOST for round_ in holding):
            continue
        assert (one.box.key if one.box else None) == (holding[-1].key if holding else None)
        assert (one.box.state if one.box else None) == (holding[-1].state if holding else None)


def test_whoever_is_not_simply_here_is_among_those_apart(full_book: Book):
    apart = {one.pair.tag: one for one in full_book.list_apart()}
    for one in everywhere(full_book):
        is_here = (
            one.retirement is None and not one.is_missing and (one.box is None or one.box.state is RoundState.BACK)
        )
        assert is_here or apart[one.pair.tag] == one


@pytest.mark.parametrize("n", range(len(JOURNEY) + 1))
def test_a_pair_in_an_open_box_is_apart_until_it_is_back(planned: Book, n: int):
    go(planned, *[leg.kind for leg in JOURNEY[:n]])
    tags = {one.pair.tag for one in planned.get_round(KEY).pairs}
    assert {one.pair.tag for one in planned.list_apart()} == (tags if n < len(JOURNEY) else set())


def test_the_stock_is_searched_by_words_that_must_all_stand_there(full_book: Book):
    stock = everywhere(full_book)
    held = {tag: [one.key for one in full_book.rounds_holding(tag)] for tag in (one.pair.tag for one in stock)}

    def fits(one, word: str) -> bool:
        pair = one.pair
        told = [pair.tag, pair.edge_type.value, str(pair.size_in), *(fault.tag for fault in pair.faults)]
        return any(word in words.casefold() for words in (*told, *held[pair.tag]))

    for words in [("convex",), ("5.5",), ("nick",), (KEY,), ("convex", "6"), ("%",), ("_",), ("nothing-like-it",)]:
        asked = Asked(words)
        expected = [one.pair.tag for one in stock if all(fits(one, word) for word in words)]
        assert full_book.fitting_tags(asked) == expected
        assert full_book.count_pairs(asked) == len(expected)
        assert full_book.fitting_tags(asked, 1, 1) == expected[1:2]
    assert full_book.fitting_tags(Asked(without=frozenset({stock[0].pair.tag}))) == [one.pair.tag for one in stock[1:]]


def test_an_old_description_is_not_searched(planned: Book):
    tag = planned.get_round(KEY).pairs[0].pair.tag
    pair = planned.get_pair(tag)
    planned.change_pair(pair.model_copy(update={"faults": (), "difficulty": 5}), "oda")
    for fault in pair.faults:
        assert tag not in planned.fitting_tags(Asked((fault.tag,)))
    assert len(planned.fitting_tags(Asked())) == len(PAIRS)
