"""What left and what came: numbers of the box alone, each way for itself."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.arriving import Losses, arrival_words
from evalkit.domain.round import Leg, LegKind, Round
from evalkit.reports.custody_words import overdue_words, ways_of
from tests.book.values import JOURNEY, round_of

lost = st.lists(st.sampled_from([1, 2, 3, 44]), unique=True).map(sorted).map(tuple)


def travelled(out: str, back: str) -> Round:
    kinds = {LegKind.RECEIVED: out, LegKind.RECEIVED_BACK: back}
    legs = tuple(leg.model_copy(update={"condition": kinds.get(leg.kind, "")}) for leg in JOURNEY)
    return round_of().model_copy(update={"legs": legs})


@given(lost, lost, lost)
def test_what_came_is_what_left_less_what_was_missing(
    out: tuple[int, ...], back: tuple[int, ...], hurt: tuple[int, ...]
):
    words = (arrival_words(Losses(out, hurt)), arrival_words(Losses(back)))
    first, second = ways_of(travelled(*words))
    box = {1, 2, 3}
    assert (first.n_left, set(first.missing), set(first.damaged)) == (3, box & set(out), box & set(hurt))
    assert second.n_left == 3 - len(first.missing)
    assert set(second.missing) == (box & set(back)) - set(out)
    assert set(second.unheard) == (box & set(out)) - set(back)


def test_a_way_that_has_not_ended_tells_nothing():
    assert [len(ways_of(round_of().model_copy(update={"legs": JOURNEY[:n]}))) for n in range(5)] == [0, 0, 1, 1, 2]


def test_a_box_is_overdue_only_while_it_is_away_and_past_the_limit():
    start = date(2026, 3, 2)
    for n in range(5):
        round_ = round_of().model_copy(update={"legs": JOURNEY[:n]})
        last = round_.legs[-1].happened_on if n else start
        assert overdue_words(round_, last + timedelta(30), 30) == ""
        away = n in (1, 2, 3)
        assert overdue_words(round_, last + timedelta(31), 30) == ("overdue: 31 days" if away else "")
    lost = round_of().model_copy(update={"legs": (JOURNEY[0], Leg(kind=LegKind.LOST, happened_on=start))})
    assert overdue_words(lost, start + timedelta(400), 30) == ""
