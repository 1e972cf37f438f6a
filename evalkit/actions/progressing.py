"""Asking the book for a trainee's history, and the mentor's acts that rest on it: sign-off, second marking."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from evalkit.actions.fitting import check_filled
from evalkit.actions.second_looking import check_marked_once
from evalkit.domain.marking import Marking
from evalkit.domain.pair import EdgeType
from evalkit.domain.round import Round
from evalkit.domain.signoff import SignOff
from evalkit.errors import InputError, NotFoundError
from evalkit.progress.deciding import Answer
from evalkit.progress.results import RoundResult, answer_round

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.book.kept import KeptSignOff
    from evalkit.progress.history import History
    from evalkit.progress.lining_up import LineUp
    from evalkit.progress.steadiness import Repeat

OnStep = Callable[[int, int], None]
"""Told after each step: how many are done, of how many."""


def results_of(book: Book, trainee_key: str) -> list[RoundResult]:
    """Every round of a trainee, answered, once for each mentor who finished a marking of it."""
    return [result for round_ in book.list_rounds(trainee_key) for result in _results_of_round(book, round_)]


def _results_of_round(book: Book, round_: Round) -> list[RoundResult]:
    rubric = book.get_rubric_by_digest(round_.rubric_digest)
    sealed = book.find_assessment(round_.key)
    assessment = sealed.assessment if sealed else None
    mentors = list(dict.fromkeys(line.by for line in book.marking_versions(round_.key)))
    found = [book.find_marking(round_.key, mentor) for mentor in mentors]
    markings: list[Marking | None] = [one.marking for one in found if one is not None]
    kept = book.find_intake(round_.key)
    intake = kept.intake if kept else None
    return [answer_round(round_, rubric, assessment, marking, intake=intake) for marking in markings or [None]]


def history_from(
    book: Book,
    trainee_key: str,
    *,
    edge_types: Sequence[EdgeType] = (),
    is_brief: bool = False,
    on_step: OnStep = lambda _done, _of: None,
) -> History:
    """A trainee's history as the book holds it now. Raises NotFoundError when there is no such trainee."""
    from evalkit.progress.history import history_of

    return history_of(
        book.get_person("trainee", trainee_key),
        results_of(book, trainee_key),
        edge_types=edge_types,
        sign_offs=[kept.sign_off for kept in book.list_sign_offs(trainee_key)],
        values=book.find_school_values(),
        is_brief=is_brief,
        on_step=on_step,
    )


def sign_off(
    book: Book,
    trainee_key: str,
    histories: Mapping[EdgeType, History],
    *,
    evidence: str,
    who: str,
    on: date,
    note: str = "",
) -> SignOff:
    """Record the mentor's sign-off for these edge types, with the evidence as it stands.

    The decision is the mentor's; against the figures it asks for her reason. Raises InputError when that is missing or
    nothing of an edge type was ever marked.
    """
    answers = {kind: history.readiness.answer for kind, history in histories.items()}
    for kind, history in histories.items():
        if not history.counts:
            raise InputError(
                f"no {kind} pair of {history.trainee.name} was ever marked.",
                mend="Send one first; a sign-off rests on what was seen.",
                where=f"trainee {trainee_key}",
            )
    against = [f"{answer} for {kind}" for kind, answer in answers.items() if answer is not Answer.READY]
    if against and not note.strip():
        raise InputError(
            f"the figures say: {', '.join(against)}.",
            mend="The decision is yours; give your reason with --note to sign off all the same.",
            where=f"trainee {trainee_key}",
        )
    given = SignOff(
        trainee_key=trainee_key,
        mentor_key=who,
        edge_types=tuple(histories),
        signed_on=on,
        answers={kind: answer.value for kind, answer in answers.items()},
        evidence=evidence,
        note=note.strip(),
    )
    book.record_sign_off(given, who)
    return given


def withdraw(
    book: Book, trainee_key: str, edge_types: Sequence[EdgeType], *, reason: str, who: str, on: date
) -> tuple[SignOff, ...]:
    """Take back the sign-offs that stand for any of these edge types; without one, the only sign-off that stands."""
    standing = [kept for kept in book.list_sign_offs(trainee_key) if kept.sign_off.stands]
    chosen = [kept for kept in standing if not edge_types or set(kept.sign_off.edge_types) & set(edge_types)]
    if not chosen:
        raise NotFoundError(
            "no such sign-off stands.", mend=f"What stands: {_list(standing)}.", where=f"trainee {trainee_key}"
        )
    if not edge_types and len(chosen) > 1:
        raise InputError(
            "several sign-offs stand.", mend=f"Name one with --edge: {_list(standing)}.", where=f"trainee {trainee_key}"
        )
    for kept in chosen:
        kept.sign_off.withdrawn(on, reason)  # raises before anything is written
    return tuple(book.withdraw_sign_off(kept.number, on, reason, who) for kept in chosen)


def _list(standing: Sequence[KeptSignOff]) -> str:
    words = [f"{', '.join(kept.sign_off.edge_types)} of {kept.sign_off.signed_on}" for kept in standing]
    return "; ".join(words) or "none"


def take_in_second_marking(book: Book, marking: Marking, *, who: str) -> Marking | None:
    """Keep a blind second marking of some pairs of a round; those left blank are left out.

    Answers what was kept, None when this very one is kept already. Raises NotFoundError when the round, or a pair of
    it, was not marked a first time; InputError when nothing is filled in, or pictures are named.
    """
    round_ = book.get_round(marking.round_key)
    where = f"round {round_.key}"
    check_filled(marking, where)
    filled = tuple(pair for pair in marking.pairs if not pair.is_blank)
    check_marked_once(book, round_, [pair.number for pair in filled])
    for pair in filled:
        if pair.photos:
            what = "a second marking keeps no pictures: nobody is shown it."
            raise InputError(what, mend="Take them out.", where=f"{where}, pair {pair.number}")
    marking = marking.model_copy(update={"pairs": filled})
    return marking if book.record_second_marking(marking, who) else None


def lines_of(book: Book) -> list[LineUp]:
    """The rounds of every trainee, in order, with all markings of each."""
    from evalkit.progress.lining_up import line_up

    return [line_up(results_of(book, person.key), person.key) for person in book.list_people("trainee")]


def repeats_in(book: Book) -> list[Repeat]:
    """Every pair that was marked twice: by a second marking, or by two mentors."""
    from evalkit.progress.steadiness import repeats_of

    found: list[Repeat] = []
    for round_ in book.list_rounds():
        results = _results_of_round(book, round_)
        first = results[0]
        if first.marking is None:
            continue
        for other in results[1:]:
            found += repeats_of(first, other.marking) if other.marking else ()
        for second in book.list_second_markings(round_.key):
            own = next((one for one in results if one.marking and one.marking.mentor_key == second.mentor_key), first)
            found += repeats_of(own, second)
    return found
