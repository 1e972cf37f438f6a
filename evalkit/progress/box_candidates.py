"""Which pairs of the stock may go into a trainee's next box, and why the others may not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.round import LegKind, Round, RoundState
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError


class LeftOut(StrEnum):
    """Why a pair cannot come."""

    HAD = "had before"
    ELSEWHERE = "in a box that is not back"
    UNMARKED = "back, but not marked yet"
    LOST = "lost on the way"
    MISSING = "missing since a box came back"
    RETIRED = "retired"
    NOT_SERVED = "of an edge type the rubric does not serve"
    NOT_ASKED = "of an edge type not asked for"
    NO_VALUE = "without a declared value"
    NO_WEIGHT = "without a known weight"
    OTHER_CURRENCY = "valued in another currency"
    BY_HAND = "left out by hand"


_NOT_EVEN_BY_HAND = {
    LeftOut.ELSEWHERE: "Check that box in first, or leave the pair out.",
    LeftOut.UNMARKED: "Mark that round first, or leave the pair out.",
    LeftOut.LOST: "Leave it out.",
    LeftOut.MISSING: "Leave it out; if it was found: evalkit pair bring-back TAG.",
    LeftOut.RETIRED: "Leave it out, or bring it back first: evalkit pair bring-back TAG.",
    LeftOut.NOT_SERVED: "Take another rubric, or leave the pair out.",
    LeftOut.NO_VALUE: "Unknown is not nothing: declare it with 'evalkit pair change TAG --value 25 --currency EUR'.",
    LeftOut.NO_WEIGHT: "Unknown is not nothing: weigh it, then 'evalkit pair change TAG --weight 62'.",
    LeftOut.OTHER_CURRENCY: "Declare its value in the limit's currency, or leave it out.",
}
"""Pairs that cannot come though they are named with --with, and how to mend it."""


@dataclass(frozen=True, slots=True)
class Wish:
    """What the mentor asks of the box. `edge_types`: only these, at least so many of each; empty: all that are served.

    `n_ordinary` None: what the readiness rule lacks, as far as the rest allows. `swaps` hold (out, in), made once the
    best box is found.
    """

    n_pairs: int
    n_ordinary: int | None = None
    edge_types: Mapping[EdgeType, int] = field(default_factory=dict)
    value_at_most: Decimal | None = None
    currency: str | None = None
    weight_at_most_g: float | None = None
    with_tags: tuple[str, ...] = ()
    without_tags: tuple[str, ...] = ()
    swaps: tuple[tuple[str, str], ...] = ()

    @property
    def by_hand(self) -> tuple[str, ...]:
        """Tags that the mentor wants in the box herself."""
        return (*self.with_tags, *(new for _, new in self.swaps))


@dataclass(frozen=True, slots=True)
class Past:
    """What a trainee has had: the round of each pair, faults met, how many pairs of each edge type."""

    round_of: Mapping[str, str]
    faults: frozenset[str]
    n_by_edge: Mapping[EdgeType, int]


@dataclass(frozen=True, slots=True)
class Candidates:
    """Pairs that may come, by tag, and the tags of the others by the first reason that holds."""

    pairs: tuple[Pair, ...]
    left_out: Mapping[LeftOut, tuple[str, ...]]
    currency: str | None
    """That of the value limit."""


def past_of(rounds: Sequence[Round]) -> Past:
    """From all rounds of a trainee, whatever their state; a box lost on its way out taught nothing."""
    round_of: dict[str, str] = {}
    faults: set[str] = set()
    n_by_edge: dict[EdgeType, int] = {}
    for round_ in rounds:
        is_in_hand = round_.state is not RoundState.LOST or round_.leg_on(LegKind.RECEIVED) is not None
        for numbered in round_.pairs:
            pair = numbered.pair
            round_of[pair.tag] = round_.key
            if is_in_hand:
                faults |= {fault.tag for fault in pair.faults}
                n_by_edge[pair.edge_type] = n_by_edge.get(pair.edge_type, 0) + 1
    return Past(round_of, frozenset(faults), n_by_edge)


def candidates_for(
    stock: Sequence[Pair], held: Mapping[str, LeftOut], past: Past, rubric: Rubric, wish: Wish
) -> Candidates:
    """Sort the stock, by tag. `held` says why pairs are in no free hand. Raises InputError as `currency_of` does.

    A pair put in by hand may have been had before, or be of an edge type not asked for; every other reason stands.
    """
    currency = currency_of(stock, wish)
    pairs: list[Pair] = []
    left_out: dict[LeftOut, list[str]] = {}
    for pair in sorted(stock, key=lambda pair: pair.tag):
        why = _why_not(pair, held, past, rubric, wish, currency)
        if pair.tag in wish.by_hand:
            _check_by_hand(pair.tag, why)
            why = None
        if why is None:
            pairs.append(pair)
        else:
            left_out.setdefault(why, []).append(pair.tag)
    return Candidates(tuple(pairs), {why: tuple(tags) for why, tags in left_out.items()}, currency)


def _why_not(
    pair: Pair, held: Mapping[str, LeftOut], past: Past, rubric: Rubric, wish: Wish, currency: str | None
) -> LeftOut | None:
    reasons = (
        (LeftOut.BY_HAND, pair.tag in wish.without_tags),
        (held.get(pair.tag, LeftOut.ELSEWHERE), pair.tag in held),
        (LeftOut.NOT_SERVED, pair.edge_type not in rubric.edge_types),
        (LeftOut.NO_VALUE, currency is not None and pair.currency is None),
        (LeftOut.OTHER_CURRENCY, currency is not None and pair.currency != currency),
        (LeftOut.NO_WEIGHT, wish.weight_at_most_g is not None and pair.weight_g is None),
        (LeftOut.HAD, pair.tag in past.round_of),
        (LeftOut.NOT_ASKED, bool(wish.edge_types) and pair.edge_type not in wish.edge_types),
    )
    return next((why for why, holds in reasons if holds), None)


def _check_by_hand(tag: str, why: LeftOut | None) -> None:
    if why is LeftOut.BY_HAND:
        raise InputError("the pair is both put in and left out.", mend="Name it once.", where=f"pair {tag}")
    if why in _NOT_EVEN_BY_HAND:
        raise InputError(f"the pair is {why}; it cannot be put in.", mend=_NOT_EVEN_BY_HAND[why], where=f"pair {tag}")


def currency_of(stock: Sequence[Pair], wish: Wish) -> str | None:
    """The currency of the value limit; None without a limit. Raises InputError where it cannot be told."""
    if wish.value_at_most is None:
        return None
    known = sorted({pair.currency for pair in stock if pair.currency is not None})
    if not known:
        raise InputError(
            f"no pair of the stock has a declared value, so a limit of {wish.value_at_most} cannot be kept.",
            mend="Unknown is not nothing: declare values with 'evalkit pair change TAG --value 25 --currency EUR', "
            "or leave the limit out.",
        )
    if wish.currency is None and len(known) > 1:
        raise InputError(
            f"the stock is valued in {', '.join(known)}; a limit holds in one currency.",
            mend=f"Say which with --currency, like --currency {known[0]}; pairs in another are left out.",
        )
    if wish.currency is not None and wish.currency not in known:
        raise InputError(
            f"no pair of the stock is valued in {wish.currency}.", mend=f"The stock is valued in {', '.join(known)}."
        )
    return wish.currency or known[0]


def left_out_words(left_out: Mapping[LeftOut, tuple[str, ...]]) -> str:
    """'36 had before, 12 in a box that is not back'; '' when nothing was left out."""
    return ", ".join(f"{len(tags)} {why}" for why, tags in left_out.items())
