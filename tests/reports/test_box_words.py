"""The words of a proposed box: one plain sentence a pair, and what the whole rests on."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.round import Person
from evalkit.progress.box_answer import ChosenPair, Narrowing, Proposal, Reason
from evalkit.progress.box_candidates import LeftOut, Wish
from evalkit.progress.box_worth import Why
from evalkit.progress.deciding import NoFigure
from evalkit.reports.box_words import basis_words, box_lines, proposal_document, why_all, why_words

PAIR = Pair(
    tag="S-101", edge_type=EdgeType.SWORD, size_in=Decimal("6.0"), declared_value=Decimal("35.00"), currency="EUR"
)
PRACTICE = Reason(Why.PRACTICE, ("Tips", "Burr"), 0.6, chance=0.714)
TELLS = Reason(Why.TELLS, ("Tips", "Burr"), 0.4, chance=0.81, sd=0.094)


def chosen(*reasons: Reason, by_hand: bool = False, had: str | None = None, n: int = 4) -> ChosenPair:
    return ChosenPair(PAIR, reasons, is_by_hand=by_hand, had_in=had, n_of_its_type=n)


PROPOSAL = Proposal(
    trainee=Person(key="lin", name="Lin Aubrel"),
    rubric_key="shears",
    wish=Wish(2),
    n_ordinary_lacking=3,
    n_rounds=6,
    n_scored=70,
    no_figure=None,
    chosen=(chosen(PRACTICE, TELLS), chosen(TELLS)),
    narrowing=(Narrowing("tips", "Tips", 0.81, 0.094, 0.061), Narrowing("burr", "Burr", 0.95, 0.02, 0.018)),
    left_out={LeftOut.HAD: ("S-1", "S-2"), LeftOut.LOST: ("S-3",)},
)


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (chosen(PRACTICE, TELLS), "Practice on Tips (passes about 71 %), and shows more of how it stands."),
        (chosen(replace(TELLS, share=0.9)), "Shows more of how Tips stands."),
        (chosen(PRACTICE, replace(TELLS, share=0.1)), "Practice on Tips (passes about 71 %)."),
        (
            chosen(replace(TELLS, subjects=("Burr",)), PRACTICE),
            "Shows more of how Burr stands; practice on Tips (passes about 71 %).",
        ),
        (chosen(replace(PRACTICE, chance=0.94), TELLS), "A check on Tips more than practice (passes about 94 %)."),
        (chosen(replace(PRACTICE, chance=0.854)), "Practice on Tips (passes about 85 %)."),
        (chosen(replace(PRACTICE, chance=0.856)), "A check on Tips more than practice (passes about 86 %)."),
        (chosen(replace(PRACTICE, chance=0.6)), "Practice on Tips (passes about 60 %)."),
        (
            chosen(replace(PRACTICE, chance=0.41), TELLS),
            "A stretch on Tips, harder than practice asks (passes about 41 %).",
        ),
        (chosen(Reason(Why.FAULT, ("nick",), 1.0)), "A fault new to Lin Aubrel: nick."),
        (chosen(Reason(Why.FAULT, ("nick", "rust"), 1.0)), "Faults new to Lin Aubrel: nick and rust."),
        (chosen(Reason(Why.EDGE, ("sword",), 1.0), n=0), "No sword pair was sent before."),
        (chosen(Reason(Why.EDGE, ("sword",), 1.0), n=1), "Only 1 sword pair was sent before."),
        (chosen(Reason(Why.EDGE, ("sword",), 1.0)), "Only 4 sword pairs were sent before."),
        (chosen(Reason(Why.DIFFICULTY, ("0",), 1.0)), "Ordinary, to begin with."),
        (chosen(by_hand=True, had="lin-2"), "Put in by hand, a repeat from round lin-2."),
        (chosen(), "Fills the box; nothing else tells it from the others."),
    ],
)
def test_one_plain_sentence_for_each_pair(one: ChosenPair, said: str):
    assert why_words(one, "Lin Aubrel") == said


def test_an_ordinary_pair_is_named_where_ordinary_ones_are_asked_for():
    asked = "; an ordinary pair, as readiness asks for."
    assert why_all(PROPOSAL)[1] == "Shows more of how Tips stands" + asked
    assert why_all(replace(PROPOSAL, n_ordinary_lacking=0))[1] == "Shows more of how Tips stands."
    assert why_all(replace(PROPOSAL, n_ordinary_lacking=0, wish=Wish(2, n_ordinary=1)))[1].endswith(asked)
    harder = replace(PROPOSAL.chosen[1], pair=PAIR.model_copy(update={"difficulty": 3}))
    assert why_all(replace(PROPOSAL, chosen=(harder,))) == ("Shows more of how Tips stands.",)


def test_what_it_rests_on_and_what_it_should_narrow():
    assert basis_words(PROPOSAL) == (
        "It rests on 70 pairs of Lin Aubrel in 6 rounds.",
        "Most in doubt is Tips: about 81 % on an ordinary pair, give or take 9 % now and about 6 % after this box.",
    )
    sure = replace(PROPOSAL, narrowing=PROPOSAL.narrowing[1:])
    assert basis_words(sure)[1] == "No must-pass is much in doubt; most of all Burr: about 95 % on an ordinary pair."
    new = replace(PROPOSAL, no_figure=NoFigure.NO_ROUNDS, narrowing=())
    assert basis_words(new)[0].startswith("It rests on no history of Lin Aubrel. No round is marked yet")
    little = replace(PROPOSAL, no_figure=NoFigure.FEW_PAIRS, narrowing=())
    assert basis_words(little)[0].startswith("It rests on too little history of Lin Aubrel.")


def test_the_box_as_a_whole():
    assert box_lines(PROPOSAL) == (
        "Ordinary pairs: 2 of 2; readiness lacked 3 before.",
        "Declared value: 70.00 EUR.",
        "Left out: 2 had before, 1 lost on the way.",
    )
    unknown = replace(PROPOSAL.chosen[1], pair=PAIR.model_copy(update={"declared_value": None, "currency": None}))
    words = box_lines(replace(PROPOSAL, chosen=(PROPOSAL.chosen[0], unknown)))
    assert words[1:3] == ("Declared value: 35.00 EUR.", "Without a declared value, and so not counted: S-101.")


def test_the_document_rounds_nothing():
    told = proposal_document(PROPOSAL, ["evalkit", "round", "plan"])
    assert told["pairs"][0]["reasons"][0] == {
        "why": "practice", "subjects": ["Tips", "Burr"], "share": 0.6, "chance": 0.714, "sd": None,
    }  # fmt: skip
    assert told["narrowing"][0] == {
        "criterion": "tips", "name": "Tips", "chance": 0.81, "sd_now": 0.094, "sd_after": 0.061,
    }  # fmt: skip
    assert told["left_out"] == {"had before": ["S-1", "S-2"], "lost on the way": ["S-3"]}
    assert told["command"] == ["evalkit", "round", "plan"]
