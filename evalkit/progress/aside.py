"""Which pairs of a box are in no count, and why: a count that differs from the box must be told with its reason."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evalkit.domain.arriving import losses_on
from evalkit.domain.pair import EdgeType
from evalkit.domain.round import LegKind, Round
from evalkit.domain.standing import Standing
from evalkit.progress.results import PairResult

MISSING_OUT = "missing when the box arrived"
DAMAGED_OUT = "damaged on the way out"
MISSING_BACK = "missing when the box came back"
DAMAGED_BACK = "damaged on the way back"
UNMARKED = "not marked"


@dataclass(frozen=True, slots=True)
class PutAside:
    """Pairs of one box that are in no count, by number, for one reason."""

    why: str
    numbers: tuple[int, ...]


def pairs_aside(
    round_: Round, pairs: Sequence[PairResult], edge_types: Iterable[EdgeType] | None = None
) -> tuple[PutAside, ...]:
    """The pairs of these edge types that are not graded or not marked, reason by reason in the order of numbers."""
    wanted = None if edge_types is None else set(edge_types)
    found: dict[str, list[int]] = {}
    for pair in pairs:
        if wanted is not None and pair.numbered.pair.edge_type not in wanted:
            continue
        why = _why(round_, pair)
        if why:
            found.setdefault(why, []).append(pair.number)
    return tuple(PutAside(why, tuple(sorted(numbers))) for why, numbers in found.items())


def _why(round_: Round, pair: PairResult) -> str:
    """'' for a pair that counts. What was written down of the journey says why a pair could not be marked."""
    if pair.is_graded and pair.marked is not None:
        return ""
    if pair.standing is not Standing.GRADED:
        return pair.standing.value
    out, back = losses_on(round_, LegKind.RECEIVED), losses_on(round_, LegKind.RECEIVED_BACK)
    for numbers, words in (
        (out.missing, MISSING_OUT),
        (back.missing, MISSING_BACK),
        (out.damaged, DAMAGED_OUT),
        (back.damaged, DAMAGED_BACK),
    ):
        if pair.number in numbers:
            return words
    return UNMARKED
