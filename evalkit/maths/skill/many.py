"""Many trainees at once: fitted in chunks on every core, and only those whose evidence changed."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import islice
from typing import Any

import numpy as np
from numpy.typing import NDArray

from evalkit.maths.skill.chance import Chance
from evalkit.maths.skill.fitting import path_of, skill_path
from evalkit.maths.skill.gaps import single
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen
from evalkit.maths.skill.model import batch_of, cells_of, fitting_thresholds, prior_of
from evalkit.maths.skill.posterior import posterior

Floats = NDArray[np.float64]

CHUNK = 50
BULK_NODES = 5
BULK_TOLERANCE = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """Where one trainee stands, small enough to keep for a whole school."""

    fingerprint: str
    mean: Floats
    """Skill, (R, C)."""
    sd: Floats
    chance: Chance


def fingerprint(seen: Seen, hyper: Hyper) -> str:
    """Changes when what was seen or assumed changes: the key under which a standing may be kept."""
    said = (seen.criteria, seen.must_pass, seen.mentors, sorted(seen.tags), seen.n_levels, seen.required_level, hyper)
    digest = hashlib.sha256(repr(said).encode())
    tags = [seen.tags[name] for name in sorted(seen.tags)]
    parts: list[NDArray[Any]] = [seen.level, seen.months, seen.difficulty, seen.mentor, seen.present, *tags]
    for part in parts:
        digest.update(repr(part.shape).encode())
        digest.update(np.ascontiguousarray(part).tobytes())
    return digest.hexdigest()


def _scale(seen: Seen) -> tuple[object, ...]:
    return seen.criteria, seen.n_levels, seen.required_level


def _chunks(trainees: Iterable[Seen]) -> Iterator[list[Seen]]:
    """Neighbours that share a scale, at most CHUNK at a time."""
    chunk: list[Seen] = []
    for seen in trainees:
        if chunk and (len(chunk) == CHUNK or _scale(seen) != _scale(chunk[0])):
            yield chunk
            chunk = []
        chunk.append(seen)
    if chunk:
        yield chunk


def _fit_chunk(chunk: list[Seen], hyper: Hyper, kept: Mapping[str, Standing]) -> list[Standing]:
    keys = [fingerprint(seen, hyper) for seen in chunk]
    fresh = [i for i, key in enumerate(keys) if key not in kept]
    standings = {key: kept[key] for key in keys if key in kept}
    if fresh:
        fitted = _fit_fresh([chunk[i] for i in fresh], [keys[i] for i in fresh], hyper)
        standings |= {standing.fingerprint: standing for standing in fitted}
    return [standings[key] for key in keys]


def _fit_fresh(group: list[Seen], keys: list[str], hyper: Hyper) -> list[Standing]:
    if hyper.thresholds is None:
        paths = [skill_path(seen, hyper) for seen in group]
    else:
        thresholds, batch = fitting_thresholds(hyper.thresholds, group[0].n_levels), batch_of(group, hyper)
        cells = cells_of(batch, np.repeat(thresholds, len(group), axis=0))
        fit = posterior(cells, prior_of(batch, hyper), n_nodes=BULK_NODES, tolerance=BULK_TOLERANCE)
        paths = [
            path_of(seen, hyper, single(fit.chosen(np.array([b]), seen.n_rounds), thresholds))
            for b, seen in enumerate(group)
        ]
    return [Standing(key, path.mean, path.sd, path.chance) for key, path in zip(keys, paths, strict=True)]


def fit_many(
    trainees: Iterable[Seen],
    hyper: Hyper,
    *,
    kept: Mapping[str, Standing] | None = None,
    on_progress: Callable[[int], None] | None = None,
    n_threads: int | None = None,
) -> Iterator[Standing]:
    """Fit every trainee, in order, holding only a few chunks in memory at a time.

    `kept` holds earlier standings by fingerprint; they are given back unfitted. `on_progress` hears how many are done.
    With thresholds given the fits are variational and done together; without, each trainee's gaps are learnt.
    """
    kept, done = kept or {}, 0
    workers = n_threads or os.cpu_count() or 1
    chunks = _chunks(trainees)
    with ThreadPoolExecutor(workers) as pool:
        while batch := list(islice(chunks, 2 * workers)):
            for standings in pool.map(lambda chunk: _fit_chunk(chunk, hyper, kept), batch):
                yield from standings
                done += len(standings)
                if on_progress:
                    on_progress(done)
