"""A school's histories laid out for learning its hyper-parameters: the unknowns, and the trainees in groups."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import logit

from evalkit.maths.skill.hyper import DEFAULT_DIFFICULTY_SD, Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.many import CHUNK
from evalkit.maths.skill.model import Batch, batch_of, stacked

Floats = NDArray[np.float64]

_SEVERITY_SD = 0.5
_NO_HOME = ""


@dataclass(frozen=True, slots=True)
class Unknown:
    """One hyper-parameter on the scale on which it is learnt, with its weak normal prior."""

    name: str
    key: str | tuple[str, ...]
    """What it belongs to: a home, a rater, a tag and criterion; else its own name."""
    prior_mean: float
    prior_sd: float


@dataclass(frozen=True, slots=True, eq=False)
class SchoolGroup:
    """Some trainees in one shape, with what the gradient needs."""

    batch: Batch
    difficulty: Floats
    """(B, R, N)."""
    rater: NDArray[np.int64]
    """(B, R, N), position among the school's raters, -1 for none."""
    tags: Floats
    """(B, R, N, G)."""
    home: NDArray[np.int64]
    """(B,)."""


@dataclass(frozen=True, slots=True, eq=False)
class School:
    """Everything that learning needs of a school."""

    groups: tuple[SchoolGroup, ...]
    unknowns: tuple[Unknown, ...]
    criteria: tuple[str, ...]
    raters: tuple[str, ...]
    homes: tuple[str, ...]
    tag_cells: tuple[tuple[int, int], ...]
    """Tag and criterion of each tag effect."""
    tag_names: tuple[str, ...]
    n_levels: int
    required_level: int
    hyper: Hyper

    def where(self, name: str) -> slice:
        """The stretch of the vector that holds the unknowns of one name."""
        index = [i for i, unknown in enumerate(self.unknowns) if unknown.name == name]
        return slice(index[0], index[-1] + 1) if index else slice(0, 0)


def home_of(seen: Seen) -> str:
    """Who marked most of the trainee's pairs; an empty name where nobody is named."""
    seats = Counter(seen.mentor[seen.present].tolist())
    seats.pop(-1, None)
    return seen.mentors[max(sorted(seats), key=lambda seat: seats[seat])] if seats else _NO_HOME


def _unknowns(
    hyper: Hyper, homes: Sequence[str], raters: Sequence[str], tag_keys: Sequence[tuple[str, str]], n_gaps: int
) -> tuple[Unknown, ...]:
    gap_median = np.broadcast_to(hyper.gap_median, (n_gaps,))
    gap_sd = np.broadcast_to(hyper.gap_log_sd, (n_gaps,))
    # As for one trainee: a school that was only ever sent easy pairs must not end in more doubt than it began with.
    step_sd = hyper.difficulty_effect_sd or DEFAULT_DIFFICULTY_SD
    return (
        *(Unknown("initial_mean", home, hyper.initial_mean, 1.0) for home in homes),
        Unknown("log_initial_sd", "log_initial_sd", float(np.log(hyper.initial_sd)), 0.5),
        Unknown("log_rw_sd", "log_rw_sd", float(np.log(max(hyper.rw_sd, 1e-3))), 0.5),
        Unknown("logit_share", "logit_share", float(logit(np.clip(hyper.general_share, 0.01, 0.99))), 1.0),
        Unknown("log_pair_sd", "log_pair_sd", float(np.log(hyper.pair_sd)), 0.5),
        Unknown("difficulty_effect", "difficulty_effect", hyper.difficulty_effect, step_sd),
        *(Unknown("log_gap", str(i), float(np.log(gap_median[i])), float(gap_sd[i])) for i in range(n_gaps)),
        *(Unknown("tag_effect", key, hyper.tag_effect[key[0]][key[1]], 0.5) for key in tag_keys),
        *(Unknown("severity", rater, hyper.severity.get(rater, 0.0), _SEVERITY_SD) for rater in raters),
    )


def school_of(trainees: Sequence[Seen], hyper: Hyper) -> School:
    """Lay out the trainees; `hyper` gives the centres of the priors."""
    first = trainees[0]
    raters = tuple(sorted({name for seen in trainees for name in seen.mentors}))
    # A single rater has nobody to differ from.
    raters = raters if len(raters) > 1 else ()
    homes = tuple(sorted({home_of(seen) for seen in trainees})) if raters else (_NO_HOME,)
    worn = sorted({name for seen in trainees for name in seen.tags} & set(hyper.tag_effect))
    tag_keys = [(tag, key) for tag in worn for key in first.criteria if key in hyper.tag_effect[tag]]
    unknowns = _unknowns(hyper, homes, raters, tag_keys, first.n_levels - 2)
    # Known parts are set by the unknowns at every step, so the batch itself carries none.
    bare = replace(hyper, tag_effect={}, severity={}, difficulty_effect=0.0, difficulty_effect_sd=0.0, slope_sd=0.0)
    groups = tuple(_group(trainees[i : i + CHUNK], bare, raters, homes, worn) for i in range(0, len(trainees), CHUNK))
    tag_cells = tuple((worn.index(tag), first.criteria.index(key)) for tag, key in tag_keys)
    return School(
        groups=groups,
        unknowns=unknowns,
        criteria=first.criteria,
        raters=raters,
        homes=homes,
        tag_cells=tag_cells,
        tag_names=tuple(worn),
        n_levels=first.n_levels,
        required_level=first.required_level,
        hyper=hyper,
    )


def _group(
    chunk: Sequence[Seen], bare: Hyper, raters: tuple[str, ...], homes: tuple[str, ...], worn: Sequence[str]
) -> SchoolGroup:
    batch = batch_of(chunk, bare)
    shape = batch.level.shape[:3]

    def seats(seen: Seen) -> Floats:
        table = np.array([*(raters.index(name) if raters else -1 for name in seen.mentors), -1])
        return (table[seen.mentor] + 1).astype(float)

    def tags(seen: Seen) -> Floats:
        none = np.zeros(seen.present.shape)
        return np.stack([seen.tags.get(name, none) for name in worn], axis=-1) if worn else np.zeros((*none.shape, 0))

    home = np.array([homes.index(home_of(seen)) if raters else 0 for seen in chunk])
    return SchoolGroup(
        batch,
        stacked(chunk, lambda seen: seen.difficulty, shape),
        stacked(chunk, seats, shape).astype(int) - 1,
        stacked(chunk, tags, shape),
        home,
    )
