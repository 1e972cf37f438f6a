"""Where faults sit on the blades, in the first rounds and in the latest."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evalkit.domain.pair import EdgeType
from evalkit.domain.reading import Place
from evalkit.progress.lining_up import DatedRound, LineUp
from evalkit.progress.observing import pairs_in
from evalkit.progress.results import PairResult

MIN_PAIRS = 5
"""Pairs that a view needs; rounds are joined until it has them."""


@dataclass(frozen=True, slots=True)
class PlaceCount:
    """Readings at one place below fit, of those made there."""

    place: Place
    n_below: int
    n_seen: int
    names: tuple[str, ...]
    """Criteria below fit there, by their newest names, the most frequent first."""


@dataclass(frozen=True, slots=True)
class FaultView:
    """The blades over some rounds in a row."""

    round_keys: tuple[str, ...]
    n_pairs: int
    places: tuple[PlaceCount, ...]


def faults_then_and_now(
    line: LineUp, edge_types: Iterable[EdgeType] | None = None
) -> tuple[FaultView | None, FaultView | None]:
    """The first rounds and the latest, each with at least MIN_PAIRS pairs and without a round in common.

    None where there are too few pairs for a view; with rounds for one view only, that one is 'now'.
    """
    wanted = None if edge_types is None else tuple(edge_types)
    rounds = [(round_, pairs) for round_ in line.rounds if (pairs := pairs_in(round_, wanted))]
    now = _joined(rounds[::-1])
    if now is None:
        return None, None
    then = _joined(rounds[: len(rounds) - len(now)])
    return _view(then, line) if then else None, _view(now[::-1], line)


_Rounds = list[tuple[DatedRound, tuple[PairResult, ...]]]


def _joined(rounds: Sequence[tuple[DatedRound, tuple[PairResult, ...]]]) -> _Rounds | None:
    taken: _Rounds = []
    for one in rounds:
        taken.append(one)
        if sum(len(pairs) for _, pairs in taken) >= MIN_PAIRS:
            return taken
    return None


def _view(rounds: _Rounds, line: LineUp) -> FaultView:
    names = line.names
    below: dict[Place, list[str]] = {}
    seen: dict[Place, int] = {}
    for _, pairs in rounds:
        for pair in pairs:
            for grade in pair.returned.criteria:
                for place in grade.places if grade.counts else ():
                    if place.level is None:
                        continue
                    seen[place.place] = seen.get(place.place, 0) + 1
                    if place.level < line.fit:
                        below.setdefault(place.place, []).append(names[grade.key])
    return FaultView(
        round_keys=tuple(round_.key for round_, _ in rounds),
        n_pairs=sum(len(pairs) for _, pairs in rounds),
        places=tuple(
            PlaceCount(place, len(found), n, tuple(sorted(set(found), key=lambda name: (-found.count(name), name))))
            for place, n in seen.items()
            for found in (below.get(place, []),)
        ),
    )
