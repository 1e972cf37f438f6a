"""The assessment beside the marking: reading by reading, and whether the trainee saw the faults the mentor saw."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.grading import CriterionGrade, PairGrade
from evalkit.domain.reading import Place
from evalkit.domain.verdict import Verdict


class Match(StrEnum):
    """Two views of one place."""

    AGREE = "agree"
    TRAINEE_HIGHER = "trainee higher"
    TRAINEE_LOWER = "trainee lower"
    ONLY_TRAINEE = "seen by the trainee only"
    ONLY_MENTOR = "seen by the mentor only"
    NEITHER = "seen by neither"


class Sight(StrEnum):
    """What became of a fault, or of its absence. A fault is a mentor's level below fit for a customer."""

    CAUGHT = "caught"
    MISSED = "missed"
    NOT_LOOKED = "not looked for"
    FALSE_ALARM = "false alarm"
    BOTH_CLEAN = "both clean"
    UNKNOWN = "not known"


class PlaceComparison(NamedTuple):
    """One place, two levels; None where it was not seen. `by` is trainee minus mentor."""

    place: Place
    trainee: int | None
    mentor: int | None

    @property
    def by(self) -> int | None:
        return None if self.trainee is None or self.mentor is None else self.trainee - self.mentor

    @property
    def match(self) -> Match:
        if self.trainee is None:
            return Match.NEITHER if self.mentor is None else Match.ONLY_MENTOR
        if self.mentor is None:
            return Match.ONLY_TRAINEE
        if self.trainee == self.mentor:
            return Match.AGREE
        return Match.TRAINEE_HIGHER if self.trainee > self.mentor else Match.TRAINEE_LOWER


@dataclass(frozen=True, slots=True)
class CriterionComparison:
    """One criterion of one pair: the trainee's grade as finished, the mentor's as returned."""

    on: CriterionOn
    trainee: CriterionGrade | None
    mentor: CriterionGrade | None
    places: tuple[PlaceComparison, ...]
    sight: Sight

    @property
    def levels(self) -> tuple[int, int] | None:
        """(trainee, mentor) where both are settled: the unit of every coefficient. None otherwise."""
        if self.trainee is None or self.mentor is None:
            return None
        theirs, hers = self.trainee.level, self.mentor.level
        return None if theirs is None or hers is None else (theirs, hers)


@dataclass(frozen=True, slots=True)
class PairComparison:
    """Both views of one pair. `would_have_gone_out`: the trainee accepted it and the mentor sends it back."""

    number: int
    criteria: tuple[CriterionComparison, ...]
    trainee_verdict: Verdict
    mentor_verdict: Verdict

    @property
    def would_have_gone_out(self) -> bool:
        return self.trainee_verdict is Verdict.ACCEPTED and self.mentor_verdict is Verdict.REWORK

    @property
    def was_held_back(self) -> bool:
        """The trainee would have reworked a pair that the mentor accepts."""
        return self.trainee_verdict is Verdict.REWORK and self.mentor_verdict is Verdict.ACCEPTED


@dataclass(frozen=True, slots=True)
class Catches:
    """Counts of sights. Shares and intervals are derived above, never stored."""

    caught: int = 0
    missed: int = 0
    not_looked: int = 0
    false_alarm: int = 0
    both_clean: int = 0

    @property
    def n_faults(self) -> int:
        """Faults the mentor saw; one that the trainee did not look for was not caught."""
        return self.caught + self.missed + self.not_looked

    @property
    def n_clean(self) -> int:
        """Clean places that both looked at."""
        return self.false_alarm + self.both_clean


def compare_pair(trainee: PairGrade, mentor: PairGrade, *, own_verdict: Verdict | None, fit: int) -> PairComparison:
    """Set the two grades of one pair side by side.

    The trainee's verdict is the one they stated; where they stated none, the one their own readings give.
    """
    theirs = {grade.key: grade for grade in trainee.criteria}
    hers = {grade.key: grade for grade in mentor.criteria}
    keys = [*hers, *(key for key in theirs if key not in hers)]
    return PairComparison(
        number=mentor.number,
        criteria=tuple(_compare_criterion(theirs.get(key), hers.get(key), fit) for key in keys),
        trainee_verdict=own_verdict or trainee.verdict,
        mentor_verdict=mentor.verdict,
    )


def _compare_criterion(trainee: CriterionGrade | None, mentor: CriterionGrade | None, fit: int) -> CriterionComparison:
    either = mentor or trainee
    if either is None:
        raise ValueError("a comparison needs at least one grade")
    places = _compare_places(trainee, mentor)
    return CriterionComparison(either.on, trainee, mentor, places, sight_of(trainee, mentor, fit))


def _compare_places(trainee: CriterionGrade | None, mentor: CriterionGrade | None) -> tuple[PlaceComparison, ...]:
    theirs = _levels(trainee)
    both = [PlaceComparison(place, theirs.pop(place, None), level) for place, level in _levels(mentor).items()]
    return (*both, *(PlaceComparison(place, level, None) for place, level in theirs.items()))


def _levels(grade: CriterionGrade | None) -> dict[Place, int | None]:
    return {place: level for place, level, _, _ in grade.places} if grade else {}


def sight_of(trainee: CriterionGrade | None, mentor: CriterionGrade | None, fit: int) -> Sight:
    """What the trainee saw of what the mentor saw. A range that straddles `fit` says nothing for certain."""
    if mentor is None or mentor.seen is None or mentor.lo < fit <= mentor.hi:
        return Sight.UNKNOWN
    is_fault = mentor.hi < fit
    if trainee is None or trainee.seen is None:
        return Sight.NOT_LOOKED if is_fault else Sight.UNKNOWN
    if trainee.hi < fit:
        return Sight.CAUGHT if is_fault else Sight.FALSE_ALARM
    if trainee.lo >= fit:
        return Sight.MISSED if is_fault else Sight.BOTH_CLEAN
    return Sight.NOT_LOOKED if is_fault else Sight.UNKNOWN


def count_catches(comparisons: tuple[PairComparison, ...]) -> Catches:
    """Count the sights over the criteria that count."""
    counts = dict.fromkeys(Sight, 0)
    for pair in comparisons:
        for criterion in pair.criteria:
            if criterion.on.weight:
                counts[criterion.sight] += 1
    return Catches(
        caught=counts[Sight.CAUGHT],
        missed=counts[Sight.MISSED],
        not_looked=counts[Sight.NOT_LOOKED],
        false_alarm=counts[Sight.FALSE_ALARM],
        both_clean=counts[Sight.BOTH_CLEAN],
    )
