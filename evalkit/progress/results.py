"""One round answered: every pair graded at each stage, both views compared, the round summed up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from evalkit.domain.arriving import NOT_BACK, losses_on
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.domain.comparing import Catches, PairComparison, compare_pair, count_catches
from evalkit.domain.criterion import Kind
from evalkit.domain.grading import PairGrade, grade_pair
from evalkit.domain.harm import CriterionChange, changes_of
from evalkit.domain.intake import Intake
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.reading import Medium, Stage
from evalkit.domain.round import LegKind, NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.standing import Finding, Standing, standing_of
from evalkit.domain.tally import RoundTally, tally_round
from evalkit.domain.triage import Decision, IntakeClass, LevelRange, possible_classes
from evalkit.maths.proportions import Proportion, proportion
from evalkit.progress.agreeing import Agreement, agreement_of
from evalkit.progress.doubts import BandDoubt, doubts_of

if TYPE_CHECKING:
    from evalkit.domain.causes import CauseMap, LikelyCause


ABSENT_OUT = "not in the box when it arrived"


@dataclass(frozen=True, slots=True)
class PairResult:
    """All there is to say of one numbered pair: `received` and `finished` the trainee's view, `returned` the mentor's.

    `classes` are the intake classes the trainee's test cuts allow; `called_for` is the mentor's word on what it needed.
    `posted` is the mentor's view as received, read before the box went; None without one, and where the way out spoiled
    the pair, so that the trainee never had it as it was read. `found` sets the trainee's view as received beside it;
    None without an assessment of the pair. `changes` compare `returned` with `posted` where there is one, and with
    `received` otherwise. `absent` says on which way the pair was lost, so that nobody can ever mark it; '' where it
    came, or was seen after all.
    """

    numbered: NumberedPair
    assessed: AssessedPair | None
    marked: MarkedPair | None
    received: PairGrade
    finished: PairGrade
    returned: PairGrade
    classes: tuple[IntakeClass, ...]
    called_for: Decision | None
    standing: Standing
    finding: Finding | None
    comparison: PairComparison
    changes: tuple[CriterionChange, ...]
    causes: tuple[LikelyCause, ...]
    doubts: tuple[BandDoubt, ...]
    posted: PairGrade | None = None
    found: PairComparison | None = None
    absent: str = ""

    @property
    def number(self) -> int:
        return self.numbered.number

    @property
    def is_graded(self) -> bool:
        """Whether it makes the average: no decision puts it outside, and it was there to be marked."""
        return self.standing is Standing.GRADED and not self.absent

    @property
    def standing_words(self) -> str:
        """What the pair counts for; of one that was lost and was graded work, that it was not in the box."""
        return (self.absent if self.standing is Standing.GRADED else "") or self.standing.value

    @property
    def is_change_by_mentor(self) -> bool:
        """Whether `changes` are by the mentor's own eyes both times, and not by two pairs of eyes."""
        return self.posted is not None

    @property
    def was_tested_first(self) -> bool:
        """Did the trainee see anything of it before working on it?"""
        return self.received.is_touched


@dataclass(frozen=True, slots=True)
class RoundResult:
    """One round, answered from its readings alone."""

    round: Round
    rubric: Rubric
    assessment: Assessment | None
    marking: Marking | None
    pairs: tuple[PairResult, ...]
    tally: RoundTally
    catches: Catches
    catch_share: Proportion
    false_alarm_share: Proportion
    agreement: Agreement
    intake: Intake | None = None
    found: Catches = field(default_factory=Catches)
    """Faults the mentor saw before posting, in the trainee's eyes as received."""

    @property
    def found_share(self) -> Proportion:
        """Of the faults the mentor saw before posting, those the trainee found as received."""
        return proportion(self.found.caught, self.found.n_faults)

    @property
    def imagined_share(self) -> Proportion:
        """Of the criteria clean before posting that the trainee looked at, those in which a fault was seen."""
        return proportion(self.found.false_alarm, self.found.n_clean)

    @property
    def graded(self) -> tuple[PairResult, ...]:
        return tuple(pair for pair in self.pairs if pair.is_graded)

    @property
    def would_have_gone_out(self) -> tuple[PairResult, ...]:
        return tuple(pair for pair in self.graded if pair.comparison.would_have_gone_out)

    @property
    def untested_first(self) -> tuple[PairResult, ...]:
        return tuple(pair for pair in self.pairs if pair.assessed is not None and not pair.was_tested_first)


def answer_round(
    round_: Round,
    rubric: Rubric,
    assessment: Assessment | None,
    marking: Marking | None,
    causes: CauseMap | None = None,
    *,
    intake: Intake | None = None,
) -> RoundResult:
    """Grade, compare and sum up one round. What is missing stays unknown; nothing is taken as good."""
    posted = _posted(round_, rubric, intake)
    pairs = tuple(
        _answer_pair(numbered, round_, rubric, assessment, marking, causes, posted=posted.get(numbered.number))
        for numbered in _in_order(round_)
    )
    graded = [pair for pair in pairs if pair.is_graded]
    comparisons = tuple(pair.comparison for pair in graded)
    catches = count_catches(comparisons)
    return RoundResult(
        round=round_,
        rubric=rubric,
        assessment=assessment,
        marking=marking,
        pairs=pairs,
        tally=tally_round([pair.returned for pair in graded], fit=rubric.fit),
        catches=catches,
        catch_share=proportion(catches.caught, catches.n_faults),
        false_alarm_share=proportion(catches.false_alarm, catches.n_clean),
        agreement=agreement_of(comparisons, _scores(graded), n_levels=rubric.top + 1),
        intake=intake,
        found=count_catches(tuple(pair.found for pair in pairs if pair.found is not None)),
    )


def _posted(round_: Round, rubric: Rubric, intake: Intake | None) -> dict[int, PairGrade]:
    """The mentor's grades before posting, by number: of pairs she read and that came to the trainee as they left."""
    spoiled = losses_on(round_, LegKind.RECEIVED).numbers
    grades = [
        grade_pair(rubric, numbered.pair, read.readings, number=numbered.number, stage=Stage.AS_RECEIVED)
        for numbered in round_.pairs
        if intake and numbered.number not in spoiled and (read := intake.find_pair(numbered.number))
    ]
    return {grade.number: grade for grade in grades if grade.is_touched}


def _in_order(round_: Round) -> list[NumberedPair]:
    return sorted(round_.pairs, key=lambda numbered: numbered.number)


def _scores(graded: Sequence[PairResult]) -> list[tuple[float, float]]:
    """(trainee, mentor) scores of what each saw, for pairs where both saw something."""
    return [
        (pair.finished.score.seen, pair.returned.score.seen)
        for pair in graded
        if pair.finished.score.seen is not None and pair.returned.score.seen is not None
    ]


def _answer_pair(
    numbered: NumberedPair,
    round_: Round,
    rubric: Rubric,
    assessment: Assessment | None,
    marking: Marking | None,
    causes: CauseMap | None,
    *,
    posted: PairGrade | None,
) -> PairResult:
    number, pair = numbered.number, numbered.pair
    assessed = assessment.find_pair(number) if assessment else None
    marked = marking.find_pair(number) if marking else None
    theirs = assessed.readings if assessed else ()
    received = grade_pair(rubric, pair, theirs, number=number, stage=Stage.AS_RECEIVED)
    finished = grade_pair(rubric, pair, theirs, number=number, stage=Stage.AS_FINISHED)
    returned = grade_pair(
        rubric,
        pair,
        marked.readings if marked else (),
        number=number,
        stage=Stage.AS_RETURNED,
        transit=marked.transit if marked else (),
    )
    called_for = (marked.called_for if marked else None) or numbered.called_for
    standing, finding = standing_of(assessed.decision if assessed else None, called_for)
    own_verdict = assessed.verdict if assessed else None
    return PairResult(
        numbered=numbered,
        assessed=assessed,
        marked=marked,
        received=received,
        finished=finished,
        returned=returned,
        classes=classes_of(received, rubric),
        called_for=called_for,
        standing=standing,
        finding=finding,
        comparison=compare_pair(finished, returned, own_verdict=own_verdict, fit=rubric.fit),
        changes=changes_of(posted or received, returned),
        causes=_likely_causes(causes, returned, rubric.fit) if causes else (),
        doubts=doubts_of(returned, fit=rubric.fit),
        posted=posted,
        found=compare_pair(received, posted, own_verdict=None, fit=rubric.fit) if posted and assessed else None,
        absent=_absent(round_, number, theirs=(received, finished), returned=returned),
    )


def _absent(round_: Round, number: int, *, theirs: tuple[PairGrade, PairGrade], returned: PairGrade) -> str:
    """On which way a pair was lost. Whatever was seen of it later shows that it was found again."""
    if returned.is_touched:
        return ""
    if number in losses_on(round_, LegKind.RECEIVED_BACK).missing:
        return NOT_BACK
    is_lost = number in losses_on(round_, LegKind.RECEIVED).missing and not any(one.is_touched for one in theirs)
    return ABSENT_OUT if is_lost else ""


def _likely_causes(causes: CauseMap, returned: PairGrade, fit: int) -> tuple[LikelyCause, ...]:
    from evalkit.domain.causes import likely_causes  # months of rounds are answered without a cause map

    return likely_causes(causes, returned, fit=fit)


def classes_of(received: PairGrade, rubric: Rubric) -> tuple[IntakeClass, ...]:
    """The intake classes that the test cuts as received allow; empty when none of them was made."""
    levels: dict[Medium, LevelRange] = {}
    is_cut = False
    for grade in received.criteria:
        if grade.on.kind is Kind.CUT and grade.counts:
            levels[grade.on.criterion.media[0]] = (grade.lo, grade.hi)
            is_cut = is_cut or grade.seen is not None
    return possible_classes(levels, fit=rubric.fit, top=rubric.top) if is_cut else ()
