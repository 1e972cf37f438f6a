"""Which pairs of a box are in no count, each with its reason."""

from __future__ import annotations

from dataclasses import replace

from evalkit.domain.arriving import Losses, arrival_words
from evalkit.domain.pair import EdgeType
from evalkit.domain.round import LegKind
from evalkit.domain.triage import Decision
from evalkit.progress.aside import PutAside, pairs_aside
from evalkit.progress.counting import count_rounds
from evalkit.progress.lining_up import line_up
from evalkit.progress.results import RoundResult
from tests.progress.boxes import alike, box

BOX = box("nia-1", alike(6), edge_type=[EdgeType.BEVEL] * 4 + [EdgeType.CONVEX] * 2)


def unmarked(result: RoundResult, *numbers: int) -> RoundResult:
    pairs = tuple(replace(pair, marked=None) if pair.number in numbers else pair for pair in result.pairs)
    return replace(result, pairs=pairs)


def arrived(result: RoundResult, kind: LegKind, losses: Losses) -> RoundResult:
    legs = tuple(
        leg.model_copy(update={"condition": arrival_words(losses)}) if leg.kind is kind else leg
        for leg in result.round.legs
    )
    return replace(result, round=result.round.model_copy(update={"legs": legs}))


def aside(result: RoundResult, *edge_types: EdgeType) -> tuple[PutAside, ...]:
    return pairs_aside(result.round, result.pairs, edge_types or None)


def test_a_box_whose_pairs_all_count_has_nothing_aside():
    assert aside(BOX) == ()


def test_what_was_written_of_the_journey_says_why():
    result = unmarked(BOX, 1, 2, 3, 5, 6)
    result = arrived(result, LegKind.RECEIVED, Losses(missing=(1,), damaged=(3, 4)))
    result = arrived(result, LegKind.RECEIVED_BACK, Losses(missing=(2,), damaged=(5,)))
    assert aside(result) == (
        PutAside("missing when the box arrived", (1,)),
        PutAside("missing when the box came back", (2,)),
        PutAside("damaged on the way out", (3,)),  # pair 4 is damaged as well, but marked: it counts
        PutAside("damaged on the way back", (5,)),
        PutAside("not marked", (6,)),
    )


def test_only_pairs_of_the_edge_types_asked_for_are_told():
    result = unmarked(BOX, 1, 5, 6)
    assert aside(result, EdgeType.CONVEX) == (PutAside("not marked", (5, 6)),)


def test_a_right_decision_stands_outside_and_the_count_and_the_box_add_up():
    decisions = {2: Decision.LEAVE, 3: Decision.LEAVE}
    result = box("nia-1", alike(6), decisions=decisions, called_for={2: Decision.LEAVE})
    assert aside(result) == (PutAside("rightly left alone", (2,)), PutAside("left alone", (3,)))
    (counts,) = count_rounds(line_up([result], "nia"))
    assert (counts.n_pairs, counts.n_in_box) == (4, 6)
