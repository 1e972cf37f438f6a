"""Whether what was read of a pair still fits when the pair is described anew."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from evalkit.actions.fitting import Document, check_readings
from evalkit.domain.pair import Pair
from evalkit.domain.round import Round, RoundState
from evalkit.errors import FileFaultsError, InputError

if TYPE_CHECKING:
    from evalkit.book.book import Book

GONE = (RoundState.BACK, RoundState.LOST)
"""A change, other than a correction, leaves these boxes as they were described."""


def check_still_fits(book: Book, before: Pair, after: Pair, *, is_correction: bool) -> None:
    """Raises InputError where a round would take another edge type that its rubric or its readings do not know.

    Such a round could not be graded any more.
    """
    if before.edge_type is after.edge_type:
        return
    for round_ in book.rounds_holding(before.tag):
        if is_correction or round_.state not in GONE:
            _check_round(book, round_, before, after)


def _check_round(book: Book, round_: Round, before: Pair, after: Pair) -> None:
    rubric = book.get_rubric_by_digest(round_.rubric_digest)
    anew = round_.model_copy(
        update={
            "pairs": tuple(
                one.model_copy(update={"pair": after}) if one.pair == before else one for one in round_.pairs
            )
        }
    )
    if anew == round_:
        return
    if after.edge_type not in rubric.edge_types:
        raise _refused(before, after, f"the rubric of round {round_.key} does not serve {after.edge_type} pairs.")
    numbers = {one.number for one in round_.pairs if one.pair == before}
    for document in _documents(book, round_.key):
        own = document.model_copy(update={"pairs": tuple(one for one in document.pairs if one.number in numbers)})
        try:
            check_readings(own, anew, rubric, f"round {round_.key}")
        except FileFaultsError as error:
            n = len(error.faults)
            raise _refused(
                before, after, f"{error.faults[0].what} ({n} of the readings of round {round_.key} would not fit.)"
            ) from None


def _refused(before: Pair, after: Pair, what: str) -> InputError:
    return InputError(
        f"it cannot be written down as {after.edge_type} in a round that reads it as {before.edge_type}: {what}",
        mend="If the pair itself was changed, say --from-now-on: a round that is back keeps what was written. "
        "If it was written wrongly, retire it and add it under another tag.",
        where=f"pair {before.tag}",
    )


def _documents(book: Book, key: str) -> Iterator[Document]:
    """Every version of all that was read in a round."""
    yield from (book.get_assessment(key, line.version).assessment for line in book.assessment_versions(key))
    yield from (book.get_marking(key, line.by, line.version).marking for line in book.marking_versions(key))
    yield from (kept.intake for kept in book.list_intakes(key))
    yield from book.list_second_markings(key)
    drafts = (book.find_draft(key, mentor.key) for mentor in book.list_people("mentor"))
    yield from (draft for draft in drafts if draft is not None)
