"""A second look: which pairs are marked once more, blind to the first marking, and how steady the marking is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from evalkit.actions.marking import by_criterion, untested_places
from evalkit.actions.progressing import repeats_in
from evalkit.actions.second_looking import pick_pairs
from evalkit.domain.amounts import amount_words
from evalkit.domain.marking import MarkedPair
from evalkit.progress.steadiness import steadiness_of
from evalkit.reports.steadiness_words import steadiness_words
from evalkit.web.benches import Bench, bench_of

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.web.visit import Visit

MOST_PICKED = 60


@dataclass(frozen=True, slots=True)
class SecondRow:
    """One pair that is marked a second time: how far it is, in a shape and in words, and what is done next."""

    number: int
    words: str
    tag: str
    shape: str
    state: str
    act: str
    is_kept: bool


def show_second(visit: Visit) -> Response:
    """Which pairs to mark a second time, how far each is, and which are kept."""
    bench = bench_of(visit)
    rows = visit.made(("second", bench.key, bench.who), lambda: second_rows(visit, bench), of=bench.key)
    return visit.show(
        "second.html",
        200,
        bench=bench,
        is_marked=bool(bench.finished_version),
        rows=rows,
        n_open=sum(not row.is_kept for row in rows),
        just_kept=visit.page_number("kept") if "kept" in visit.request.query_params else 0,
    )


def second_rows(visit: Visit, bench: Bench) -> tuple[SecondRow, ...]:
    """The pairs that are drawn, begun or kept, in the order of their numbers; none before a marking is finished."""
    if not bench.finished_version:
        return ()
    drafts = visit.book.list_second_drafts(bench.key, bench.who)
    kept = _kept(visit, bench)
    numbers = sorted((drafts.keys() | kept.keys()) & set(bench.round.numbers))
    return tuple(_row(bench, number, drafts.get(number), kept.get(number)) for number in numbers)


def _kept(visit: Visit, bench: Bench) -> dict[int, MarkedPair]:
    """The pairs of which this mentor has finished a second marking, the latest of each."""
    markings = visit.book.list_second_markings(bench.key)
    return {pair.number: pair for one in markings if one.mentor_key == bench.who for pair in one.pairs}


def n_second_open(visit: Visit, bench: Bench) -> int:
    """How many pairs of the round are drawn or begun a second time and not finished."""
    return len(visit.book.list_second_drafts(bench.key, bench.who)) if bench.finished_version else 0


def _row(bench: Bench, number: int, draft: MarkedPair | None, kept: MarkedPair | None) -> SecondRow:
    numbered = bench.numbered(number)
    shape, state, act = _standing(bench, draft, kept)
    return SecondRow(number, numbered.pair.words, numbered.pair.tag, shape, state, act, is_kept=draft is None)


def _standing(bench: Bench, draft: MarkedPair | None, kept: MarkedPair | None) -> tuple[str, str, str]:
    if draft is None:
        n = n_left(bench, kept)
        return ("begun", f"finished and kept, {_untested(n)}", "") if n else ("tested", "finished and kept", "")
    if draft.is_blank:
        return "unseen", "not begun", "Begin"
    n = n_left(bench, draft)
    return "begun", f"begun, {_untested(n) if n else 'all tested'}, not finished", "Go on"


def _untested(n: int) -> str:
    return f"{amount_words(n, 'reading')} untested"


def n_left(bench: Bench, marked: MarkedPair | None) -> int:
    """Readings of a second marking that nobody made; 0 where there is none."""
    if marked is None:
        return 0
    kept = by_criterion(marked.readings)
    return sum(len(untested_places(on, kept.get(on.key, ()))) for on in bench.lines(marked.number))


def pick(visit: Visit) -> Response:
    """Draw pairs over all levels; what they got the first time is not shown."""
    count = visit.n_pairs_said(MOST_PICKED, where=f"round {visit.key}")
    pick_pairs(visit.book, bench_of(visit).round, count, who=visit.who)
    return visit.go(f"/rounds/{visit.key}/second")


def show_steadiness(visit: Visit) -> Response:
    """How often two markings of one pair agree, as far as it was worked out."""
    kept = visit.desk.find_kept("steadiness")
    return visit.show("steadiness.html", 200, lines=kept if isinstance(kept, list) else None)


def work_out_steadiness(visit: Visit) -> Response:
    """Look through all rounds for pairs that were marked twice."""
    found = [steadiness_words(one) for one in steadiness_of(repeats_in(visit.book))]
    visit.desk.keep("steadiness", [list(lines) for lines in found])
    return visit.go("/steadiness")
