"""A second look: some pairs marked once more, blind to the first marking, to see how steady the marking is.

A second marking is kept whole, pair by pair, when the mentor says so; until then it stays in her browser.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.actions.answers import get_result
from evalkit.actions.marking import answer_alone, check_touched
from evalkit.actions.progressing import repeats_in, take_in_second_marking
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.errors import InputError, NotFoundError
from evalkit.progress.steadiness import pick_for_second_marking, steadiness_of
from evalkit.reports.steadiness_words import steadiness_words
from evalkit.web.benches import Bench, bench_of
from evalkit.web.fields import FieldFault, read_form
from evalkit.web.marking_rows import mark_row

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.web.visit import Visit

MOST_PICKED = 60


def show_second(visit: Visit) -> Response:
    """Which pairs to mark a second time, and which were."""
    bench = bench_of(visit)
    done = _done(visit)
    return visit.show(
        "second.html",
        200,
        bench=bench,
        is_marked=bool(bench.finished_version),
        picked=[bench.numbered(number) for number in _picked(visit, bench)],
        of=visit.request.query_params.get("of", "")[:300],
        done=sorted(done),
    )


def pick(visit: Visit) -> Response:
    """Draw pairs over all levels; what they got the first time is not shown."""
    n = visit.said("n")
    count = int(n) if n.isascii() and n.isdecimal() and len(n) < 3 else 0
    if not 1 <= count <= MOST_PICKED:
        raise InputError("that is no number of pairs.", mend=f"Give 1 to {MOST_PICKED}.", where=f"round {visit.key}")
    done = {(visit.key, number) for number in _done(visit)}
    seed = visit.act
    picks = pick_for_second_marking([get_result(visit.book, visit.key)], n=count, seed=seed, done=done)
    return visit.go(f"/rounds/{visit.key}/second", of="-".join(str(one.number) for one in picks))


def _done(visit: Visit) -> set[int]:
    who = visit.who
    return {
        pair.number for one in visit.book.list_second_markings(visit.key) if one.mentor_key == who for pair in one.pairs
    }


def _picked(visit: Visit, bench: Bench) -> list[int]:
    """The numbers in the address, as far as the box holds them."""
    words = visit.request.query_params.get("of", "")[:300].split("-")
    numbers = {int(word) for word in words if word.isascii() and word.isdecimal() and len(word) < 4}
    return sorted(numbers & set(bench.round.numbers))


def show_second_pair(visit: Visit) -> Response:
    """One pair to mark a second time. Nothing of the first marking is on the page."""
    bench = bench_of(visit)
    _check_may(visit, bench)
    return _page(visit, bench, None)


def _check_may(visit: Visit, bench: Bench) -> None:
    bench.numbered(visit.number)
    if not bench.finished_version:
        raise NotFoundError(
            "this round was not marked a first time.", mend="Mark it first.", where=f"round {bench.key}"
        )


def _page(
    visit: Visit, bench: Bench, marked: MarkedPair | None, faults: tuple[FieldFault, ...] = (), status: int = 200
) -> Response:
    alone = answer_alone(bench.round, bench.rubric, visit.number, assessment=None, marked=marked, who=bench.who)
    row = mark_row(
        marked, alone.pairs[0].returned, (), lines=bench.lines(visit.number), rubric=bench.rubric, faults=faults
    )
    return visit.show(
        "second_pair.html",
        status,
        row=row,
        bench=bench,
        numbered=bench.numbered(visit.number),
        of=visit.request.query_params.get("of", "")[:300],
    )


def keep_second_pair(visit: Visit) -> Response:
    """Keep the second marking of this pair beside the first; no report and no verdict changes."""
    bench = bench_of(visit)
    _check_may(visit, bench)
    read = read_form(
        visit.fields(),
        visit.all_said("transit"),
        numbered=bench.numbered(visit.number),
        rubric=bench.rubric,
        lines=bench.lines(visit.number),
        before=None,
    )
    if read.faults or not read.pair.readings:
        if not read.faults:
            check_touched(read.pair, f"round {bench.key}, pair {visit.number}")
        return _page(visit, bench, read.pair, read.faults, status=422)
    marking = Marking(
        round_key=bench.key,
        mentor_key=bench.who,
        rubric_digest=bench.round.rubric_digest,
        marked_on=visit.today,
        pairs=(read.pair,),
    )
    take_in_second_marking(visit.book, marking, who=bench.who)
    of = visit.request.query_params.get("of", "")[:300]
    return visit.go(f"/rounds/{bench.key}/second", of=of, kept=str(visit.number))


def show_steadiness(visit: Visit) -> Response:
    """How often two markings of one pair agree, as far as it was worked out."""
    kept = visit.desk.find_kept("steadiness")
    return visit.show("steadiness.html", 200, lines=kept if isinstance(kept, list) else None)


def work_out_steadiness(visit: Visit) -> Response:
    """Look through all rounds for pairs that were marked twice."""
    found = [steadiness_words(one) for one in steadiness_of(repeats_in(visit.book))]
    visit.desk.keep("steadiness", [list(lines) for lines in found])
    return visit.go("/steadiness")
