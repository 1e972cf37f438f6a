"""From rounds in a row to what the skill model takes: one cell for each settled level of a criterion that counts.

What does not appear: advisory and not applicable criteria, levels that are not tested, spoiled in transit or not
settled, pairs outside the average. A must-pass asked at another level than fit is shifted, so that reaching the
model's required level always means reaching what the rubric asks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from evalkit.domain.comparing import CriterionComparison
from evalkit.domain.criterion import CriterionOn
from evalkit.domain.pair import EdgeType
from evalkit.progress.known_faults import WornFault, faults_worn, tags_of
from evalkit.progress.lining_up import DatedRound, LineUp
from evalkit.progress.results import PairResult

ORDINARY = 2
"""The difficulty (1 to 5) of an ordinary pair, which is also what a pair has when nobody says otherwise: the model's 0.
An easy pair is -1; 3, 4 and 5 are +1, +2 and +3."""


@dataclass(frozen=True, slots=True)
class Tracked:
    """A criterion followed through the rounds. `n_levels` counts its settled levels."""

    key: str
    name: str
    is_must_pass: bool
    n_levels: int
    n_reached: int
    """Settled levels that reach what is required."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Levels of counting criteria on marked pairs that carry no cell, and why."""

    not_seen: int = 0
    in_transit: int = 0
    unsettled: int = 0
    surely_short: int = 0
    """Of the unsettled: those that fall short however the unseen places would have turned out."""


@dataclass(frozen=True, slots=True)
class Observed:
    """What the model takes, and what a reader must know of it."""

    edge_types: tuple[EdgeType, ...]
    rounds: tuple[DatedRound, ...]
    """Only rounds with a marked pair of these edge types."""
    criteria: tuple[Tracked, ...]
    observations: dict[str, Any]
    left_out: LeftOut
    shifted: tuple[str, ...]
    """Names of must-passes asked at another level than fit."""
    n_outside: int
    """Marked pairs outside the average."""
    faults: tuple[WornFault, ...]

    @property
    def n_pairs(self) -> int:
        """Marked pairs, with levels or without."""
        return len(self.observations["pairs"])

    @property
    def scored(self) -> list[dict[str, Any]]:
        """The pairs with at least one settled level."""
        pairs: list[dict[str, Any]] = self.observations["pairs"]
        return [pair for pair in pairs if any(level is not None for level in pair["scores"].values())]

    @property
    def must_pass(self) -> tuple[Tracked, ...]:
        return tuple(one for one in self.criteria if one.is_must_pass)


@dataclass(frozen=True, slots=True)
class _Cell:
    """One criterion of one pair: (trainee, mentor), each None where it is not settled; `why` it is left out."""

    key: str
    mentor: int | None
    trainee: int | None
    why: str


def difficulty_of(pair: PairResult) -> int:
    """Steps from ordinary: -1 to 3."""
    return pair.numbered.pair.difficulty - ORDINARY


def is_ordinary(pair: PairResult) -> bool:
    """Neither easier nor harder than most."""
    return difficulty_of(pair) == 0


def pairs_in(round_: DatedRound, edge_types: Iterable[EdgeType] | None) -> tuple[PairResult, ...]:
    """The marked pairs of a round that are of these edge types; None takes all."""
    wanted = None if edge_types is None else set(edge_types)
    return tuple(pair for pair in round_.marked if wanted is None or pair.numbered.pair.edge_type in wanted)


def observe(line: LineUp, edge_types: Iterable[EdgeType] | None = None) -> Observed:
    """The observations of these edge types; None takes all that were sent."""
    wanted = None if edge_types is None else tuple(edge_types)
    rounds = tuple(round_ for round_ in line.rounds if pairs_in(round_, wanted))
    by_round = {round_.key: pairs_in(round_, wanted) for round_ in rounds}
    seen = {pair.numbered.pair.edge_type for pairs in by_round.values() for pair in pairs}
    types = tuple(kind for kind in EdgeType if kind in seen)
    names, must_pass, shifted = _criteria(rounds, types, line.names)
    cells = {(key, pair.number): _cells(pair, names, line) for key, pairs in by_round.items() for pair in pairs}
    every = [cell for row in cells.values() for cell in row]
    return Observed(
        edge_types=types,
        rounds=rounds,
        criteria=tuple(
            _tracked(key, name, every, line.fit, is_must_pass=key in must_pass) for key, name in names.items()
        ),
        observations={
            "levels": len(line.levels),
            "required_level": line.fit,
            "criteria": list(names),
            "must_pass": [key for key in names if key in must_pass],
            "rounds": [{"round": round_.key, "months": round_.months} for round_ in rounds],
            "pairs": [
                _pair(key, pair, cells[key, pair.number], mentor_of(round_))
                for round_ in rounds
                for key in (round_.key,)
                for pair in by_round[key]
            ],
        },
        left_out=_left_out(every),
        shifted=shifted,
        n_outside=sum(_n_outside(round_, wanted) for round_ in line.rounds),
        faults=faults_worn(rounds, [pair for pairs in by_round.values() for pair in pairs], list(names)),
    )


def mentor_of(round_: DatedRound) -> str:
    """Who marked it."""
    marking = round_.result.marking
    return marking.mentor_key if marking else round_.result.round.mentor.key


def _criteria(
    rounds: tuple[DatedRound, ...], types: tuple[EdgeType, ...], newest: dict[str, str]
) -> tuple[dict[str, str], set[str], tuple[str, ...]]:
    """Newest names by key in the newest rubric's order, the must-passes, and those asked at another level than fit.

    For each edge type the newest rubric that judged such a pair says what its must-passes are.
    """
    names: dict[str, str] = {}
    must_pass: set[str] = set()
    shifted: dict[str, str] = {}
    settled: set[EdgeType] = set()
    for round_ in reversed(rounds):
        rubric = round_.result.rubric
        present = {pair.numbered.pair.edge_type for pair in round_.marked}
        for kind in (kind for kind in types if kind in present):
            for on in rubric.on(kind):
                if on.weight:
                    names.setdefault(on.key, newest[on.key])
                if on.must_pass is not None and kind not in settled:
                    must_pass.add(on.key)
                    if on.must_pass != rubric.fit:
                        shifted[on.key] = newest[on.key]
            settled.add(kind)
    return names, must_pass, tuple(shifted.values())


def _cells(pair: PairResult, names: dict[str, str], line: LineUp) -> list[_Cell]:
    top = len(line.levels) - 1
    return [_cell(one, line.fit, top) for one in pair.comparison.criteria if one.on.weight and one.on.key in names]


def _cell(one: CriterionComparison, fit: int, top: int) -> _Cell:
    hers = one.mentor
    if hers is None or (hers.seen is None and not hers.is_transit):
        return _Cell(one.on.key, None, None, "not seen")
    if hers.is_transit:
        return _Cell(one.on.key, None, None, "transit")
    if hers.level is None:
        need = fit if one.on.must_pass is None else one.on.must_pass
        return _Cell(one.on.key, None, None, "short" if hers.hi < need else "unsettled")
    theirs = one.trainee.level if one.trainee else None
    return _Cell(
        one.on.key,
        _shifted(hers.level, one.on, fit, top),
        None if theirs is None else _shifted(theirs, one.on, fit, top),
        "",
    )


def _shifted(level: int, on: CriterionOn, fit: int, top: int) -> int:
    by = 0 if on.must_pass is None else fit - on.must_pass
    return min(max(level + by, 0), top)


def _tracked(key: str, name: str, cells: list[_Cell], fit: int, *, is_must_pass: bool) -> Tracked:
    levels = [cell.mentor for cell in cells if cell.key == key and cell.mentor is not None]
    return Tracked(key, name, is_must_pass, len(levels), sum(level >= fit for level in levels))


def _pair(round_key: str, pair: PairResult, cells: list[_Cell], mentor: str) -> dict[str, Any]:
    return {
        "round": round_key,
        "pair": pair.number,
        "difficulty": float(difficulty_of(pair)),
        "tags": tags_of(pair),
        "mentor": mentor,
        "scores": {cell.key: cell.mentor for cell in cells},
        "self": {cell.key: cell.trainee for cell in cells},
    }


def _left_out(cells: list[_Cell]) -> LeftOut:
    short = sum(cell.why == "short" for cell in cells)
    return LeftOut(
        not_seen=sum(cell.why == "not seen" for cell in cells),
        in_transit=sum(cell.why == "transit" for cell in cells),
        unsettled=short + sum(cell.why == "unsettled" for cell in cells),
        surely_short=short,
    )


def _n_outside(round_: DatedRound, wanted: tuple[EdgeType, ...] | None) -> int:
    return sum(
        not pair.is_graded and pair.marked is not None and (wanted is None or pair.numbered.pair.edge_type in wanted)
        for pair in round_.result.pairs
    )
