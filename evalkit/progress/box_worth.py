"""What a box is worth to a trainee, as gains that an integer programme can add up: the objective in plain words.

With a history, a box is worth up to 100 points:
- 40 for what it tells: the share of the doubt about each must-pass's chance on an ordinary pair that it should remove.
  Doubt counts as variance, and the must-passes count by how much of it they have. 40 is what a box of the most telling
  kinds of pair would reach. Each further pair tells less of the same.
- 30 for practice on the three weakest criteria (the lowest chance, a must-pass counted twice): full where the chance to
  reach what is asked on that pair is 60 to 85 %, less the further away. The second half of a box counts half.
- 20 for fault types not met yet: each counts once, however many pairs wear it, and no single one takes more than its
  part of half the box's pairs. On a pair too hard for the trainee it counts less: as the chance on those three criteria
  falls short of 60 %.
- 10 for edge types: the first pair of a type that was never sent counts 1, a second 1/3, then 1/5; pairs had before
  count as sent. So boxes stay mixed as seats are shared out by odd divisors (Sainte-Lague).

Without a history the chances are not known, so 40 are for edge types, 30 for difficulties around ordinary (ordinary
twice as much as one step either way, odd divisors again) and 30 for fault types on pairs no harder than one step.

The points, the band and the three are common sense of teaching, no source. Equal boxes: the earlier tags.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from evalkit.domain.pair import Pair
from evalkit.domain.rubric import Rubric
from evalkit.maths.choosing import Gain, Step
from evalkit.maths.skill.narrowing import Outlook, PairKind, chance_sd, chances_on, learnt_each
from evalkit.progress.box_candidates import Past
from evalkit.progress.observing import ORDINARY

TELLS, PRACTICE, FAULTS, EDGES = 0.40, 0.30, 0.20, 0.10
NEW_EDGES, NEW_DIFFICULTIES, NEW_FAULTS = 0.40, 0.30, 0.30
BAND = (0.60, 0.85)
"""Where the chance to reach what is asked makes the best practice."""
N_WEAKEST = 3
MUST_PASS_COUNTS = 2.0
AROUND_ORDINARY = {-1: 0.5, 0: 1.0, 1: 0.5}
"""For a new trainee: what a difficulty counts, in steps from ordinary."""
_PIECES = 8
"""Straight pieces by which a curve of diminishing returns is drawn; its ends are exact."""


class Why(StrEnum):
    """What a pair is in the box for."""

    TELLS = "tells"
    PRACTICE = "practice"
    FAULT = "new fault"
    EDGE = "edge type"
    DIFFICULTY = "difficulty"


@dataclass(frozen=True, slots=True)
class Wanted:
    """One gain and what it stands for: the key of a criterion, a fault's tag, an edge type, steps from ordinary."""

    why: Why
    subject: str
    gain: Gain


@dataclass(frozen=True, slots=True)
class Known:
    """What the history knows: the outlook, and the keys of its criteria in the outlook's order."""

    outlook: Outlook
    keys: tuple[str, ...]

    def kind_of(self, pair: Pair, rubric: Rubric) -> PairKind:
        """What matters of a pair to the outlook, by this rubric."""
        counted = {on.key for on in rubric.on(pair.edge_type) if on.weight}
        return PairKind(float(pair.difficulty - ORDINARY), tuple(key in counted for key in self.keys))


def wanted_with_history(
    pairs: Sequence[Pair], n_pairs: int, past: Past, rubric: Rubric, known: Known
) -> tuple[Wanted, ...]:
    """The gains of a trainee with a history."""
    kinds = [known.kind_of(pair, rubric) for pair in pairs]
    must_pass = must_passes(pairs, rubric)
    return (
        *_tells(kinds, n_pairs, known, must_pass),
        *_practice(kinds, n_pairs, known, must_pass),
        *_faults(pairs, n_pairs, past, FAULTS, _bearable(kinds, known, must_pass)),
        *_edges(pairs, n_pairs, past, EDGES),
    )


def wanted_without_history(pairs: Sequence[Pair], n_pairs: int, past: Past) -> tuple[Wanted, ...]:
    """The gains of a trainee of whom too little is known."""
    steps = [pair.difficulty - ORDINARY for pair in pairs]
    groups = {str(step): (1.0 / worth, [one == step for one in steps], 0) for step, worth in AROUND_ORDINARY.items()}
    return (
        *_edges(pairs, n_pairs, past, NEW_EDGES),
        *_shared_out(Why.DIFFICULTY, groups, n_pairs, NEW_DIFFICULTIES),
        *_faults(pairs, n_pairs, past, NEW_FAULTS, [float(step in AROUND_ORDINARY) for step in steps]),
    )


def must_passes(pairs: Sequence[Pair], rubric: Rubric) -> frozenset[str]:
    """Keys of the criteria that are a must-pass on any of these pairs."""
    kinds = {pair.edge_type for pair in pairs}
    return frozenset(on.key for kind in kinds for on in rubric.on(kind) if on.must_pass is not None)


def _tells(kinds: Sequence[PairKind], n_pairs: int, known: Known, must_pass: frozenset[str]) -> Iterator[Wanted]:
    outlook = known.outlook
    cov = outlook.whole()
    skill_var, doubt = cov.diagonal()[:-1], chance_sd(outlook, cov) ** 2
    learnt = {kind: learnt_each(outlook, kind, n_pairs) for kind in set(kinds)}
    curves = []
    for at, key in enumerate(known.keys):
        amounts = tuple(max(float(learnt[kind][at]), 0.0) for kind in kinds)
        most = n_pairs * max(amounts, default=0.0)
        if key in must_pass and most > 0:
            curves.append((key, amounts, most, float(skill_var[at]), float(doubt[at])))
    reach = sum(share * var * most / (1 + var * most) for _, _, most, var, share in curves)
    for key, amounts, most, var, share in curves:
        yield Wanted(Why.TELLS, key, Gain(amounts, _chords(var, most, TELLS * share / reach)))


def _chords(var: float, most: float, scale: float) -> tuple[Step, ...]:
    """The share of a variance that so much precision removes, v x / (1 + v x) up to `most`, by straight pieces."""
    width = most / _PIECES
    points = [var * width * piece for piece in range(_PIECES + 1)]
    heights = [scale * x / (1 + x) for x in points]
    return tuple(Step(width, (after - before) / width) for before, after in pairwise(heights))


def weakest(known: Known, must_pass: frozenset[str]) -> dict[str, float]:
    """The weakest criteria and what each counts, together 1: one less the chance on an ordinary pair."""
    chances = chances_on(known.outlook, 0.0).tolist()
    short = {
        key: (1.0 - chance) * (MUST_PASS_COUNTS if key in must_pass else 1.0)
        for key, chance in zip(known.keys, chances, strict=True)
    }
    chosen = sorted(short, key=lambda key: -short[key])[:N_WEAKEST]
    whole = sum(short[key] for key in chosen)
    return {key: short[key] / whole for key in chosen}


def practice_worth(chance: float) -> float:
    """1 inside the band, falling evenly to 0 at a chance of 0 and of 1."""
    low, high = BAND
    return min(1.0, max(chance, 0.0) / low, max(1.0 - chance, 0.0) / (1.0 - high))


def _practice(kinds: Sequence[PairKind], n_pairs: int, known: Known, must_pass: frozenset[str]) -> Iterator[Wanted]:
    chances = {step: chances_on(known.outlook, step) for step in {kind.difficulty for kind in kinds}}
    half = n_pairs / 2
    for key, share in weakest(known, must_pass).items():
        at = known.keys.index(key)
        amounts = tuple(
            practice_worth(float(chances[kind.difficulty][at])) if kind.is_judged[at] else 0.0 for kind in kinds
        )
        first = PRACTICE * share / (half + half / 2)
        yield Wanted(Why.PRACTICE, key, Gain(amounts, (Step(half, first), Step(half, first / 2))))


def _bearable(kinds: Sequence[PairKind], known: Known, must_pass: frozenset[str]) -> list[float]:
    """How far each pair is not too hard: 1 from the low end of the band on, on the weakest criteria together."""
    shares = {known.keys.index(key): share for key, share in weakest(known, must_pass).items()}
    by_step = {}
    for step in {kind.difficulty for kind in kinds}:
        chances = chances_on(known.outlook, step)
        by_step[step] = min(1.0, sum(share * float(chances[at]) for at, share in shares.items()) / BAND[0])
    return [by_step[kind.difficulty] for kind in kinds]


def _faults(
    pairs: Sequence[Pair], n_pairs: int, past: Past, points: float, bearable: Sequence[float]
) -> Iterator[Wanted]:
    worn = [{fault.tag for fault in pair.faults} if bear else set() for pair, bear in zip(pairs, bearable, strict=True)]
    new = sorted(set().union(*worn) - past.faults)
    for tag in new:
        amounts = tuple(bear if tag in tags else 0.0 for tags, bear in zip(worn, bearable, strict=True))
        yield Wanted(Why.FAULT, tag, Gain(amounts, (Step(1.0, points / max(len(new), n_pairs / 2)),)))


def _edges(pairs: Sequence[Pair], n_pairs: int, past: Past, points: float) -> tuple[Wanted, ...]:
    groups = {
        kind.value: (1.0, [pair.edge_type is kind for pair in pairs], past.n_by_edge.get(kind, 0))
        for kind in dict.fromkeys(pair.edge_type for pair in pairs)
    }
    return _shared_out(Why.EDGE, groups, n_pairs, points)


def _shared_out(
    why: Why, groups: dict[str, tuple[float, list[bool], int]], n_pairs: int, points: float
) -> tuple[Wanted, ...]:
    """Gains by odd divisors. A group is (divisor, which pairs are in it, how many of it were had before)."""
    worths = {
        name: [1.0 / divisor / (2 * (had + k) + 1) for k in range(min(n_pairs, sum(members)))]
        for name, (divisor, members, had) in groups.items()
    }
    best = sum(sorted((worth for row in worths.values() for worth in row), reverse=True)[:n_pairs])
    return tuple(
        Wanted(why, name, Gain(tuple(map(float, members)), tuple(Step(1.0, points * w / best) for w in worths[name])))
        for name, (_, members, _) in groups.items()
        if worths[name]
    )
