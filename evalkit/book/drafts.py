"""A marking while it is being worked on: kept pair by pair, amended on a copy."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Connection, RowMapping, select

from evalkit.book.canonical import digest_of, plain
from evalkit.book.documents import check_fits, checked_letter, checked_reason, delete_details, insert_details
from evalkit.book.facts import marked_pair_fact, marking_fact
from evalkit.book.history import Acting
from evalkit.book.listing import round_standing
from evalkit.book.markings import blinded, find_draft_row, find_marking, insert_marking, insert_pair, load_marking
from evalkit.book.openings import was_opened
from evalkit.book.people import get_person
from evalkit.book.rounds import get_head
from evalkit.book.rows import marked_pair_row
from evalkit.book.schema import marked_pairs, markings
from evalkit.book.steps_back import find_step_before
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.round import span_words
from evalkit.errors import AlreadyError, ChangedError, InputError, NotFoundError


def state_of(pair: MarkedPair | None) -> str:
    """A short name for a pair as it stands in a draft, by its words; '' for one of which nothing is kept."""
    return "" if pair is None else digest_of(plain(blinded(pair)))[:16]


def check_state(before: MarkedPair | None, based_on: str | None, round_key: str, number: int) -> None:
    """Raises ChangedError when the pair no longer is in the state that new words were based on; None is not asked."""
    if based_on is not None and based_on != state_of(before):
        raise ChangedError(
            "this pair was changed meanwhile, in another window or on another device.",
            mend="Look at both, and keep what is right.",
            where=f"round {round_key}, pair {number}",
        )


def save_marked_pair(
    doing: Acting, round_key: str, mentor_key: str, pair: MarkedPair, rubric_digest: str, based_on: str | None = None
) -> MarkedPair:
    """Keep one pair of the draft, begun here when there is none; what stood before goes to the history.

    Answers the pair as kept: `was_opened` is true when the mentor had read that assessment before she judged, whatever
    was said. The same words again change nothing. Raises AlreadyError when the marking is finished and not being
    amended; ChangedError when the pair no longer is in the state (`state_of`) that the new words were based on.
    """
    head = get_head(doing.connection, round_key)
    get_person(doing.connection, "mentor", mentor_key)
    check_fits(doing.connection, head, rubric_digest, [pair])
    draft = find_draft_row(doing.connection, round_key, mentor_key)
    if draft is None:
        draft = _begin(doing, round_key, mentor_key, rubric_digest)
    before = load_marking(doing.connection, draft, pair.number).find_pair(pair.number)
    if before is not None and blinded(before) == blinded(pair):
        return before
    check_state(before, based_on, round_key, pair.number)
    is_opened = pair.was_opened or was_opened(doing.connection, round_key, pair.number, mentor_key)
    pair = pair.model_copy(update={"was_opened": is_opened}).as_blind_as(before)
    if before is None:
        insert_pair(doing, draft, pair, position=pair.number)
    else:
        _replace_pair(doing, draft, pair, before)
    return pair


def find_pair_before(connection: Connection, round_key: str, mentor_key: str, number: int) -> MarkedPair | None:
    """The pair of the draft as it stood one step back, by the history; None where nothing is left to take back."""
    draft = find_draft_row(connection, round_key, mentor_key)
    now = None if draft is None else load_marking(connection, draft, number).find_pair(number)
    if draft is None or now is None:
        return None
    name, _ = marked_pair_fact(round_key, mentor_key, draft["version"], now)
    return find_step_before(connection, f"round {round_key}", name, now)


def _begin(doing: Acting, round_key: str, mentor_key: str, rubric_digest: str) -> RowMapping:
    if find_marking(doing.connection, round_key, mentor_key, None) is not None:
        raise AlreadyError(
            "the marking is finished.",
            mend="To change it begin an amendment and say why; the finished one is kept.",
            where=f"round {round_key}",
        )
    empty = Marking(round_key=round_key, mentor_key=mentor_key, rubric_digest=rubric_digest, pairs=())
    return insert_marking(doing, empty, version=1, reason="", is_finished=False)


def _replace_pair(doing: Acting, draft: RowMapping, pair: MarkedPair, before: MarkedPair) -> None:
    where = (marked_pairs.c.marking_id == draft["id"]) & (marked_pairs.c.number == pair.number)
    row = doing.connection.execute(select(marked_pairs.c.id, marked_pairs.c.position).where(where)).one()
    owner = {"marked_pair_id": row.id}
    delete_details(doing.connection, owner)
    doing.connection.execute(marked_pairs.update().where(where).values(marked_pair_row(pair, row.position)))
    insert_details(doing.connection, pair, owner)
    doing.note(marked_pair_fact(draft["round_key"], draft["mentor_key"], draft["version"], pair), plain(before))


def check_unfinished(connection: Connection, round_key: str) -> None:
    """Raises AlreadyError once somebody has finished a marking of the round."""
    if round_standing(connection, round_key).finished:
        raise AlreadyError(
            "the round is marked: its report rests on the check-in.",
            mend="Amend the marking; what is seen of a pair there counts before the check-in.",
            where=f"round {round_key}",
        )


def finish_marking(doing: Acting, round_key: str, mentor_key: str, marked_on: date | None, letter: str) -> int:
    """The draft becomes a finished version; its number. Raises NotFoundError when nothing is being worked on."""
    draft = _get_draft(doing, round_key, mentor_key)
    before = load_marking(doing.connection, draft)
    letter = checked_letter(letter)
    marking = before.model_copy(update={"marked_on": marked_on, "letter": letter})
    doing.connection.execute(
        markings.update()
        .where(markings.c.id == draft["id"])
        .values(marked_on=marked_on, letter=letter, finished_at=doing.at)
    )
    version: int = draft["version"]
    doing.note(
        marking_fact(marking, version, started_at=draft["started_at"], finished_at=doing.at, reason=draft["reason"]),
        _fact_of(draft, before)[1],
    )
    return version


def start_amendment(doing: Acting, round_key: str, mentor_key: str, reason: str) -> int:
    """A draft that is a copy of the last finished version, to be changed and finished; the number it will have."""
    where = f"round {round_key}"
    reason = checked_reason(reason)
    if not reason:
        raise InputError("an amendment needs its reason.", mend="Say why the marking is changed.", where=where)
    if find_draft_row(doing.connection, round_key, mentor_key) is not None:
        raise AlreadyError("the marking is being worked on already.", mend="Go on with it and finish it.", where=where)
    get_head(doing.connection, round_key)
    last = find_marking(doing.connection, round_key, mentor_key, None)
    if last is None:
        raise NotFoundError(
            f"'{mentor_key}' has finished no marking of this round.", mend="Mark the round first.", where=where
        )
    insert_marking(doing, last.marking, version=last.version + 1, reason=reason, is_finished=False)
    return last.version + 1


def make_room(doing: Acting, marking: Marking) -> Marking:
    """Put away a draft of a first marking that `marking` says all of; answers it, as blind as the draft was.

    What was only begun, by a check-in or pair by pair, is thus gone on with by sheet. Raises AlreadyError when the
    draft holds something that `marking` says nothing of.
    """
    key, mentor = marking.round_key, marking.mentor_key
    row = find_draft_row(doing.connection, key, mentor)
    if row is None or find_marking(doing.connection, key, mentor, None) is not None:
        return marking
    draft = load_marking(doing.connection, row)
    left = tuple(one.number for one in draft.pairs if not _says_all_of(marking, one))
    if left:
        raise AlreadyError(
            f"this marking is being worked on, and the sheet says nothing of what is kept of pair"
            f"{'s' if len(left) > 1 else ''} {span_words(left)}.",
            mend=f"Write the sheet anew (evalkit marking sheet {key}): it holds what is kept. Or finish with evalkit "
            "mark, or drop what is kept with evalkit marking put-away.",
            where=f"round {key}",
        )
    discard_draft(doing, key, mentor)
    return marking.as_blind_as(draft)


def _says_all_of(marking: Marking, pair: MarkedPair) -> bool:
    found = marking.find_pair(pair.number)
    return found is not None and found.answers_all_of(pair)


def discard_draft(doing: Acting, round_key: str, mentor_key: str) -> None:
    """Put away what is being worked on; the history keeps it. Finished versions are not touched."""
    draft = _get_draft(doing, round_key, mentor_key)
    marking = load_marking(doing.connection, draft)
    for row in doing.connection.execute(select(marked_pairs).where(marked_pairs.c.marking_id == draft["id"])).all():
        delete_details(doing.connection, {"marked_pair_id": row.id})
    doing.connection.execute(marked_pairs.delete().where(marked_pairs.c.marking_id == draft["id"]))
    doing.connection.execute(markings.delete().where(markings.c.id == draft["id"]))
    for pair in marking.pairs:
        name, _ = marked_pair_fact(round_key, mentor_key, draft["version"], pair)
        doing.note_gone(name, plain(pair))
    doing.note_gone(*_fact_of(draft, marking))


def _fact_of(draft: RowMapping, marking: Marking) -> tuple[str, dict[str, object]]:
    return marking_fact(
        marking, draft["version"], started_at=draft["started_at"], finished_at=None, reason=draft["reason"]
    )


def _get_draft(doing: Acting, round_key: str, mentor_key: str) -> RowMapping:
    draft = find_draft_row(doing.connection, round_key, mentor_key)
    if draft is None:
        get_head(doing.connection, round_key)
        raise NotFoundError(
            f"'{mentor_key}' is not marking this round.", mend="Mark a pair first.", where=f"round {round_key}"
        )
    return draft
