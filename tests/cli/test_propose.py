"""Proposing a box from the command line, over a book with one marked round and a stock to choose from."""

from __future__ import annotations

import json
import shlex

import pytest

from tests.cli.desk import MINI, Desk

STOCK = """tag,edge_type,size_in,faults,difficulty,declared_value,currency
S-201,bevel,5.5,dull,2,20.00,EUR
S-202,bevel,6.0,nick:2:thumb:tip,3,25.00,EUR
S-203,convex,6.0,dull,2,60.00,EUR
S-204,sword,6.5,rust,2,45.00,EUR
S-205,toothed,5.5,dull,1,40.00,EUR
S-206,convex,5.5,dull,2,,
"""


@pytest.fixture
def shelf(stocked: Desk) -> Desk:
    """A stock of eight pairs and a trainee who had none of them."""
    stocked.write("stock.csv", STOCK)
    import_with_own_words(stocked)
    return stocked


def import_with_own_words(desk: Desk) -> None:
    """'dull' is nobody's tag but the mentor's, which is said once."""
    answer = desk.run("pair", "import", "stock.csv")
    assert (answer.code, answer.err.count("\n")) == (0, 1)
    assert "not known to the rubrics or the cause map: 'dull' (lines 2, 4, 6, 7)." in answer.err


def test_a_new_trainee_gets_a_spread_with_its_reasons_and_the_command_to_plan_it(shelf: Desk):
    answer = shelf.do("round", "propose", "teo", "--pairs", "5", "--rubric", MINI)
    assert "Proposed for Teo Marsk, by mini:" in answer.out
    assert "It rests on no history of Teo Marsk. No round is marked yet" in answer.out
    assert "A fault new to Teo Marsk: rust" in answer.out
    command = shlex.split(answer.out.strip().splitlines()[-1])
    assert command[:5] == ["evalkit", "round", "plan", "teo", "--rubric"]
    tags = command[-1].split(",")
    assert len(tags) == 5
    shelf.do(*command[1:])
    with shelf.opened() as book:
        assert [one.pair.tag for one in book.get_round("teo-1").pairs] == tags


def test_proposing_alone_writes_nothing_and_is_the_same_again(shelf: Desk):
    before = shelf.state()
    first = shelf.do("round", "propose", "teo", "--pairs", "4", "--rubric", MINI)
    assert shelf.state() == before
    assert shelf.do("round", "propose", "teo", "--pairs", "4", "--rubric", MINI) == first


def test_planned_at_once_it_is_the_box_that_was_proposed(shelf: Desk):
    wanted = shelf.do("round", "propose", "teo", "--pairs", "3", "--rubric", MINI, "--json").json
    assert wanted["planned"] is None
    answer = shelf.do("round", "propose", "teo", "--pairs", "3", "--rubric", MINI, "--plan")
    assert "Planned teo-1: 3 pairs for Teo Marsk, by mini." in answer.out
    with shelf.opened() as book:
        assert [one.pair.tag for one in book.get_round("teo-1").pairs] == [one["tag"] for one in wanted["pairs"]]


def test_for_other_programs(shelf: Desk):
    told = shelf.do("round", "propose", "teo", "--pairs", "4", "--rubric", MINI, "--value", "150", "--json").json
    assert told["format"] == 1
    assert told["rests_on"] == {"rounds": 0, "pairs": 0, "no_figure": "no marked round"}
    assert [one["number"] for one in told["pairs"]] == [1, 2, 3, 4]
    for one in told["pairs"]:
        assert one["why"].endswith(".")
        assert sum(reason["share"] for reason in one["reasons"]) == pytest.approx(1)
    assert told["left_out"]["without a declared value"] == ["S-101", "S-102", "S-206"]
    assert float(told["declared_value"]["EUR"]) <= 150
    assert told["command"][-1] == ",".join(one["tag"] for one in told["pairs"])
    assert json.dumps(told)


def test_pairs_of_open_rounds_and_pairs_had_are_left_out(back: Desk):
    back.write("stock.csv", STOCK)
    import_with_own_words(back)
    back.do("trainee", "add", "ana", "Ana Vik")
    back.do("round", "plan", "ana", "--rubric", MINI, "--pairs", "S-201")
    told = back.do("round", "propose", "teo", "--pairs", "3", "--rubric", MINI, "--json").json
    assert told["left_out"] == {
        "back, but not marked yet": ["S-101", "S-102"],
        "in a box that is not back": ["S-201"],
    }
    assert not {"S-101", "S-102", "S-201"} & {one["tag"] for one in told["pairs"]}
    assert "in a box that is not back" in back.refuse(
        "round", "propose", "teo", "--pairs", "3", "--rubric", MINI, "--with", "S-201"
    )


def test_by_hand(shelf: Desk):
    ask = ("round", "propose", "teo", "--pairs", "3", "--rubric", MINI)
    first = shelf.do(*ask, "--json").json["command"][-1].split(",")
    other = next(tag for tag in ("S-201", "S-202", "S-203", "S-204", "S-205") if tag not in first)
    assert "Put in by hand" in shelf.do(*ask, "--with", other).out
    assert first[0] not in shelf.do(*ask, "--without", first[0], "--json").json["command"][-1]
    swapped = shelf.do(*ask, "--swap", f"{first[1]}={other}", "--json").json["command"][-1].split(",")
    assert set(swapped) == {*first, other} - {first[1]}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--pairs", "20"], "a box of 20 cannot be had: 8 pairs of the stock can be sent to Teo Marsk."),
        (["--pairs", "0"], "--pairs 0 is too few."),
        (["--pairs", "3", "--value", "30"], "a box of 3 and a value of 30 EUR at most cannot be kept together"),
        (["--pairs", "3", "--value", "much"], "'much' is no value."),
        (["--pairs", "3", "--value", "-5"], "'-5' is no value."),
        (["--pairs", "3", "--value", "NaN"], "'NaN' is no value."),
        (["--pairs", "3", "--currency", "EUR"], "a currency without a value limits nothing."),
        (["--pairs", "3", "--value", "90", "--currency", "USD"], "no pair of the stock is valued in USD."),
        (["--pairs", "3", "--edge", "bevl"], "Did you mean 'bevel'"),
        (["--pairs", "3", "--edge", "bevel=x"], "'bevel=x' is not EDGE=NUMBER."),
        (["--pairs", "3", "--edge", "micro-serrated"], "no pair of the stock can be sent"),
        (["--pairs", "3", "--ordinary", "4"], "a box of 3 and at least 4 ordinary pairs cannot be kept together"),
        (["--pairs", "3", "--with", "S-999"], "S-999"),
        (["--pairs", "3", "--swap", "S-201"], "'S-201' is not OUT=IN."),
    ],
)
def test_what_cannot_be_had_is_one_clear_line(shelf: Desk, words: list[str], said: str):
    told = shelf.refuse("round", "propose", "teo", "--rubric", MINI, *words)
    assert said in told
    assert len(told.strip().splitlines()) == 1


def test_without_a_rubric_that_of_the_last_round_is_taken(shelf: Desk):
    assert "there was no round yet, so the rubric is not known." in shelf.refuse("round", "propose", "teo")
    shelf.do("round", "plan", "teo", "--rubric", "shears", "--pairs", "S-101")
    answer = shelf.do("round", "propose", "teo", "--pairs", "2")
    assert "by shears" in answer.out
    assert "--rubric shears" in answer.out
    shelf.do("trainee", "add", "ana", "Ana Vik")
    shelf.do("round", "plan", "ana", "--rubric", MINI, "--pairs", "S-102")
    assert "'mini', is neither in your folder nor among the shipped ones." in shelf.refuse("round", "propose", "ana")
