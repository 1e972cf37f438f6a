"""Observations and hyper-parameters made ready for the engine: cells and prior of a batch of fits.

A batch is either one trainee under several thresholds, or several trainees padded to one shape. Padding changes no
answer: an empty pair, or a round after the last one, says nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import UnusableInputError
from evalkit.maths.ordinal import NOT_SEEN, cell_bounds, cell_edges
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.posterior import Cells
from evalkit.maths.skill.prior import WalkPrior, walk_rates

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """What was seen, in one shape: B histories, R rounds, N pairs, C criteria, P uncertain shared effects."""

    level: NDArray[np.int8]
    """(B, R, N, C)."""
    months: Floats
    """(B, R); after a history's last round they go on by one a round."""
    offset: Floats
    """(B, R, N, C)."""
    effect: Floats
    """Loadings of the pairs on the shared effects, (B, R, N, P)."""
    n_rounds: NDArray[np.int64]
    """Rounds of each history, (B,)."""

    def repeated(self, n_batch: int) -> Batch:
        """A batch of one history, seen `n_batch` times."""

        def shape(part: NDArray[Any]) -> tuple[int, ...]:
            return (n_batch, *part.shape[1:])

        return Batch(
            np.broadcast_to(self.level, shape(self.level)),
            np.broadcast_to(self.months, shape(self.months)),
            np.broadcast_to(self.offset, shape(self.offset)),
            np.broadcast_to(self.effect, shape(self.effect)),
            np.broadcast_to(self.n_rounds, (n_batch,)),
        )


def shared_effects(seen: Seen, hyper: Hyper) -> Floats:
    """Loadings (R, N, P) of what is uncertain and common to the whole fit: difficulty first, trend last."""
    loadings = []
    if hyper.difficulty_effect_sd > 0:
        loadings.append(-seen.difficulty)
    if hyper.slope_sd > 0:
        loadings.append((seen.months - seen.months[0])[:, None] * np.ones_like(seen.difficulty))
    return np.stack(loadings, axis=-1) if loadings else np.zeros((*seen.difficulty.shape, 0))


def batch_of(group: Sequence[Seen], hyper: Hyper) -> Batch:
    """Stack histories that share their criteria and levels."""
    first = group[0]
    scale = (first.criteria, first.n_levels, first.required_level)
    if any((seen.criteria, seen.n_levels, seen.required_level) != scale for seen in group):
        raise UnusableInputError("Only trainees judged by the same criteria and levels can be fitted together.")
    n_rounds = np.array([seen.n_rounds for seen in group])
    shape = (len(group), int(n_rounds.max()), max(seen.level.shape[1] for seen in group))
    level = np.full((*shape, len(first.criteria)), NOT_SEEN, dtype=np.int8)
    months = np.empty(shape[:2])
    for b, seen in enumerate(group):
        r, n = seen.difficulty.shape
        level[b, :r, :n] = seen.level
        months[b] = np.concatenate([seen.months, seen.months[-1] + np.arange(1, shape[1] - r + 1)])
    offset = stacked(group, lambda seen: seen.offset(hyper), shape)
    return Batch(level, months, offset, stacked(group, lambda seen: shared_effects(seen, hyper), shape), n_rounds)


def stacked(group: Sequence[Seen], part: Callable[[Seen], Floats], shape: tuple[int, int, int]) -> Floats:
    """Stack one array (R, N, ...) of each history, with zeros where there is nothing."""
    parts = [part(seen) for seen in group]
    whole = np.zeros((*shape, *parts[0].shape[2:]))
    for b, x in enumerate(parts):
        whole[b, : x.shape[0], : x.shape[1]] = x
    return whole


def cells_of(batch: Batch, thresholds: Floats) -> Cells:
    """Cells under thresholds (B, K-1)."""
    return Cells(cell_edges(*cell_bounds(batch.level, thresholds)), batch.offset, batch.effect)


def prior_of(batch: Batch, hyper: Hyper) -> WalkPrior:
    """The prior of the walk, the same for every history apart from its dates."""
    n_batch, n_criteria = batch.level.shape[0], batch.level.shape[3]
    trend = hyper.slope_mean * (batch.months - batch.months[:, :1])
    sds = [sd for sd in (hyper.difficulty_effect_sd, hyper.slope_sd) if sd > 0]

    def each(value: float) -> Floats:
        return np.full(n_batch, value)

    return WalkPrior(
        mean=np.repeat((hyper.initial_mean + trend)[..., None], n_criteria, axis=2),
        rate=walk_rates(batch.months, each(hyper.initial_sd), each(hyper.rw_sd)),
        share=each(hyper.general_share),
        pair_sd=each(hyper.pair_sd),
        effect_mean=np.zeros((n_batch, len(sds))),
        effect_sd=np.tile(np.array(sds), (n_batch, 1)),
    )


def fitting_thresholds(thresholds: tuple[float, ...], n_levels: int) -> Floats:
    """Given thresholds as a batch of one, refused when their number does not fit the levels."""
    if len(thresholds) != n_levels - 1:
        raise UnusableInputError(
            f"{n_levels} levels have {n_levels - 1} thresholds, but hyper gives {len(thresholds)}."
        )
    return np.array([thresholds])
