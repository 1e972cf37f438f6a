"""All that is known of one pair of the stock, gathered for whoever asks for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from evalkit.domain.assessment import Photo
from evalkit.domain.grading import PairGrade
from evalkit.domain.life import Life, Retirement
from evalkit.domain.pair import Pair
from evalkit.domain.round import Round
from evalkit.progress.box_candidates import LeftOut

Held = Mapping[str, tuple[LeftOut, Round | None]]
"""Pairs in no free hand, by tag: why, and the round that has them; None for a retired one."""


@dataclass(frozen=True, slots=True)
class LastSeen:
    """The latest levels a mentor saw of a pair, and in which round."""

    round: Round
    grade: PairGrade


@dataclass(frozen=True, slots=True)
class PairFile:
    """All that the book knows of one pair. `held` is None while it lies on the shelf."""

    pair: Pair
    held: tuple[LeftOut, Round | None] | None
    retirements: tuple[Retirement, ...]
    life: Life
    last_seen: LastSeen | None
    photos: tuple[Photo, ...]
