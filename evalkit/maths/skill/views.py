"""Views of a fitted skill that a reader can hold: bands as chances, steps between rounds, what all need at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.errors import UnusableInputError
from evalkit.maths.skill.chance import joint_chance, single_chance
from evalkit.maths.skill.fitting import SkillPath
from evalkit.maths.skill.gaps import Mixture

Z80 = 1.2815515655446004
"""Half-width of a central 80 % interval in SDs of a normal."""


def chance_bands(path: SkillPath, pair_sd: float) -> tuple[list[list[float]], list[list[float]], list[list[float]]]:
    """Chance of an ordinary pair to reach the required level: middle, low and high end of 80 %, each R x C.

    Ends are carried over from the skill, taken as normal in each round: mean -+ Z80 SD.
    """
    low, high = path.mean - Z80 * path.sd, path.mean + Z80 * path.sd
    middle, low, high = (single_chance(skill, pair_sd) for skill in (path.mean, low, high))
    return middle.tolist(), low.tolist(), high.tolist()


def round_steps(mixture: Mixture, criteria: tuple[int, ...]) -> list[tuple[float, float]]:
    """Mean and SD (logits) of the step from each round to the next of the mean skill over `criteria`; R - 1 of them."""
    if not criteria:
        raise UnusableInputError("A step needs at least one criterion.")
    index, fit = np.array(criteria), mixture.fit
    middle = fit.mean[:, :, index].mean(axis=2)
    own = fit.cov[:, :, index[:, None], index].mean(axis=(2, 3))
    across = fit.cross[:, :, index[:, None], index].mean(axis=(2, 3))
    step = np.diff(middle, axis=1)
    var = own[:, 1:] + own[:, :-1] - 2.0 * across
    mean = mixture.weight @ step
    sd = np.sqrt(np.maximum(mixture.weight @ (var + (step - mean) ** 2), 0.0))
    return list(zip(mean.tolist(), sd.tolist(), strict=True))


def chance_each_needs(n_criteria: int, target: float, pair_sd: float) -> float:
    """The chance that each of `n_criteria` alike must have for all of one pair together to reach `target`."""
    if n_criteria < 1 or not 0 < target < 1:
        raise UnusableInputError(f"{n_criteria} criteria and target {target}: use at least one, and 0 < target < 1.")
    # The joint chance rises with the skill, so a fine ladder narrows the place 32 times at each look.
    low, high = -40.0, 40.0
    while high - low > 1e-10:
        skill = np.linspace(low, high, 33)
        joint = joint_chance(np.repeat(skill[:, None], n_criteria, axis=1), pair_sd)
        at = int(np.clip(np.searchsorted(joint, target), 1, len(skill) - 1))
        low, high = float(skill[at - 1]), float(skill[at])
    return float(single_chance(np.array(0.5 * (low + high)), pair_sd))


def as_lists(array: NDArray[np.float64]) -> list[list[float]]:
    """A matrix as plain lists."""
    found: list[list[float]] = array.tolist()
    return found
