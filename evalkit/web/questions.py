"""Questions of the trainee that wait for an answer, told without opening what is closed still."""

from __future__ import annotations

from dataclasses import dataclass

from evalkit.domain.amounts import amount_words
from evalkit.domain.marking import MarkedPair
from evalkit.web.benches import Bench


@dataclass(frozen=True, slots=True)
class AskedRow:
    """Unanswered questions of a round. `seen`: numbers of pairs of which they may be counted by now, as `words` does.

    `numbers`: every pair with such a question; to be shown only once no pair of the round is left unmarked.
    """

    words: str = ""
    seen: tuple[int, ...] = ()
    numbers: tuple[int, ...] = ()


def asked_on(bench: Bench) -> AskedRow:
    """What waits for an answer; nothing where the marking is finished, or there is no assessment."""
    if not bench.is_back or bench.is_closed or not bench.is_sealed:
        return AskedRow()
    asked = bench.n_questions.items()
    counts = {number: n for number, n_asked in asked if (n := n_open(n_asked, bench.pairs.get(number)))}
    seen = tuple(number for number in sorted(counts) if _may_be_told(bench, number))
    n_seen = sum(counts[number] for number in seen)
    verb = "waits" if n_seen == 1 else "wait"
    return AskedRow(f"{amount_words(n_seen, 'question')} {verb} for an answer", seen, tuple(sorted(counts)))


def n_open(n_asked: int, marked: MarkedPair | None) -> int:
    """How many of so many questions of a pair have no answer."""
    answered = {answer.question for answer in marked.answers} if marked else set()
    return sum(number not in answered for number in range(1, n_asked + 1))


def _may_be_told(bench: Bench, number: int) -> bool:
    """A pair that is half marked is as blind as one that is not begun."""
    return bench.may_read(number) or (number in bench.marked and not bench.n_untested(number))
