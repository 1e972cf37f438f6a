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

    def repeated(self, n_each: int) -> Batch:
        """Each history seen `n_each` times, one after another."""

        def again(part: NDArray[Any]) -> NDArray[Any]:
            return np.repeat(part, n_each, axis=0)

        return Batch(
            again(self.level), again(self.months), again(self.offset), again(self.effect), again(self.n_rounds)
        )


def shared_effects(seen: Seen, hyper: Hyper) -> Floats:
    """Loadings (R, N, P) of what is uncertain and common to the whole fit: difficulty first, trend last."""
    loadings = []
    if hyper.difficulty_effect_sd > 0:
        loadings.append(-seen.difficulty)
    if hyper.slope_sd > 0:
        loadings.append((seen.months - seen.months[0])[:, None] * np.ones_like(seen.difficulty))
    return np.stack(loadings, axis=-1) if loadings else np.zeros((*seen.difficulty.shape, 0))


def _for_each(hyper: Hyper | Sequence[Hyper], n: int) -> Sequence[Hyper]:
    """One for each history; those for one batch differ in what they centre on, not in what they take as certain."""
    return [hyper] * n if isinstance(hyper, Hyper) else hyper


def batch_of(group: Sequence[Seen], hyper: Hyper | Sequence[Hyper]) -> Batch:
    """Stack histories that share their criteria and levels; one `hyper` for all, or one for each."""
    first, each = group[0], _for_each(hyper, len(group))
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
    offset = _stacked([seen.offset(one) for seen, one in zip(group, each, strict=True)], shape)
    effect = _stacked([shared_effects(seen, one) for seen, one in zip(group, each, strict=True)], shape)
    return Batch(level, months, offset, effect, n_rounds)


def stacked(group: Sequence[Seen], part: Callable[[Seen], Floats], shape: tuple[int, int, int]) -> Floats:
    """Stack one array (R, N, ...) of each history, with zeros where there is nothing."""
    return _stacked([part(seen) for seen in group], shape)


def _stacked(parts: Sequence[Floats], shape: tuple[int, int, int]) -> Floats:
    whole = np.zeros((*shape, *parts[0].shape[2:]))
    for b, x in enumerate(parts):
        whole[b, : x.shape[0], : x.shape[1]] = x
    return whole


def cells_of(batch: Batch, thresholds: Floats) -> Cells:
    """Cells under thresholds (B, K-1)."""
    return Cells(cell_edges(*cell_bounds(batch.level, thresholds)), batch.offset, batch.effect)


def prior_of(batch: Batch, hyper: Hyper | Sequence[Hyper]) -> WalkPrior:
    """The prior of the walk: one `hyper` for all histories, or one for each."""
    n_batch, n_criteria = batch.level.shape[0], batch.level.shape[3]
    each = _for_each(hyper, n_batch)

    def of(name: str) -> Floats:
        return np.array([getattr(one, name) for one in each], dtype=float)

    trend = of("slope_mean")[:, None] * (batch.months - batch.months[:, :1])
    effect_sd = np.stack([sd for sd in (of("difficulty_effect_sd"), of("slope_sd")) if np.any(sd > 0)] or [np.zeros(0)])
    return WalkPrior(
        mean=np.repeat((of("initial_mean")[:, None] + trend)[..., None], n_criteria, axis=2),
        rate=walk_rates(batch.months, of("initial_sd"), of("rw_sd")),
        share=of("general_share"),
        pair_sd=of("pair_sd"),
        effect_mean=np.zeros((n_batch, effect_sd.size // n_batch)),
        effect_sd=effect_sd.T.reshape(n_batch, effect_sd.size // n_batch),
    )


def fitting_thresholds(thresholds: tuple[float, ...], n_levels: int) -> Floats:
    """Given thresholds as a batch of one, refused when their number does not fit the levels."""
    if len(thresholds) != n_levels - 1:
        raise UnusableInputError(
            f"{n_levels} levels have {n_levels - 1} thresholds, but hyper gives {len(thresholds)}."
        )
    return np.array([thresholds])
