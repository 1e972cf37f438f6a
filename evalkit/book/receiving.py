"""What a packet from the mentor tells a trainee's own book: the round with its people, rubric and pairs; its report."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Connection, Row, select

from evalkit.book.assessments import assessment_versions, find_assessment, seal_assessment
from evalkit.book.facts import numbered_fact
from evalkit.book.history import Acting
from evalkit.book.kept import Kept, Role, ToldReport
from evalkit.book.markings import marking_versions, same_version, take_in_marking
from evalkit.book.people import add_person, list_people
from evalkit.book.rounds import add_round, find_round, insert_leg
from evalkit.book.rubrics import freeze_rubric
from evalkit.book.schema import numbered_pairs
from evalkit.book.stock import describe_pair, find_pair
from evalkit.domain.assessment import Assessment
from evalkit.domain.pair import Pair
from evalkit.domain.round import Leg, NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import AlreadyError, InputError

UNSHOWN = ("faults", "difficulty", "declared_value", "currency", "origin", "weight_g")
"""What a box does not tell of a pair; it comes with the report, as far as it comes at all."""


def receive_round(doing: Acting, round_: Round, rubric: Rubric, *, is_told: bool = False) -> bool:
    """Make the book hold the round as its packet tells it; False when it did so already.

    With `is_told` the packet also tells what the mentor knew of the pairs; without it, what was told before stays. Of
    a journey that the trainee wrote down too, the trainee's own days stay, and only what came after them is added.
    Raises InputError for a person that the book knows otherwise, AlreadyError for another round under the same key.
    """
    trainee, mentor = _get_trainee(doing.connection, round_.trainee), _known(doing, "mentor", round_.mentor)
    version = freeze_rubric(doing, rubric)
    round_ = round_.model_copy(update={"trainee": trainee, "mentor": mentor, "rubric_version": version})
    held = find_round(doing.connection, round_.key)
    if held is None:
        for numbered in round_.pairs:
            newest = find_pair(doing.connection, numbered.pair.tag)
            if newest != numbered.pair:
                describe_pair(doing, numbered.pair)
        add_round(doing, round_)
    else:
        _check_same_box(held, round_)
        for numbered in round_.pairs:
            _describe(doing, held, numbered, is_told=is_told)
        _go_on(doing, held, round_.legs)
    return bool(doing.after)


def _get_trainee(connection: Connection, given: Person) -> Person:
    """As this book names the trainee, whose own name for oneself stands."""
    known = {person.key: person for person in list_people(connection, "trainee")}
    if given.key not in known:
        raise InputError(
            f"the round is {given.name}'s ('{given.key}'), and this book is kept by "
            f"{' and '.join(f'{one.name} ({one.key})' for one in known.values())}.",
            mend=f"Take it into {given.name}'s own book: evalkit book new FOLDER --trainee {given.key}.",
        )
    return known[given.key]


def _known(doing: Acting, role: Role, given: Person) -> Person:
    """The same person in this book, added if new. Raises InputError when the key is somebody else's."""
    known = {person.key: person for person in list_people(doing.connection)}
    held = known.get(given.key)
    if held is None:
        add_person(doing, role, given)
    elif held != given or held not in list_people(doing.connection, role):
        raise InputError(
            f"'{given.key}' is {held.name} in this book, and {given.name} in the packet.",
            mend="Keep a book for each mentor: make another with 'evalkit book new' and take the packet in there.",
        )
    return given


def _check_same_box(held: Round, told: Round) -> None:
    differing = next(
        (
            what
            for what, one, other in (
                ("mentor", held.mentor.key, told.mentor.key),
                ("rubric", held.rubric_digest, told.rubric_digest),
                ("day of planning", held.planned_on, told.planned_on),
                ("box", _tags(held), _tags(told)),
            )
            if one != other
        ),
        None,
    )
    if differing:
        raise AlreadyError(
            f"this book holds another round of that key, with another {differing}.",
            mend="Ask your mentor which of them is meant; a round never changes its box.",
            where=f"round {held.key}",
        )


def _tags(round_: Round) -> set[tuple[int, str]]:
    return {(numbered.number, numbered.pair.tag) for numbered in round_.pairs}


def _describe(doing: Acting, round_: Round, told: NumberedPair, *, is_told: bool) -> None:
    """Let the round name the pair as the packet describes it, in this round alone."""
    held = round_.get_pair(told.number)
    pair = told.pair if is_told else with_unshown(told.pair, held.pair)
    called_for = told.called_for if is_told else held.called_for
    if (pair, called_for) == (held.pair, held.called_for):
        return
    row = _row(doing.connection, round_.key, told.number)
    version = row.version if pair == held.pair else describe_pair(doing, pair)
    doing.connection.execute(
        numbered_pairs.update()
        .where(numbered_pairs.c.round_key == round_.key, numbered_pairs.c.number == told.number)
        .values(version=version, called_for=called_for)
    )
    _, before = numbered_fact(round_.key, told.number, row.tag, row.version, row.called_for)
    doing.note(numbered_fact(round_.key, told.number, row.tag, version, called_for), before)


def with_unshown(pair: Pair, known: Pair) -> Pair:
    """`pair` with what a box does not tell taken from `known`."""
    return pair.model_copy(update={name: getattr(known, name) for name in UNSHOWN})


def _row(connection: Connection, round_key: str, number: int) -> Row[tuple[object, ...]]:
    wanted = select(numbered_pairs).where(numbered_pairs.c.round_key == round_key, numbered_pairs.c.number == number)
    return connection.execute(wanted).one()


def _go_on(doing: Acting, held: Round, told: Sequence[Leg]) -> None:
    """Add the legs that follow those the book has, unless the two journeys part."""
    n_held = len(held.legs)
    if [leg.kind for leg in told[:n_held]] == [leg.kind for leg in held.legs]:
        for position, leg in enumerate(told[n_held:], start=n_held):
            insert_leg(doing, held.key, position, leg)


def receive_report(doing: Acting, report: ToldReport, *, is_known: bool) -> Kept:
    """The round, the assessment and the marking that a report rests on, as the mentor's book holds them.

    Answers the own version of the marking. What the book sealed or holds already is not written twice; what differs
    becomes a further version, and the earlier ones stay. Raises as `receive_round` does, and AlreadyError when this
    version of the marking `is_known` and says other words.
    """
    receive_round(doing, report.round, report.rubric, is_told=True)
    _known(doing, "mentor", report.marked_by)
    if report.assessment is not None:
        _receive_assessment(doing, report.assessment, report.assessment_reason, report.assessment_version)
    key, mentor = report.marking.round_key, report.marking.mentor_key
    lines = marking_versions(doing.connection, key, mentor)
    same = same_version(doing.connection, report.marking, lines)
    if same is not None:
        return Kept(same, is_new=False)
    if is_known:
        raise AlreadyError(
            "another report with this version of the marking was taken in; a finished version never changes.",
            mend="Ask your mentor which of them is meant.",
            where=f"round {key}",
        )
    reason = report.marking_reason or (AS_REPORTED if lines else "")
    return take_in_marking(doing, report.marking, reason, at_least=report.marking_version)


AS_REPORTED = "as it stands in the mentor's report"
"""Why a further version is written where the mentor's own first one differs from what the trainee's book holds."""


def _receive_assessment(doing: Acting, told: Assessment, reason: str, version: int) -> None:
    """Under the mentor's number and reason, so that a report made here says as much as hers."""
    lines = assessment_versions(doing.connection, told.round_key)
    sealed = [find_assessment(doing.connection, told.round_key, line.version) for line in lines]
    latest = sealed[-1] if sealed else None
    if latest is None or latest.assessment != told:
        seal_assessment(doing, told, reason or (AS_REPORTED if latest else ""), at_least=version)
