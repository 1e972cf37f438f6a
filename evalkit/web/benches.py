"""The round on the bench, loaded once for a page: what is marked, what was opened, who marks."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from evalkit.actions.marking import (
    answer_alone,
    by_criterion,
    check_back,
    lines_on,
    marked_numbers,
    n_could_not,
    untested_places,
)
from evalkit.domain.amounts import amount_words
from evalkit.domain.criterion import CriterionOn
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.round import NumberedPair, Round, RoundState
from evalkit.domain.rubric import Rubric
from evalkit.errors import AlreadyError, InputError
from evalkit.web.arrivals import ArrivalRow, arrivals_of

if TYPE_CHECKING:
    from evalkit.book.kept import FinishedMarking
    from evalkit.book.listing import RoundStanding
    from evalkit.domain.assessment import AssessedPair
    from evalkit.domain.round import Person
    from evalkit.progress.results import RoundResult
    from evalkit.web.desk import Desk
    from evalkit.web.visit import Visit


IF_LOST = "What is known of it stands on the page of its round."
IF_AWAY = "Once it is here, check it in on the page of its round."
"""What is done on the pages where a box cannot be marked."""


@dataclass(frozen=True, slots=True)
class PairTab:
    """One number in the row of numbers: how far the pair is, in a shape and in words."""

    number: int
    shape: str
    progress: str
    is_here: bool
    arrival: ArrivalRow | None = None

    @property
    def words(self) -> str:
        """How far it is, and what became of it on its way."""
        return self.progress if self.arrival is None else f"{self.progress}, {self.arrival.words}"


def bench_of(visit: Visit) -> Bench:
    """The bench of the round in the address, as the book stands."""
    mentor = visit.mentor
    return visit.made(("bench", visit.key, mentor.key), lambda: Bench(visit.desk, visit.key, mentor), of=visit.key)


class Bench:
    """One mentor's marking of one round as it stands. Each part is asked of the book once, when a page needs it."""

    def __init__(self, desk: Desk, key: str, mentor: Person) -> None:
        self._desk = desk
        self._book = desk.book
        self.mentor = mentor
        self.who = mentor.key
        self.round: Round = self._book.get_round(key)

    @property
    def key(self) -> str:
        return self.round.key

    def assessed(self, number: int) -> AssessedPair | None:
        """What the trainee recorded of that pair; whoever asks has made sure that it is open."""
        sealed = self._book.find_assessment(self.key, number=number) if self.is_sealed else None
        return sealed.assessment.find_pair(number) if sealed else None

    @cached_property
    def n_questions(self) -> dict[int, int]:
        """How many questions the trainee asks of each pair, which gives nothing of them away."""
        return self._book.question_counts(self.key) if self.is_sealed else {}

    @cached_property
    def rubric(self) -> Rubric:
        return self._desk.rubric(self.round.rubric_digest)

    @cached_property
    def standing(self) -> RoundStanding:
        return self._book.round_standing(self.key)

    @cached_property
    def draft(self) -> Marking | None:
        return self._book.find_draft(self.key, self.who) if self.who in self.standing.drafts else None

    @cached_property
    def finished(self) -> FinishedMarking | None:
        return self._book.find_marking(self.key, self.who) if self.finished_version else None

    @property
    def finished_version(self) -> int:
        """The number of the last finished version; 0 when there is none."""
        return self.standing.finished.get(self.who, 0)

    @property
    def is_sealed(self) -> bool:
        return bool(self.standing.sealed)

    @cached_property
    def arrivals(self) -> dict[int, ArrivalRow]:
        """Pairs that did not come as they left."""
        return arrivals_of(self.round)

    @property
    def is_back(self) -> bool:
        return self.round.state is RoundState.BACK

    @property
    def is_amended(self) -> bool:
        """A finished marking is taken in hand again."""
        return self.who in self.standing.drafts and bool(self.finished_version)

    @property
    def is_closed(self) -> bool:
        """The marking is finished and nobody is amending it."""
        return self.who not in self.standing.drafts and bool(self.finished_version)

    @cached_property
    def pairs(self) -> dict[int, MarkedPair]:
        """Every pair of the draft; of the finished marking when there is no draft."""
        marking = self.draft or (self.finished.marking if self.finished else None)
        return {pair.number: pair for pair in marking.pairs} if marking else {}

    @property
    def marked(self) -> set[int]:
        return marked_numbers(self.pairs, is_amended=bool(self.finished_version))

    def was_opened(self, number: int) -> bool:
        """Whether this mentor has read the assessment of the pair."""
        return self.standing.has_opened(self.who, number)

    def may_read(self, number: int) -> bool:
        """Whether the assessment of the pair is open to her: read already, marked to the end, or lost for good."""
        return self.round.state is RoundState.LOST or self.was_opened(number)

    def lines(self, number: int) -> list[CriterionOn]:
        return lines_on(self.rubric, self.round.get_pair(number).pair)

    def alone(self, number: int, *, with_assessment: bool = False) -> RoundResult:
        """The round with that pair alone, graded as it stands; beside the assessment only where that is open."""
        sealed = self._book.find_assessment(self.key, number=number) if with_assessment and self.is_sealed else None
        kept = self._book.find_intake(self.key) if with_assessment else None
        return answer_alone(
            self.round,
            self.rubric,
            number,
            assessment=sealed.assessment if sealed else None,
            marked=self.pairs.get(number),
            who=self.who,
            causes=self._desk.causes,
            intake=kept.intake if kept else None,
        )

    def n_untested(self, number: int) -> int:
        """Readings that nobody made yet."""
        pair = self.pairs.get(number)
        kept = by_criterion(pair.readings if pair else ())
        return sum(len(untested_places(on, kept.get(on.key, ()))) for on in self.lines(number))

    def n_could_not(self, number: int) -> int:
        """Criteria of which something could not be tested."""
        pair = self.pairs.get(number)
        return n_could_not(self.lines(number), by_criterion(pair.readings)) if pair else 0

    def tabs(self, here: int | None = None) -> tuple[PairTab, ...]:
        """All numbers of the box, in order."""
        return tuple(self._tab(number, here) for number in self.round.numbers)

    def _tab(self, number: int, here: int | None) -> PairTab:
        shape, words = self._progress[number]
        return PairTab(number, shape, words, number == here, self.arrivals.get(number))

    @cached_property
    def _progress(self) -> dict[int, tuple[str, str]]:
        return {number: self._progress_of(number) for number in self.round.numbers}

    def _progress_of(self, number: int) -> tuple[str, str]:
        """How far the pair is: a shape, and words."""
        pair = self.pairs.get(number)
        n_untested = self.n_untested(number)
        if pair is None or not pair.readings:
            shape, words = "unseen", "not marked"
        elif n_untested:
            shape, words = "begun", f"{n_untested} untested"
        elif n := self.n_could_not(number):
            is_none_seen = not any(reading.is_seen for reading in pair.readings)
            shape = "unseen" if is_none_seen else "begun"
            words = "could not be tested" if is_none_seen else f"{amount_words(n, 'criterion', 'criteria')} could not"
        else:
            shape, words = "tested", "all tested"
        if self.was_opened(number):
            words += ", both views seen"
        return shape, words

    def next_number(self, number: int) -> int | None:
        """The next number of the box; None after the last."""
        return next((one for one in self.round.numbers if one > number), None)

    def previous_number(self, number: int) -> int | None:
        """The number before; None before the first."""
        return next((one for one in reversed(self.round.numbers) if one < number), None)

    def next_unmarked(self) -> int:
        """The first pair that still wants marking; the first of the box when none does."""
        return next((number for number in self.round.numbers if number not in self.marked), self.round.numbers[0])

    def numbered(self, number: int) -> NumberedPair:
        return self.round.get_pair(number)

    def check_open(self) -> None:
        """Raises InputError while the box is not back, AlreadyError when the marking is finished."""
        try:
            check_back(self.round)
        except InputError as error:
            is_lost = self.round.state is RoundState.LOST
            raise InputError(error.what, mend=IF_LOST if is_lost else IF_AWAY, where=error.where) from None
        if self.is_closed:
            raise AlreadyError(
                "the marking is finished.",
                mend="To change it, amend it and say why; the finished one is kept.",
                where=f"round {self.key}",
            )
