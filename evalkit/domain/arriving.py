"""What became of a box on one leg: which pairs were missing or damaged, in the words that stand on its journey."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from evalkit.domain.round import LegKind, Round, span_words

NOT_BACK = "not in the box when it came back"
"""What is said of a pair that was missing on the way back."""
MISSING_WORDS = "Missing: pair"
"""What the words of a leg begin with where a pair was missing."""
_DAMAGED, _EXTRA = "Damaged in transit: pair", "Too much:"
_NUMBERS = r"([0-9]+(?: to [0-9]+|(?:, [0-9]+)*))"
_WORDS = re.compile(rf"(?:{MISSING_WORDS} {_NUMBERS}\.)?\s*(?:{_DAMAGED} {_NUMBERS}\.)?")


@dataclass(frozen=True, slots=True)
class Losses:
    """Numbers of pairs that were missing, and of those damaged on the way, when a box was opened."""

    missing: tuple[int, ...] = ()
    damaged: tuple[int, ...] = ()

    @property
    def numbers(self) -> frozenset[int]:
        """Pairs that did not come as they left."""
        return frozenset(self.missing) | frozenset(self.damaged)


def arrival_words(losses: Losses, extra: str = "", condition: str = "") -> str:
    """What stands on the journey: 'Missing: pair 3. Damaged in transit: pair 5. Too much: a red pair. Box wet'."""
    parts = (
        f"{MISSING_WORDS} {_span(losses.missing)}." if losses.missing else "",
        f"{_DAMAGED} {_span(losses.damaged)}." if losses.damaged else "",
        f"{_EXTRA} {extra.strip()}" if extra.strip() else "",
        condition.strip(),
    )
    return " ".join(part for part in parts if part)


def losses_in(words: str) -> Losses:
    """What `arrival_words` wrote, read again; any other words tell of no pair."""
    found = _WORDS.match(words)
    return Losses() if found is None else Losses(_numbers(found[1]), _numbers(found[2]))


def other_words(words: str) -> str:
    """What else stands there: what was too much, how the box and the pairs looked."""
    found = _WORDS.match(words)
    return words if found is None else words[found.end() :].strip()


def losses_on(round_: Round, kind: LegKind) -> Losses:
    """What was written down when the box was received, or received back; nothing where it was not."""
    return next((losses_in(leg.condition) for leg in reversed(round_.legs) if leg.kind is kind), Losses())


def find_missing_since(round_: Round, tag: str) -> date | None:
    """The day on which the box came back without this pair of it; None when nothing says so."""
    missing = losses_on(round_, LegKind.RECEIVED_BACK).missing
    is_missing = any(one.pair.tag == tag and one.number in missing for one in round_.pairs)
    return round_.leg_on(LegKind.RECEIVED_BACK) if is_missing else None


def _span(numbers: Iterable[int]) -> str:
    return span_words(tuple(sorted(set(numbers))))


def _numbers(words: str | None) -> tuple[int, ...]:
    if not words:
        return ()
    first, is_span, last = words.partition(" to ")
    if is_span:
        return tuple(range(int(first), int(last) + 1)) if int(last) - int(first) < 1_000 else ()
    return tuple(int(word) for word in words.split(", "))
