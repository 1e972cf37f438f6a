"""The choice itself: the best box under the limits, then the mentor's swaps."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from evalkit.errors import InputError
from evalkit.maths.choosing import choose, nearest
from evalkit.progress.box_candidates import Candidates, Wish
from evalkit.progress.box_limits import contradiction, limits_of, ordinary_limit
from evalkit.progress.box_worth import Wanted


def best_items(
    candidates: Candidates, wanted: Sequence[Wanted], wish: Wish, n_lacking: int, trainee: str
) -> tuple[int, ...]:
    """Positions of the best box. Raises InputError where no box keeps what the mentor asks.

    Where she says nothing of ordinary pairs, the `n_lacking` that readiness lacks are sent as far as her other limits
    allow: what she did not ask for never stands in her way.
    """
    place = {pair.tag: at for at, pair in enumerate(candidates.pairs)}
    kept = {place[tag] for tag in wish.with_tags}
    barred = {place[new] for _, new in wish.swaps} - kept
    asked = wish
    if wish.n_ordinary is None:
        asked = replace(wish, n_ordinary=_most_ordinary(candidates, wish, n_lacking, kept, barred))
    found = _best(candidates, wanted, asked, kept, barred, trainee)
    if not wish.swaps:
        return found
    return _best(candidates, wanted, wish, _swapped(candidates, wish, place, found), (), trainee)


def _most_ordinary(
    candidates: Candidates, wish: Wish, n_lacking: int, kept: Collection[int], barred: Collection[int]
) -> int:
    if n_lacking <= 0:
        return 0
    limits = [one.limit for one in (ordinary_limit(candidates, n_lacking), *limits_of(candidates, wish))]
    most = nearest(limits, 0, n_items=len(candidates.pairs), kept=kept, barred=barred)
    return min(n_lacking, int(most or 0))


def _swapped(candidates: Candidates, wish: Wish, place: Mapping[str, int], found: tuple[int, ...]) -> tuple[int, ...]:
    for old, new in wish.swaps:
        if place.get(old) not in found or place[new] in found:
            box = ", ".join(candidates.pairs[at].tag for at in found)
            raise InputError(
                f"'{old}' cannot be swapped for '{new}': the first must be in the box, the second not.",
                mend=f"The box is {box}.",
            )
        found = tuple(sorted({*found, place[new]} - {place[old]}))
    return found


def _best(
    candidates: Candidates,
    wanted: Sequence[Wanted],
    wish: Wish,
    kept: Collection[int],
    barred: Collection[int],
    trainee: str,
) -> tuple[int, ...]:
    named = limits_of(candidates, wish)
    found = choose(
        [one.gain for one in wanted],
        [one.limit for one in named],
        n_items=len(candidates.pairs),
        kept=kept,
        barred=barred,
    )
    if found is None:
        raise contradiction(named, candidates, kept, barred, trainee)
    return found.items
