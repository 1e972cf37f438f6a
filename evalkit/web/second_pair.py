"""One pair on the bench a second time: kept as it goes, blind to the first, finished when the mentor says so."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.actions.marking import answer_alone
from evalkit.actions.second_looking import check_marked_once, finish_second, kept_numbers, take_back_second
from evalkit.book.drafts import state_of
from evalkit.domain.marking import MarkedPair
from evalkit.errors import ChangedError
from evalkit.web.benches import Bench, bench_of
from evalkit.web.fields import FieldFault
from evalkit.web.marking_rows import mark_row
from evalkit.web.marking_shapes import MarkRow
from evalkit.web.second import n_left
from evalkit.web.telling import read_pair, show_both_versions, tell_pair

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.web.visit import Visit

Drafts = dict[int, MarkedPair]


def show_second_pair(visit: Visit) -> Response:
    """The pair to mark a second time, as far as it is. Nothing of the first marking is on the page."""
    bench = bench_of(visit)
    check_marked_once(visit.book, bench.round, [visit.number])
    drafts = _drafts(visit, bench)
    if visit.request.query_params.get("finish") == "ask" and _n_untested(bench, drafts.get(visit.number)):
        return _ask(visit, bench, drafts)
    return _page(visit, bench, drafts)


def save_second_pair(visit: Visit) -> Response:
    """Keep the pair as the form says it; with `then` 'finish' it is kept for good. No report and no verdict changes.

    What is untested is asked about once more before it is kept for good.
    """
    bench = bench_of(visit)
    check_marked_once(visit.book, bench.round, [visit.number])
    before = _drafts(visit, bench).get(visit.number)
    read = read_pair(visit, bench, before)
    try:
        kept = _keep(visit, bench, read.pair, before)
        if visit.said("then") == "finish" and not read.faults:
            if _wants_asking(visit, bench, kept):
                return visit.go(_here(bench, visit.number), finish="ask")
            finish_second(visit.book, bench.round, kept, visit.number, who=bench.who, on=visit.today)
            return visit.go(_list(bench), kept=visit.number)
    except ChangedError:
        if visit.wants_json:
            raise
        return _both_versions(visit, bench)
    if read.faults and not visit.wants_json:
        return _page(visit, bench, _drafts(visit, bench), read.faults, 422)
    if visit.wants_json:
        return _told(visit, bench, kept, read.faults)
    return _then(visit, bench)


def undo_second(visit: Visit) -> Response:
    """One step back on this pair."""
    bench = bench_of(visit)
    bench.numbered(visit.number)
    kept = take_back_second(visit.book, bench.round, visit.number, bench.who, based_on=visit.said("based_on"))
    if visit.wants_json:
        return _told(visit, bench, kept)
    return visit.go(_here(bench, visit.number), undone="yes")


def put_second_away(visit: Visit) -> Response:
    """The pair is not marked a second time after all; the history keeps what was begun."""
    bench = bench_of(visit)
    bench.numbered(visit.number)
    visit.book.drop_second_pair(bench.key, bench.who, visit.number, bench.who)
    return visit.go(_list(bench))


def _list(bench: Bench) -> str:
    return f"/rounds/{bench.key}/second"


def _here(bench: Bench, number: int) -> str:
    return f"{_list(bench)}/pairs/{number}"


def _drafts(visit: Visit, bench: Bench) -> Drafts:
    return visit.book.list_second_drafts(bench.key, bench.who)


def _keep(visit: Visit, bench: Bench, pair: MarkedPair, before: MarkedPair | None) -> MarkedPair | None:
    """The draft as kept. A pair with nothing on it that was not drawn stays unwritten."""
    if before is None and pair.is_blank:
        return None
    return visit.book.save_second_pair(
        bench.key,
        bench.who,
        pair,
        bench.round.rubric_digest,
        bench.who,
        based_on=visit.said("based_on"),
        is_step_back=visit.said("how") == "undo",
    )


def _then(visit: Visit, bench: Bench) -> Response:
    match visit.said("then"):
        case "list":
            return visit.go(_list(bench))
        case number if number.isascii() and number.isdecimal() and int(number) in _drafts(visit, bench):
            return visit.go(_here(bench, int(number)))
        case _:
            return visit.go(_here(bench, visit.number), anchor=visit.said("at"), saved="yes")


def _row(bench: Bench, number: int, marked: MarkedPair | None, faults: tuple[FieldFault, ...] = ()) -> MarkRow:
    """Without likely causes: they would be a second pair of eyes."""
    alone = answer_alone(bench.round, bench.rubric, number, assessment=None, marked=marked, who=bench.who)
    return mark_row(marked, alone.pairs[0].returned, (), lines=bench.lines(number), rubric=bench.rubric, faults=faults)


def _n_untested(bench: Bench, marked: MarkedPair | None) -> int:
    """Readings left to be made; 0 while nothing was read, which is refused anyhow."""
    return n_left(bench, marked) if marked and marked.readings else 0


def _wants_asking(visit: Visit, bench: Bench, kept: MarkedPair | None) -> bool:
    """Whether finishing is asked about: with something untested, and again where another hand changed it meanwhile."""
    if visit.said("sure") == "yes":
        return visit.said("based_on") != state_of(kept)
    return bool(_n_untested(bench, kept))


def _ask(visit: Visit, bench: Bench, drafts: Drafts) -> Response:
    """Whether the pair is finished with readings that nobody made."""
    marked = drafts[visit.number]
    return visit.show(
        "second_finish.html",
        200,
        row=_row(bench, visit.number, marked),
        bench=bench,
        numbered=bench.numbered(visit.number),
        state=state_of(marked),
    )


def _page(
    visit: Visit, bench: Bench, drafts: Drafts, faults: tuple[FieldFault, ...] = (), status: int = 200
) -> Response:
    marked = drafts.get(visit.number)
    others = [number for number in drafts if number != visit.number]
    return visit.show(
        "second_pair.html",
        status,
        row=_row(bench, visit.number, marked, faults),
        bench=bench,
        numbered=bench.numbered(visit.number),
        state=state_of(marked),
        is_drawn=marked is not None,
        is_begun=marked is not None and not marked.is_blank,
        is_kept=visit.number in kept_numbers(visit.book, bench.key, bench.who),
        next_number=next((number for number in others if number > visit.number), None),
        previous_number=next((number for number in reversed(others) if number < visit.number), None),
        arrival=bench.arrivals.get(visit.number),
    )


def _told(visit: Visit, bench: Bench, kept: MarkedPair | None, faults: tuple[FieldFault, ...] = ()) -> Response:
    row = _row(bench, visit.number, kept, faults)
    tab = "begun" if row.n_untested else "tested"
    return tell_pair(visit, row, kept, bench.lines(visit.number), tab=tab, faults=faults)


def _both_versions(visit: Visit, bench: Bench) -> Response:
    kept = _drafts(visit, bench).get(visit.number)
    mine = read_pair(visit, bench, kept)
    return show_both_versions(visit, bench, visit.number, kept, mine, path=_here(bench, visit.number))
