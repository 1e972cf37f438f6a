"""Short lines for pages, against the same asked of whole rounds; and a pair that another hand changed meanwhile."""

from __future__ import annotations

import pytest

from evalkit.book.book import Book
from evalkit.book.drafts import state_of
from evalkit.book.history import Changed
from evalkit.domain.marking import MarkedPair
from evalkit.domain.round import RoundState
from evalkit.errors import AlreadyError, ChangedError
from tests.book.values import round_of

ROUND = round_of()


@pytest.fixture
def planned(book: Book) -> Book:
    book.add_round(ROUND, "oda")
    return book


def test_the_lines_of_rounds_are_those_of_the_rounds(full_book: Book):
    rounds = {one.key: one for one in full_book.list_rounds()}
    lines = [*full_book.open_rounds(100), *full_book.done_rounds(100, 0)]
    assert sorted(line.key for line in lines) == sorted(rounds), "each round stands in one of the two lists"
    for line in lines:
        round_ = rounds[line.key]
        assert (line.trainee, line.n_pairs, line.state) == (round_.trainee, len(round_.pairs), round_.state)
        assert line.since == (round_.legs[-1].happened_on if round_.legs else round_.planned_on)
        assert line.is_sealed == (full_book.find_assessment(line.key) is not None)
        assert line.is_finished == (full_book.find_marking(line.key) is not None)
    done = {line.key for line in full_book.done_rounds(100, 0)}
    assert done == {
        key for key, one in rounds.items() if full_book.find_marking(key) is not None or one.state is RoundState.LOST
    }


def test_pages_of_lists_join_without_a_gap(full_book: Book):
    whole = full_book.done_rounds(100, 0)
    assert [line for at in range(len(whole)) for line in full_book.done_rounds(1, at)] == whole
    assert full_book.done_rounds(10, len(whole)) == []
    days = [full_book.get_round(line.key).planned_on for line in whole]
    assert days == sorted(days, reverse=True)


def test_the_rounds_of_one_trainee(full_book: Book):
    for person in full_book.list_people("trainee"):
        keys = {one.key for one in full_book.list_rounds(person.key)}
        assert {line.key for line in full_book.rounds_of(person.key, 100)} == keys
    assert full_book.rounds_of("nobody", 100) == []


def test_a_standing_tells_who_has_begun_finished_and_read(full_book: Book):
    for round_ in full_book.list_rounds():
        standing = full_book.round_standing(round_.key)
        for mentor in (person.key for person in full_book.list_people("mentor")):
            finished = full_book.find_marking(round_.key, mentor)
            assert standing.finished.get(mentor) == (finished.version if finished else None)
            assert (mentor in standing.drafts) == (full_book.find_draft(round_.key, mentor) is not None)
            for number in round_.numbers:
                assert standing.has_opened(mentor, number) == full_book.was_opened(round_.key, number, mentor)
        sealed = full_book.find_assessment(round_.key)
        assert max(standing.sealed, default=None) == (sealed.version if sealed else None)


def test_one_pair_of_an_assessment_is_that_pair(full_book: Book):
    for round_ in full_book.list_rounds():
        sealed = full_book.find_assessment(round_.key)
        for number in round_.numbers if sealed else ():
            alone = full_book.find_assessment(round_.key, number=number)
            assert sealed is not None
            assert alone is not None
            assert alone.assessment.find_pair(number) == sealed.assessment.find_pair(number)
            assert alone.seal == sealed.seal


def test_questions_are_counted_without_the_rest(full_book: Book, planned: Book):
    for round_ in full_book.list_rounds():
        sealed = full_book.find_assessment(round_.key)
        asked = {pair.number: len(pair.questions) for pair in sealed.assessment.pairs} if sealed else {}
        assert full_book.question_counts(round_.key) == asked
    assert any(full_book.question_counts("nia-1").values())
    assert planned.question_counts("nia-1") == {}


def test_the_latest_versions_of_a_marking(full_book: Book):
    for round_ in full_book.list_rounds():
        found = full_book.latest_versions(round_.key, most=3)
        latest = full_book.find_marking(round_.key)
        assert (found[0] if found else None) == latest
        if latest:
            mentor = latest.marking.mentor_key
            versions = [line.version for line in full_book.marking_versions(round_.key, mentor)]
            assert [one.version for one in found] == versions[::-1][:3]


def test_every_act_has_a_number_of_its_own(planned: Book):
    before = planned.latest_act()
    assert before == planned.list_acts()[-1].seq
    planned.record_opening("nia-1", 1, "oda")
    assert planned.latest_act() == before + 1
    assert planned.changed_since(before) == Changed(frozenset({"nia-1"}), is_marks_only=False)
    planned.record_opening("nia-1", 1, "oda")
    assert planned.latest_act() == before + 1, "nothing was changed"


# --- another hand ----------------------------------------------------------------------------------------------------


def save(book: Book, pair: MarkedPair, based_on: str | None = None) -> MarkedPair:
    digest = book.get_round("nia-1").rubric_digest
    return book.save_marked_pair("nia-1", "oda", pair, digest, "oda", based_on=based_on)


def test_a_pair_changed_meanwhile_is_not_overwritten(planned: Book):
    first = MarkedPair(number=1, keep="first")
    save(planned, first, based_on="")
    with pytest.raises(ChangedError, match="changed meanwhile"):
        save(planned, MarkedPair(number=1, keep="second"), based_on="")
    assert isinstance(ChangedError("x", mend="y"), AlreadyError)
    assert planned.find_draft("nia-1", "oda").find_pair(1) == first  # type: ignore[union-attr]
    save(planned, first, based_on=""), "the same words are no conflict"
    save(planned, MarkedPair(number=1, keep="second"), based_on=state_of(first))
    save(planned, MarkedPair(number=1, keep="third")), "whoever names no state is not asked"


def test_the_state_of_a_pair_goes_by_its_words():
    pair = MarkedPair(number=1, keep="x")
    assert state_of(None) == ""
    assert state_of(pair) == state_of(pair.model_copy(update={"was_opened": True}))
    assert state_of(pair) != state_of(pair.model_copy(update={"keep": "y"}))


def test_a_mark_changes_nothing_but_the_pair_once_the_marking_is_begun(planned: Book):
    acts = [planned.latest_act()]
    for word in ("first", "second"):
        save(planned, MarkedPair(number=1, keep=word))
        acts.append(planned.latest_act())
    key = frozenset({"nia-1"})
    assert planned.changed_since(acts[0]) == Changed(key, is_marks_only=False), "it was begun"
    assert planned.changed_since(acts[1]) == Changed(key, is_marks_only=True)
    assert planned.changed_since(acts[2]) == Changed()
    planned.discard_draft("nia-1", "oda", "oda")
    assert planned.changed_since(acts[2]) == Changed(key, is_marks_only=False), "it is begun no longer"


def test_a_pair_as_it_stood_before_its_last_change(planned: Book):
    assert planned.find_pair_before("nia-1", "oda", 1) is None
    versions = [MarkedPair(number=1, keep=word) for word in ("a", "b", "c")]
    for pair in versions:
        save(planned, pair)
    save(planned, MarkedPair(number=2, keep="other"))
    assert planned.find_pair_before("nia-1", "oda", 1) == versions[1]
    assert planned.find_pair_before("nia-1", "oda", 2) == MarkedPair(number=2), "marking began with an empty pair"


def test_words_after_both_views_were_read_leave_a_pair_blind(planned: Book):
    save(planned, MarkedPair(number=1, called_for="sharpen"))
    planned.record_opening("nia-1", 1, "oda")
    assert not save(planned, MarkedPair(number=1, called_for="sharpen", keep="a word")).was_opened
    assert save(planned, MarkedPair(number=1, called_for="leave", keep="a word")).was_opened
    assert save(planned, MarkedPair(number=1, called_for="leave", keep="more")).was_opened, "once read, always read"
