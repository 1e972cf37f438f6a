"""What the mentor's wish means as limits on the box, and one clear line where the limits cannot be kept together."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil

from evalkit.domain.pair import Pair
from evalkit.errors import InputError
from evalkit.maths.choosing import Limit, nearest
from evalkit.progress.box_candidates import Candidates, Wish, left_out_words
from evalkit.progress.observing import ORDINARY

CENTS = 100
SLACK_G = 1e-6
"""Grams by which a sum of weights may be out in its last bits."""


@dataclass(frozen=True, slots=True)
class NamedLimit:
    """A limit with its words, and how to say what would mend it, from the nearest amount that can be had."""

    limit: Limit
    words: str
    mend: Callable[[float], str]


def limits_of(candidates: Candidates, wish: Wish) -> tuple[NamedLimit, ...]:
    """The size of the box first, then value, weight, ordinary pairs and edge types as far as they are asked for."""
    pairs, n = candidates.pairs, wish.n_pairs
    limits = [NamedLimit(Limit((1.0,) * len(pairs), n, n), f"a box of {n}", lambda most: f"--pairs {most:.0f}")]
    if wish.value_at_most is not None:
        limits.append(_value_limit(pairs, wish.value_at_most, candidates.currency or ""))
    if wish.weight_at_most_g is not None:
        limits.append(_weight_limit(pairs, wish.weight_at_most_g))
    if wish.n_ordinary:
        limits.append(ordinary_limit(candidates, wish.n_ordinary))
    for kind, least in wish.edge_types.items():
        if least:
            is_it = [pair.edge_type is kind for pair in pairs]
            limits.append(_at_least(least, is_it, kind, f"--edge {kind}="))
    return tuple(limits)


def ordinary_limit(candidates: Candidates, least: int) -> NamedLimit:
    """At least so many ordinary pairs."""
    return _at_least(least, [pair.difficulty == ORDINARY for pair in candidates.pairs], "ordinary", "--ordinary ")


def _value_limit(pairs: Sequence[Pair], most: Decimal, currency: str) -> NamedLimit:
    # In hundredths, so that sums are exact.
    amounts = tuple(float((pair.declared_value or Decimal(0)) * CENTS) for pair in pairs)
    return NamedLimit(
        Limit(amounts, at_most=float(most * CENTS)),
        f"a value of {most} {currency} at most",
        lambda least: f"--value {Decimal(round(least)) / CENTS}",
    )


def _weight_limit(pairs: Sequence[Pair], most_g: float) -> NamedLimit:
    limit = Limit(tuple(pair.weight_g or 0.0 for pair in pairs), at_most=most_g)
    return NamedLimit(
        limit, f"pairs of {most_g:g} g together at most", lambda least: f"--weight {ceil(least - SLACK_G)}"
    )


def _at_least(least: int, is_it: Sequence[bool], what: str, option: str) -> NamedLimit:
    words = f"at least {least} {what} {'pair' if least == 1 else 'pairs'}"
    return NamedLimit(Limit(tuple(map(float, is_it)), at_least=least), words, lambda most: f"{option}{most:.0f}")


def contradiction(
    limits: Sequence[NamedLimit], candidates: Candidates, kept: Collection[int], trainee: str
) -> InputError:
    """The error for limits that no box keeps: those at fault are the ones whose easing alone would mend it."""
    n_items = len(candidates.pairs)
    plain = [one.limit for one in limits]
    found = [(one, nearest(plain, at, n_items=n_items, kept=kept)) for at, one in enumerate(limits)]
    ways = [(one, amount) for one, amount in found if amount is not None]
    left = left_out_words(candidates.left_out)
    there = f"{n_items} pairs of the stock can be sent to {trainee}" + (f" (the others: {left})" if left else "")
    if not ways:
        return InputError(
            f"these limits contradict each other in more than one way: {_and(one.words for one in limits)}. {there}.",
            mend="Ease more than one of them, or add pairs.",
        )
    can = "cannot be kept together" if len(ways) > 1 else "cannot be had"
    return InputError(
        f"{_and(one.words for one, _ in ways)} {can}: {there}.",
        mend=f"What would mend it: {', or '.join(one.mend(amount) for one, amount in ways)}, or more pairs.",
    )


def _and(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last
