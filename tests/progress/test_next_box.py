"""The next box: the objective against brute force, the limits, the reasons, and the clear line where it cannot be."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from itertools import combinations

import pytest

from evalkit.domain.pair import EdgeType, KnownFault, Pair
from evalkit.domain.round import LegKind
from evalkit.errors import InputError
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.narrowing import chance_sd, chances_on, learnt_each
from evalkit.progress.box_candidates import LeftOut, Past, Wish, past_of
from evalkit.progress.box_worth import (
    Known,
    Wanted,
    Why,
    practice_worth,
    wanted_with_history,
    wanted_without_history,
)
from evalkit.progress.deciding import NoFigure
from evalkit.progress.lining_up import line_up
from evalkit.progress.next_box import known_of, propose_box
from evalkit.progress.observing import observe
from evalkit.progress.results import RoundResult
from tests.progress.boxes import FIRST_DAY, NIA, PLAIN, alike, box, days_later

TODAY = days_later(4)
CENTS = Decimal("0.01")


def pair(
    tag: str, *faults: str, edge: EdgeType = EdgeType.BEVEL, difficulty: int = 2, value: str | None = "20.00", cur="EUR"
) -> Pair:
    return Pair(
        tag=tag,
        edge_type=edge,
        size_in=Decimal("5.5"),
        difficulty=difficulty,
        faults=tuple(KnownFault(tag=fault) for fault in faults),
        declared_value=None if value is None else Decimal(value),
        currency=None if value is None else cur,
    )


def some_stock(n: int, seed: int = 1) -> list[Pair]:
    luck = random.Random(seed)
    tags = ("nick", "rust", "dull", "loose-screw", "throat-dip")
    return [
        pair(
            f"S-{100 + at}",
            *luck.sample(tags, luck.randint(0, 2)),
            edge=luck.choice(list(EdgeType)[:4]),
            difficulty=luck.choice((1, 2, 2, 2, 3, 3, 4, 5)),
            value=str(Decimal(luck.randint(800, 6000)) * CENTS),
        )
        for at in range(n)
    ]


def levels(n: int, burr: Sequence[int], tips: Sequence[int]) -> list[dict[str, int]]:
    """Levels in turn: so a criterion is as strong as its row."""
    return [{"burr": burr[at % len(burr)], "tips": tips[at % len(tips)], "finish": 2} for at in range(n)]


@pytest.fixture(scope="module")
def known(middling: list[RoundResult]) -> Known:
    return known_of(observe(line_up(middling, NIA.key)), TODAY, Hyper())[0]


@pytest.fixture(scope="module")
def middling() -> list[RoundResult]:
    """Three rounds: tips weak, burr fair."""
    return [box(f"nia-{at}", levels(8, (2, 2, 3, 1), (1, 2, 1, 2)), months=at) for at in (1, 2, 3)]


def propose(results, stock, wish, *, held=None, rubric=PLAIN, today=TODAY):
    return propose_box(NIA, results, stock, held or {}, rubric, wish, today=today)


# --- the objective by another road, over every box --------------------------------------------------------------------


def odd_divisors(n_before: int, n: int) -> float:
    return sum(1 / (2 * k + 1) for k in range(n_before, n_before + n))


def spread_worth(chosen: Sequence[Pair], stock: Sequence[Pair], n: int) -> float:
    """The new trainee's 100 points, straight from the words: nothing was had before."""
    edges = {kind: sum(one.edge_type is kind for one in chosen) for kind in EdgeType}
    there = {kind: sum(one.edge_type is kind for one in stock) for kind in EdgeType}
    rungs = sorted((1 / (2 * k + 1) for m in there.values() for k in range(min(m, n))), reverse=True)[:n]
    by_edge = sum(odd_divisors(0, m) for m in edges.values()) / sum(rungs)
    share = {1: 0.5, 2: 1.0, 3: 0.5}
    hard = sorted(
        (w / (2 * k + 1) for d, w in share.items() for k in range(min(sum(p.difficulty == d for p in stock), n))),
        reverse=True,
    )[:n]
    by_difficulty = sum(w * odd_divisors(0, sum(p.difficulty == d for p in chosen)) for d, w in share.items())
    new = {f.tag for p in stock if p.difficulty <= 3 for f in p.faults}
    met = {f.tag for p in chosen if p.difficulty <= 3 for f in p.faults}
    by_fault = len(met) / max(len(new), n / 2)
    return 0.4 * by_edge + 0.3 * by_difficulty / sum(hard) + 0.3 * by_fault


@pytest.mark.parametrize("seed", range(25))
def test_a_new_trainees_box_is_the_best_of_all_boxes(seed: int):
    stock = some_stock(9, seed)
    n = 3 + seed % 2
    found = propose([], stock, Wish(n, n_ordinary=0))
    chosen = [one.pair for one in found.chosen]
    best = max(spread_worth(some, stock, n) for some in combinations(stock, n))
    assert spread_worth(chosen, stock, n) == pytest.approx(best, abs=1e-5)


class ByWords:
    """The 100 points of a trainee with a history, from the words; curves as curves and not by pieces."""

    def __init__(self, stock: Sequence[Pair], n: int, past: Past, known: Known) -> None:
        self.stock, self.n, self.past = stock, n, past
        self.at = {key: at for at, key in enumerate(known.keys)}
        outlook = known.outlook
        self.var = outlook.whole().diagonal()
        self.doubt = chance_sd(outlook, outlook.whole()) ** 2
        self.learnt = {one.tag: learnt_each(outlook, known.kind_of(one, PLAIN), n) for one in stock}
        self.chance = {d: chances_on(outlook, d - 2.0) for d in range(1, 6)}
        # Three criteria in all, so these are the weakest three.
        short = {k: (1 - self.chance[2][at]) * (2 if k in ("burr", "tips") else 1) for k, at in self.at.items()}
        self.share = {key: short[key] / sum(short.values()) for key in short}
        self.new = {fault.tag for one in stock for fault in one.faults} - past.faults

    def worth(self, chosen: Sequence[Pair]) -> float:
        return (
            0.4 * self.tells(chosen) + 0.3 * self.practice(chosen) + 0.2 * self.met(chosen) + 0.1 * self.edges(chosen)
        )

    def tells(self, chosen: Sequence[Pair]) -> float:
        told = reach = 0.0
        for at in (self.at["burr"], self.at["tips"]):
            most = self.n * max(row[at] for row in self.learnt.values())
            got = sum(self.learnt[one.tag][at] for one in chosen)
            reach += self.doubt[at] * (1 - 1 / (1 + self.var[at] * most))
            told += self.doubt[at] * (1 - 1 / (1 + self.var[at] * got))
        return told / reach

    def practice(self, chosen: Sequence[Pair]) -> float:
        found, half = 0.0, self.n / 2
        for key, share in self.share.items():
            total = sum(practice_worth(self.chance[one.difficulty][self.at[key]]) for one in chosen)
            found += share * (min(total, half) + max(total - half, 0) / 2) / (1.5 * half)
        return found

    def met(self, chosen: Sequence[Pair]) -> float:
        def bearable(difficulty: int) -> float:
            chance = sum(share * self.chance[difficulty][self.at[key]] for key, share in self.share.items())
            return min(1.0, chance / 0.6)

        worn = [({fault.tag for fault in one.faults}, bearable(one.difficulty)) for one in chosen]
        met = sum(min(1.0, sum(bear for tags, bear in worn if tag in tags)) for tag in self.new)
        return met / max(len(self.new), self.n / 2)

    def edges(self, chosen: Sequence[Pair]) -> float:
        def rungs(pairs: Sequence[Pair]) -> list[float]:
            counts = {kind: sum(one.edge_type is kind for one in pairs) for kind in EdgeType}
            return [
                1 / (2 * (self.past.n_by_edge.get(kind, 0) + k) + 1) for kind, m in counts.items() for k in range(m)
            ]

        return sum(rungs(chosen)) / sum(sorted(rungs(self.stock), reverse=True)[: self.n])


@pytest.mark.parametrize("seed", range(12))
def test_a_box_with_a_history_is_the_best_of_all_boxes(middling: list[RoundResult], known: Known, seed: int):
    stock, n = some_stock(9, seed), 4
    past = past_of([one.round for one in middling])
    by_words = ByWords(stock, n, past, known)
    chosen = [one.pair for one in propose(middling, stock, Wish(n, n_ordinary=0)).chosen]
    best = max(by_words.worth(some) for some in combinations(stock, n))
    assert by_words.worth(chosen) > best - 0.004  # the straight pieces of the curve
    wanted = wanted_with_history(stock, n, past, PLAIN, known)
    assert worth_of(wanted, stock, chosen) == pytest.approx(by_words.worth(chosen), abs=0.004)
    assert (
        worth_of(wanted, stock, chosen) >= max(worth_of(wanted, stock, some) for some in combinations(stock, n)) - 1e-5
    )


def worth_of(wanted: Sequence[Wanted], stock: Sequence[Pair], chosen: Sequence[Pair]) -> float:
    at = [stock.index(one) for one in chosen]
    return sum(one.gain.worth_of(sum(one.gain.amounts[i] for i in at)) for one in wanted)


def test_each_part_can_reach_its_points_and_no_more(middling: list[RoundResult], known: Known):
    stock = some_stock(40)
    past = past_of([one.round for one in middling])
    for wanted, points in (
        (
            wanted_with_history(stock, 12, past, PLAIN, known),
            {Why.TELLS: 40, Why.PRACTICE: 30, Why.FAULT: 20, Why.EDGE: 10},
        ),
        (wanted_without_history(stock, 12, past_of([])), {Why.EDGE: 40, Why.DIFFICULTY: 30, Why.FAULT: 30}),
    ):
        assert {one.why for one in wanted} == set(points)
        found = propose(middling if Why.TELLS in points else [], stock, Wish(12, 0))
        chosen = [one.pair for one in found.chosen]
        for why, most in points.items():
            part = worth_of([one for one in wanted if one.why is why], stock, chosen)
            assert most / 200 < part <= most / 100 + 1e-9, why


# --- what it does -----------------------------------------------------------------------------------------------------


def test_a_new_trainee_gets_a_spread_and_is_told_that_it_rests_on_no_history():
    stock = some_stock(60, 3)
    found = propose([], stock, Wish(12))
    assert found.no_figure is NoFigure.NO_ROUNDS
    assert (found.n_rounds, found.n_scored, found.narrowing) == (0, 0, ())
    chosen = [one.pair for one in found.chosen]
    assert {one.edge_type for one in chosen} == {one.edge_type for one in stock}
    steps = [one.difficulty for one in chosen]
    assert steps.count(2) >= 5
    assert {1, 2, 3} == set(steps)
    assert {"nick", "rust", "dull", "loose-screw", "throat-dip"} <= {f.tag for one in chosen for f in one.faults}
    assert found.n_ordinary_lacking == 5  # what the readiness rule asks for
    assert all(one.reasons for one in found.chosen)


def test_under_five_pairs_with_levels_it_is_a_spread_too():
    found = propose([box("nia-1", alike(4))], some_stock(30), Wish(6))
    assert found.no_figure is NoFigure.FEW_PAIRS
    assert {reason.why for one in found.chosen for reason in one.reasons} <= {Why.EDGE, Why.DIFFICULTY, Why.FAULT}


def test_a_weak_trainee_gets_easier_pairs_and_a_strong_one_harder_ones():
    stock = [pair(f"S-{at}", difficulty=1 + at % 5) for at in range(10, 60)]
    weak = propose([box(f"w{at}", levels(10, (0, 1), (0, 1)), months=at) for at in (1, 2)], stock, Wish(10, 0))
    strong = propose([box(f"s{at}", levels(10, (3,), (3,)), months=at) for at in (1, 2)], stock, Wish(10, 0))
    easy = [one.pair.difficulty for one in weak.chosen]
    hard = [one.pair.difficulty for one in strong.chosen]
    assert set(easy) == {1}
    assert min(hard) >= 3


def test_the_doubt_narrows_and_the_weakest_criterion_is_practised(middling: list[RoundResult]):
    found = propose(middling, some_stock(60), Wish(12))
    assert found.no_figure is None
    assert {one.key for one in found.narrowing} == {"burr", "tips"}
    for one in found.narrowing:
        assert 0.4 * one.sd_now < one.sd_after < 0.95 * one.sd_now
    practised = [reason.subjects[0] for one in found.chosen for reason in one.reasons if reason.why is Why.PRACTICE]
    assert practised
    assert set(practised) == {"Tips"}
    chances = [r.chance for one in found.chosen for r in one.reasons if r.why is Why.PRACTICE]
    assert sum(0.5 <= chance <= 0.9 for chance in chances) >= len(chances) - 3


def test_a_fault_not_met_yet_is_brought_in_once(middling: list[RoundResult]):
    had = [box("nia-4", alike(3), months=3.5, tags={1: ("nick",)}), *middling]
    stock = [pair(f"S-{at}", "nick") for at in range(10, 30)] + [pair("T-1", "rust"), pair("T-2", "rust")]
    found = propose(had, stock, Wish(6, 0))
    assert "T-1" in found.tags
    assert "T-2" not in found.tags  # of two alike the earlier tag, and only one
    (rust,) = [one for one in found.chosen if one.pair.tag == "T-1"]
    assert rust.reasons[0].why is Why.FAULT
    assert rust.reasons[0].subjects == ("rust",)


def test_no_pair_that_was_had_is_in_a_box_or_is_lost(middling: list[RoundResult]):
    had = middling[0].round.pairs[0].pair
    stock = [had, *some_stock(12)]
    held = {"S-100": LeftOut.ELSEWHERE, "S-101": LeftOut.LOST, "S-102": LeftOut.UNMARKED}
    found = propose(middling, stock, Wish(6), held=held)
    assert not {had.tag, *held} & set(found.tags)
    assert found.left_out == {
        LeftOut.HAD: (had.tag,), LeftOut.ELSEWHERE: ("S-100",), LeftOut.LOST: ("S-101",), LeftOut.UNMARKED: ("S-102",),
    }  # fmt: skip


def test_the_same_question_has_the_same_answer_in_whatever_order_the_stock_lies(middling: list[RoundResult]):
    stock = some_stock(50)
    first = propose(middling, stock, Wish(10))
    random.Random(3).shuffle(stock)
    assert propose(middling, stock, Wish(10)) == first


# --- limits -----------------------------------------------------------------------------------------------------------


def test_value_ordinary_pairs_and_edge_types_bind(middling: list[RoundResult]):
    stock = some_stock(80)
    wish = Wish(8, 5, {EdgeType.BEVEL: 3, EdgeType.CONVEX: 0}, value_at_most=Decimal("150.00"))
    found = propose(middling, stock, wish)
    assert len(found.chosen) == 8
    assert sum(one.is_ordinary for one in found.chosen) >= 5
    kinds = [one.pair.edge_type for one in found.chosen]
    assert set(kinds) <= {EdgeType.BEVEL, EdgeType.CONVEX}
    assert kinds.count(EdgeType.BEVEL) >= 3
    assert found.values["EUR"] <= Decimal("150.00")
    assert found.unvalued == ()


def test_ordinary_pairs_that_readiness_lacks_come_as_far_as_the_other_limits_allow():
    dear = [pair(f"S-{at}", value="90.00") for at in range(10, 20)]
    cheap = [pair(f"T-{at}", value="10.00", difficulty=3) for at in range(10, 20)]
    found = propose([], [*dear, *cheap], Wish(6, value_at_most=Decimal(240)))
    assert sum(one.is_ordinary for one in found.chosen) == 2  # 2 x 90 + 4 x 10 = 220; readiness lacks 5
    assert found.n_ordinary_lacking == 5
    with pytest.raises(InputError, match="and at least 3 ordinary pairs cannot be kept together"):
        propose([], [*dear, *cheap], Wish(6, 3, value_at_most=Decimal(240)))


def test_an_unknown_value_is_not_nothing(middling: list[RoundResult]):
    stock = [pair("S-1", value=None), *some_stock(10)]
    found = propose(middling, stock, Wish(4, 0, value_at_most=Decimal(1000)))
    assert found.left_out[LeftOut.NO_VALUE] == ("S-1",)
    assert "S-1" in propose(middling, [stock[0]], Wish(1, 0)).unvalued
    with pytest.raises(InputError, match="no pair of the stock has a declared value"):
        propose(middling, [stock[0]], Wish(1, 0, value_at_most=Decimal(1000)))
    with pytest.raises(InputError, match=r"pair S-1: the pair is without a declared value; it cannot be put in\."):
        propose(middling, stock, Wish(4, 0, value_at_most=Decimal(1000), with_tags=("S-1",)))


def test_a_value_limit_holds_in_one_currency(middling: list[RoundResult]):
    stock = [*some_stock(6), pair("Z-1", value="5.00", cur="USD")]
    with pytest.raises(InputError, match=r"valued in EUR, USD; a limit holds in one currency\. Say which"):
        propose(middling, stock, Wish(3, 0, value_at_most=Decimal(500)))
    found = propose(middling, stock, Wish(3, 0, value_at_most=Decimal(500), currency="EUR"))
    assert found.left_out[LeftOut.OTHER_CURRENCY] == ("Z-1",)
    with pytest.raises(InputError, match="no pair of the stock is valued in GBP"):
        propose(middling, stock, Wish(3, 0, value_at_most=Decimal(500), currency="GBP"))


CHEAP = [pair(f"S-{at}", value=f"{10 + at}.00", difficulty=2 if at < 3 else 3) for at in range(1, 7)]  # 11 to 16


@pytest.mark.parametrize(
    ("wish", "said", "mended"),
    [
        (Wish(9, 0), "a box of 9 cannot be had: 6 pairs of the stock can be sent to Nia Holm.", "--pairs 6, or more"),
        (Wish(3, 3), "at least 3 ordinary pairs cannot be had", "--ordinary 2, or more pairs"),
        (Wish(4, 0, {EdgeType.BEVEL: 0, EdgeType.SWORD: 1}), "at least 1 sword pair cannot be had", "--edge sword=0"),
        (
            Wish(4, 0, value_at_most=Decimal(40)),
            "a box of 4 and a value of 40 EUR at most cannot be kept together",
            "--pairs 3, or --value 50",
        ),
        (
            Wish(6, 5, {EdgeType.SWORD: 2, EdgeType.BEVEL: 0}),
            "contradict each other in more than one way",
            "Ease more than one",
        ),
    ],
)
def test_limits_that_cannot_be_kept_are_named_with_what_would_mend_them(wish: Wish, said: str, mended: str):
    with pytest.raises(InputError) as told:
        propose([], CHEAP, wish)
    assert said in told.value.what
    assert mended in told.value.mend
    assert "\n" not in str(told.value)


def test_what_would_mend_it_mends_it():
    assert len(propose([], CHEAP, Wish(4, 0, value_at_most=Decimal(50))).chosen) == 4
    assert len(propose([], CHEAP, Wish(3, 0, value_at_most=Decimal(40))).chosen) == 3
    assert len(propose([], CHEAP, Wish(3, 2)).chosen) == 3


def test_a_stock_without_a_free_pair_says_why():
    with pytest.raises(InputError, match=r"no pair of the stock can be sent to Nia Holm: 1 lost on the way\."):
        propose([], [pair("S-1")], Wish(1), held={"S-1": LeftOut.LOST})
    with pytest.raises(InputError, match=r"no pair of the stock can be sent to Nia Holm\. Add pairs"):
        propose([], [], Wish(1))


# --- by hand ----------------------------------------------------------------------------------------------------------


def test_pairs_are_put_in_left_out_and_swapped_by_hand(middling: list[RoundResult]):
    stock = some_stock(40)
    first = propose(middling, stock, Wish(6))
    out, other = first.tags[2], next(one.tag for one in stock if one.tag not in first.tags)
    without = propose(middling, stock, Wish(6, without_tags=(out,)))
    assert out not in without.tags
    assert without.left_out[LeftOut.BY_HAND] == (out,)
    with_it = propose(middling, stock, Wish(6, with_tags=(other,)))
    (by_hand,) = [one for one in with_it.chosen if one.is_by_hand]
    assert by_hand.pair.tag == other
    swapped = propose(middling, stock, Wish(6, swaps=((out, other),)))
    assert set(swapped.tags) == {*first.tags, other} - {out}  # the rest stays
    with pytest.raises(InputError, match=f"'{other}' is not in the box"):
        propose(middling, stock, Wish(6, swaps=((other, out),)))
    with pytest.raises(InputError, match="both put in and left out"):
        propose(middling, stock, Wish(6, with_tags=(out,), without_tags=(out,)))
    with pytest.raises(InputError, match="a box of 1 cannot be had"):
        propose(middling, stock, Wish(1, 0, with_tags=first.tags[:2]))


def test_swaps_start_from_the_box_that_is_proposed_without_them(middling: list[RoundResult]):
    stock = some_stock(40)
    base = propose(middling, stock, Wish(6)).tags
    a, b, *_ = base
    c, d, *_ = (one.tag for one in stock if one.tag not in base)
    swapped = propose(middling, stock, Wish(6, swaps=((a, c), (b, d))))
    assert set(swapped.tags) == {*base, c, d} - {a, b}
    assert {one.pair.tag for one in swapped.chosen if one.is_by_hand} == {c, d}
    and_back = propose(middling, stock, Wish(6, swaps=((a, c), (c, a))))
    assert set(and_back.tags) == set(base), "one after the other"


@pytest.mark.parametrize("results", ["none", "middling"])
def test_the_pair_that_is_wrong_in_a_swap_is_named(results: str, request: pytest.FixtureRequest):
    past = [] if results == "none" else request.getfixturevalue(results)
    stock = some_stock(40)
    base = propose(past, stock, Wish(6)).tags
    a, b, c, *_ = base
    d, e, *_ = (one.tag for one in stock if one.tag not in base)
    box = ", ".join(sorted(base))
    with pytest.raises(InputError) as told:
        propose(past, stock, Wish(6, swaps=((a, b), (c, d))))
    assert told.value.what == f"'{a}' cannot be swapped for '{b}': '{b}' is in the box already."
    assert told.value.mend == f"The box is {box}."
    with pytest.raises(InputError) as told:
        propose(past, stock, Wish(6, swaps=((a, d), (a, e))))
    assert told.value.what == f"'{a}' cannot be swapped for '{e}': '{a}' is not in the box."
    assert told.value.mend == f"After the swaps before it, the box is {', '.join(sorted({*base, d} - {a}))}."
    with pytest.raises(InputError, match=f"'{e}' is not in the box"):
        propose(past, stock, Wish(6, swaps=((e, d),)))


def test_a_pair_that_comes_only_by_hand_does_not_change_the_box_before_the_swaps(middling: list[RoundResult]):
    stock = [*some_stock(40), pair("T-1", edge=EdgeType.TOOTHED, difficulty=5)]
    wish = Wish(6, edge_types={EdgeType.BEVEL: 0, EdgeType.CONVEX: 0})
    base = propose([], stock, wish).tags
    swapped = propose([], stock, Wish(6, edge_types=wish.edge_types, swaps=((base[0], "T-1"),)))
    assert set(swapped.tags) == {*base, "T-1"} - {base[0]}


def test_a_swap_keeps_the_limits():
    dear = pair("Z-1", value="500.00")
    wish = Wish(3, 0, value_at_most=Decimal(50))
    first = propose([], [*CHEAP, dear], wish)
    with pytest.raises(InputError, match="a value of 50 EUR at most cannot be had"):
        propose([], [*CHEAP, dear], Wish(3, 0, value_at_most=Decimal(50), swaps=((first.tags[0], "Z-1"),)))


def test_a_pair_had_before_comes_again_only_by_hand(middling: list[RoundResult]):
    had = middling[1].round.pairs[0].pair
    stock = [had, *some_stock(10)]
    found = propose(middling, stock, Wish(4, with_tags=(had.tag,)))
    (repeat,) = [one for one in found.chosen if one.pair.tag == had.tag]
    assert (repeat.is_by_hand, repeat.had_in) == (True, "nia-2")
    with pytest.raises(InputError, match="in a box that is not back; it cannot be put in"):
        propose(middling, stock, Wish(4, with_tags=("S-100",)), held={"S-100": LeftOut.ELSEWHERE})


def test_a_box_lost_on_its_way_out_taught_nothing():
    round_ = box("nia-1", alike(2), tags={1: ("nick",)}).round
    sent = round_.legs[:1]
    lost = sent[0].model_copy(update={"kind": LegKind.LOST, "happened_on": FIRST_DAY + timedelta(days=1)})
    past = past_of([round_.model_copy(update={"legs": (*sent, lost)})])
    assert (past.faults, dict(past.n_by_edge)) == (frozenset(), {})
    assert set(past.round_of) == {"NIA-1-1", "NIA-1-2"}
    on_the_way_back = (*round_.legs[:3], lost.model_copy(update={"happened_on": date(2026, 2, 1)}))
    assert past_of([round_.model_copy(update={"legs": on_the_way_back})]).faults == {"nick"}
