"""Sentences for the pages that nobody wrote by hand: a note from a fault, one thing to keep, one thing to change."""

from __future__ import annotations

from collections import Counter
from random import Random

from evalkit.domain.grading import CriterionGrade, PairGrade
from evalkit.domain.pair import KnownFault, Pair
from evalkit.domain.reading import Place
from evalkit.domain.verdict import Verdict

from .script import FillerWords
from .worst import WHOLE, names_of_fault, worst_place


class Wording:
    """Takes each sentence in turn, so that none is read twice in one box before its fellows have been."""

    def __init__(self, phrases: FillerWords, rng: Random) -> None:
        self._phrases = phrases
        self._start = rng.randrange(6)
        self._taken: Counter[tuple[str, ...]] = Counter()

    def note(self, pair: Pair) -> str:
        """What a trainee writes of the worst thing found on a pair as received."""
        faults = [fault for fault in pair.faults if fault.tag in self._phrases.notes]
        if not faults:
            return ""
        return self._say(self._phrases.notes[faults[0].tag], _fault_words(faults[0]))

    def keep(self, grade: PairGrade) -> str:
        """Praise for one of the weightiest criteria at the top of their ladders."""
        good = sorted((one for one in grade.criteria if one.counts and one.lo > 2), key=_weight, reverse=True)
        if not good or good[0].key not in self._phrases.keep:
            return self._say(self._phrases.nothing["keep"], WHOLE)
        chosen = good[(self._start + sum(self._taken.values())) % min(3, len(good))]
        own = f"{chosen.key}-{chosen.on.edge_type}"
        return self._say(self._phrases.keep.get(own, self._phrases.keep[chosen.key]), WHOLE)

    def change(self, grade: PairGrade, fit: int) -> str:
        """What to do differently, for the criterion that falls farthest short; or for the sum, where only that does."""
        short = self.short(grade, fit)
        if short:
            return self.comment(short[0], grade)
        if grade.verdict is not Verdict.REWORK:
            return self._say(self._phrases.nothing["change"], WHOLE)
        lowest = min((one for one in grade.criteria if one.counts), key=lambda one: (one.hi, -_weight(one)))
        return self._say(self._phrases.nothing["sum"], lowest.on.name.lower())

    def comment(self, criterion: CriterionGrade, grade: PairGrade) -> str:
        """A remark on one criterion of `grade` that falls short, chosen by what was read."""
        names = names_of_fault(criterion, grade)
        chosen = next(name for name in names if name in self._phrases.change)
        return self._say(self._phrases.change[chosen], worst_place(criterion))

    def short(self, grade: PairGrade, fit: int) -> list[CriterionGrade]:
        """Criteria surely below fit, farthest and weightiest first."""
        found = [one for one in grade.criteria if one.counts and one.hi < fit and one.key in self._phrases.change]
        return sorted(found, key=lambda one: (one.hi, -_weight(one)))

    def _say(self, choices: tuple[str, ...], where: str) -> str:
        n = self._taken[choices]
        self._taken[choices] += 1
        return choices[(self._start + n) % len(choices)].format(where=where)


def _fault_words(fault: KnownFault) -> str:
    place = Place(fault.blade, fault.station)
    return str(place) if any(place) else WHOLE


def _weight(grade: CriterionGrade) -> int:
    return grade.on.weight
