"""The known faults of the pairs that were sent, and which criteria each of them makes harder."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from evalkit.progress.lining_up import DatedRound
from evalkit.progress.results import PairResult


@dataclass(frozen=True, slots=True)
class WornFault:
    """A known fault that some pairs have. `criteria` holds keys, none where no rubric says what it makes harder."""

    tag: str
    n_pairs: int
    criteria: tuple[str, ...]


def tags_of(pair: PairResult) -> list[str]:
    """Tags of a pair's known faults, each once, sorted."""
    return sorted({fault.tag for fault in pair.numbered.pair.faults})


def faults_worn(
    rounds: Sequence[DatedRound], pairs: Sequence[PairResult], keys: Sequence[str]
) -> tuple[WornFault, ...]:
    """By tag. Of each criterion in `keys` the newest rubric that has it says which faults make it harder.

    That holds for older rounds too: what a fault does to a blade was the same when no rubric said so yet.
    """
    harder: dict[str, list[str]] = {}
    for key in keys:
        rubric = next(one.result.rubric for one in reversed(rounds) if key in one.result.rubric.by_key)
        for tag in (tag for tag, criteria in rubric.harder_with.items() if key in criteria):
            harder.setdefault(tag, []).append(key)
    worn = [tag for pair in pairs for tag in tags_of(pair)]
    return tuple(WornFault(tag, worn.count(tag), tuple(harder.get(tag, ()))) for tag in sorted(set(worn)))
