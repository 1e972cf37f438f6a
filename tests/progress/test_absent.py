"""A pair that was not in the box: it has a standing of its own, and stands aside from every count."""

from __future__ import annotations

import pytest

from evalkit.domain.arriving import Losses, arrival_words
from evalkit.domain.reading import NotSeen, Unseen
from evalkit.domain.round import LegKind
from evalkit.domain.triage import Decision
from evalkit.progress.aside import PutAside, pairs_aside
from evalkit.progress.counting import count_rounds
from evalkit.progress.lining_up import line_up
from evalkit.progress.results import RoundResult, answer_round
from evalkit.reports.document import round_document
from tests.progress.boxes import alike, box
from tests.reports.values import MADE_ON

BOX = box("nia-1", alike(4))


def lost(result: RoundResult, *numbers: int, way: LegKind = LegKind.RECEIVED_BACK) -> RoundResult:
    """The same round as the check-in writes it: these pairs missing, and marked 'could not' at every place."""
    words = arrival_words(Losses(missing=numbers))
    legs = tuple(
        leg.model_copy(update={"condition": words}) if leg.kind is way else leg for leg in result.round.legs
    )  # fmt: skip
    round_ = result.round.model_copy(update={"legs": legs})
    marking = result.marking
    assert marking is not None
    pairs = tuple(
        pair.model_copy(
            update={
                "readings": tuple(
                    one.model_copy(update={"seen": NotSeen(why=Unseen.COULD_NOT), "note": "not in the box"})
                    for one in pair.readings
                )
            }
        )
        if pair.number in numbers
        else pair
        for pair in marking.pairs
    )
    marking = marking.model_copy(update={"pairs": pairs})
    return answer_round(round_, result.rubric, result.assessment, marking, intake=result.intake)


def test_a_pair_missing_when_it_came_back_is_not_graded():
    result = lost(BOX, 3)
    pair = result.pairs[2]
    assert (pair.is_graded, pair.standing_words) == (False, "not in the box when it came back")
    assert [one.number for one in result.graded] == [1, 2, 4]
    assert sum(result.tally.verdicts.values()) == 3
    assert pairs_aside(result.round, result.pairs) == (PutAside("missing when the box came back", (3,)),)
    (counts,) = count_rounds(line_up([result], "nia"))
    assert (counts.n_pairs, counts.n_in_box) == (3, 4)


def test_a_pair_that_was_found_again_and_marked_counts():
    words = arrival_words(Losses(missing=(3,)))
    legs = tuple(leg.model_copy(update={"condition": words}) for leg in BOX.round.legs)
    result = answer_round(
        BOX.round.model_copy(update={"legs": legs}), BOX.rubric, BOX.assessment, BOX.marking
    )  # fmt: skip
    assert result.pairs[2].is_graded
    assert pairs_aside(result.round, result.pairs) == ()


@pytest.mark.parametrize("is_assessed", [True, False])
def test_a_pair_missing_on_the_way_out_counts_only_if_somebody_saw_it(is_assessed: bool):
    seen = [{"burr": 3}] * 4 if is_assessed else [{"burr": 3}] * 2 + [{}] + [{"burr": 3}]
    result = lost(box("nia-1", alike(4), received=seen, own=[{}] * 4), 3, way=LegKind.RECEIVED)
    assert result.pairs[2].standing_words == ("graded" if is_assessed else "not in the box when it arrived")


def test_a_right_decision_stays_one_though_the_pair_was_lost_after_it():
    result = lost(box("nia-1", alike(4), decisions={3: Decision.LEAVE}, called_for={3: Decision.LEAVE}), 3)
    pair = result.pairs[2]
    assert (pair.standing_words, pair.absent) == ("rightly left alone", "not in the box when it came back")


def test_for_other_programs_it_hangs_on_no_test():
    found = round_document(lost(BOX, 3), made_on=MADE_ON).pairs
    assert (found[2].standing, found[2].returned.needed) == ("not in the box when it came back", ())
    assert {one.standing for one in found} == {"graded", "not in the box when it came back"}
