"""One pair on the bench: shown, saved as it goes, undone, and both versions where two hands met."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.actions.marking import check_touched
from evalkit.actions.undoing import undo_pair
from evalkit.book.drafts import state_of
from evalkit.domain.marking import MarkedPair
from evalkit.domain.triage import Decision
from evalkit.errors import ChangedError
from evalkit.web.benches import Bench, bench_of
from evalkit.web.fields import FieldFault
from evalkit.web.marking_rows import mark_row
from evalkit.web.marking_shapes import MarkRow
from evalkit.web.telling import read_pair, show_both_versions, tell_pair

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.web.visit import Visit


def show_pair(visit: Visit) -> Response:
    """The marking page of one pair."""
    bench = bench_of(visit)
    bench.numbered(visit.number)
    if not bench.is_back or bench.is_closed:
        return visit.go(f"/rounds/{bench.key}")
    rows = visit.made(("pair", bench.key, visit.number, bench.who), lambda: _rows(bench, visit.number), of=bench.key)
    return visit.show("pair.html", 200, **rows)


def _rows(bench: Bench, number: int, faults: tuple[FieldFault, ...] = ()) -> dict[str, object]:
    """All that the page of a pair shows."""
    marked = bench.pairs.get(number)
    return {
        "row": _row(bench, number, faults),
        "bench": bench,
        "numbered": bench.numbered(number),
        "tabs": bench.tabs(number),
        "state": state_of(marked),
        "photos": marked.photos if marked else (),
        "decisions": tuple(Decision),
        "next_number": bench.next_number(number),
        "previous_number": bench.previous_number(number),
        "arrival": bench.arrivals.get(number),
        "is_opened": bench.was_opened(number),
        "was_opened": bool(marked and marked.was_opened),
    }


def _row(bench: Bench, number: int, faults: tuple[FieldFault, ...] = ()) -> MarkRow:
    result = bench.alone(number).pairs[0]
    return mark_row(
        bench.pairs.get(number),
        result.returned,
        result.causes,
        lines=bench.lines(number),
        rubric=bench.rubric,
        faults=faults,
    )


def save_pair(visit: Visit) -> Response:
    """Keep the pair as the form says it. A reading that cannot be read is untested, and told."""
    bench = bench_of(visit)
    bench.check_open()
    before = bench.pairs.get(visit.number)
    read = read_pair(visit, bench, before)
    try:
        kept = _keep(visit, bench, read.pair, before)
    except ChangedError:
        if visit.wants_json:
            raise
        return _both_versions(visit)
    if visit.said("then") and not read.faults:
        return _then(visit, bench, kept)
    bench = bench_of(visit.afresh())
    if visit.wants_json:
        return _told(visit, bench, kept, read.faults)
    if read.faults:
        return visit.show("pair.html", 422, **_rows(bench, visit.number, read.faults))
    return visit.go(f"/rounds/{bench.key}/pairs/{visit.number}", anchor=visit.said("at"), saved="yes")


def _keep(visit: Visit, bench: Bench, pair: MarkedPair, before: MarkedPair | None) -> MarkedPair | None:
    """The pair as kept. A pair with nothing on it, of which nothing was kept, stays unwritten."""
    if before is None and pair.is_blank:
        return None
    keep = visit.book.take_back_mark if visit.said("how") == "undo" else visit.book.save_marked_pair
    return keep(bench.key, bench.who, pair, bench.round.rubric_digest, bench.who, based_on=visit.said("based_on"))


def _then(visit: Visit, bench: Bench, kept: MarkedPair | None) -> Response:
    """Where the mentor goes once it is kept."""
    here = f"/rounds/{bench.key}/pairs"
    match visit.said("then"):
        case "done":
            check_touched(kept, f"round {bench.key}, pair {visit.number}")
            return _open(visit, bench)
        case "next" if (number := bench.next_number(visit.number)) is not None:
            return visit.go(f"{here}/{number}")
        case "previous" if (number := bench.previous_number(visit.number)) is not None:
            return visit.go(f"{here}/{number}")
        case _:
            return visit.go(f"/rounds/{bench.key}")


def _open(visit: Visit, bench: Bench) -> Response:
    """Both views are seen from here on, and that is written down."""
    if bench.is_sealed:
        visit.book.record_opening(bench.key, visit.number, bench.who)
    return visit.go(f"/rounds/{bench.key}/pairs/{visit.number}/both")


def open_early(visit: Visit) -> Response:
    """The mentor asks to read the assessment before she has marked: she may, and it is recorded."""
    bench = bench_of(visit)
    bench.numbered(visit.number)
    if visit.said("sure") != "yes":
        return visit.go(f"/rounds/{bench.key}/pairs/{visit.number}/both")
    return _open(visit, bench)


def undo(visit: Visit) -> Response:
    """One step back on this pair; what was taken back is not brought forward again."""
    bench = bench_of(visit)
    bench.check_open()
    bench.numbered(visit.number)
    kept = undo_pair(visit.book, bench.round, visit.number, bench.who, based_on=visit.said("based_on"))
    if visit.wants_json:
        return _told(visit, bench_of(visit.afresh()), kept)
    return visit.go(f"/rounds/{bench.key}/pairs/{visit.number}", undone="yes")


def _told(visit: Visit, bench: Bench, kept: MarkedPair | None, faults: tuple[FieldFault, ...] = ()) -> Response:
    tab = next(tab.shape for tab in bench.tabs(visit.number) if tab.is_here)
    row = _row(bench, visit.number, faults)
    return tell_pair(visit, row, kept, bench.lines(visit.number), tab=tab, faults=faults)


def _both_versions(visit: Visit) -> Response:
    bench = bench_of(visit.afresh())
    kept = bench.pairs.get(visit.number)
    path = f"/rounds/{bench.key}/pairs/{visit.number}"
    return show_both_versions(visit, bench, visit.number, kept, read_pair(visit, bench, kept), path=path)
