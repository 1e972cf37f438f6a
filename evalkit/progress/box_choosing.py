"""The choice itself: the best box under the limits, then the mentor's swaps."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
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
    kept = _places(candidates, wish.with_tags)
    asked = wish
    if wish.n_ordinary is None:
        asked = replace(wish, n_ordinary=_most_ordinary(candidates, wish, n_lacking, kept))
    return _best(candidates, wanted, asked, kept, trainee)


def swapped_items(
    candidates: Candidates, wanted: Sequence[Wanted], wish: Wish, tags: Sequence[str], trainee: str
) -> tuple[int, ...]:
    """Positions of the box `tags` after the mentor's swaps, made one after the other.

    Raises InputError that names the pair where one to go is not in it or one to come is, and where the swapped box
    keeps her limits no longer.
    """
    return _best(candidates, wanted, wish, _places(candidates, _swapped(tags, wish.swaps)), trainee)


def _places(candidates: Candidates, tags: Iterable[str]) -> set[int]:
    place = {pair.tag: at for at, pair in enumerate(candidates.pairs)}
    return {place[tag] for tag in tags}


def _most_ordinary(candidates: Candidates, wish: Wish, n_lacking: int, kept: Collection[int]) -> int:
    if n_lacking <= 0:
        return 0
    limits = [one.limit for one in (ordinary_limit(candidates, n_lacking), *limits_of(candidates, wish))]
    most = nearest(limits, 0, n_items=len(candidates.pairs), kept=kept)
    return min(n_lacking, int(most or 0))


def _swapped(tags: Sequence[str], swaps: Iterable[tuple[str, str]]) -> list[str]:
    box = sorted(tags)
    for at, (old, new) in enumerate(swaps):
        if old not in box or new in box:
            wrong = f"'{new}' is in the box already" if old in box else f"'{old}' is not in the box"
            after = "After the swaps before it, the box is" if at else "The box is"
            raise InputError(f"'{old}' cannot be swapped for '{new}': {wrong}.", mend=f"{after} {', '.join(box)}.")
        box = sorted({*box, new} - {old})
    return box


def _best(
    candidates: Candidates,
    wanted: Sequence[Wanted],
    wish: Wish,
    kept: Collection[int],
    trainee: str,
) -> tuple[int, ...]:
    named = limits_of(candidates, wish)
    found = choose(
        [one.gain for one in wanted],
        [one.limit for one in named],
        n_items=len(candidates.pairs),
        kept=kept,
    )
    if found is None:
        raise contradiction(named, candidates, kept, trainee)
    return found.items
