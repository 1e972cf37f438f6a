"""The proposed box as an answer: its pairs with their reasons, and what it should narrow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from evalkit.domain.pair import Pair
from evalkit.domain.round import Person
from evalkit.progress.box_candidates import LeftOut, Wish
from evalkit.progress.box_worth import Why
from evalkit.progress.deciding import NoFigure
from evalkit.progress.observing import ORDINARY


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing a pair is in the box for. `share` is its part of what the box would lose without the pair.

    `subjects` are names of criteria, tags of faults, an edge type, or steps from ordinary. `chance` is that of the
    first criterion to reach what is asked: on this pair for practice; on an ordinary one, with its SD, for what it
    tells.
    """

    why: Why
    subjects: tuple[str, ...]
    share: float
    chance: float | None = None
    sd: float | None = None


@dataclass(frozen=True, slots=True)
class ChosenPair:
    """A pair of the proposed box, its weightiest reason first."""

    pair: Pair
    reasons: tuple[Reason, ...]
    is_by_hand: bool
    had_in: str | None
    """The round it was in before, for a repeat by hand."""
    n_of_its_type: int
    """Pairs of its edge type that were sent so far."""

    @property
    def is_ordinary(self) -> bool:
        return self.pair.difficulty == ORDINARY


@dataclass(frozen=True, slots=True)
class Narrowing:
    """One must-pass: the chance on an ordinary pair, and its doubt (SD) now and as expected after the box."""

    key: str
    name: str
    chance: float
    sd_now: float
    sd_after: float


@dataclass(frozen=True, slots=True)
class Proposal:
    """A box that may be planned. `no_figure` says why it rests on no reckoned chance; None when it does."""

    trainee: Person
    rubric_key: str
    wish: Wish
    n_ordinary_lacking: int
    """Ordinary pairs that the readiness rule lacked before this box."""
    n_rounds: int
    n_scored: int
    """Pairs with a settled level that it rests on."""
    no_figure: NoFigure | None
    chosen: tuple[ChosenPair, ...]
    narrowing: tuple[Narrowing, ...]
    left_out: Mapping[LeftOut, tuple[str, ...]]

    @property
    def tags(self) -> tuple[str, ...]:
        return tuple(one.pair.tag for one in self.chosen)

    @property
    def values(self) -> dict[str, Decimal]:
        """Declared value of the box by currency."""
        found: dict[str, Decimal] = {}
        for one in self.chosen:
            if one.pair.currency is not None and one.pair.declared_value is not None:
                found[one.pair.currency] = found.get(one.pair.currency, Decimal(0)) + one.pair.declared_value
        return found

    @property
    def unvalued(self) -> tuple[str, ...]:
        """Tags without a declared value: unknown, not nought."""
        return tuple(one.pair.tag for one in self.chosen if one.pair.currency is None)
