"""Both views of one pair, side by side, once the pair is marked; and the trainee's questions, to be answered."""

from __future__ import annotations

from typing import TYPE_CHECKING

from evalkit.actions.answering import answers_from, keep_answers
from evalkit.book.drafts import state_of
from evalkit.errors import NotFoundError
from evalkit.reports.pair_rows import pair_row
from evalkit.reports.summary_rows import summary_row
from evalkit.web.benches import Bench, bench_of
from evalkit.web.marking_rows import cause_offers
from evalkit.web.photos import photo_address

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.web.visit import Visit


def show_both(visit: Visit) -> Response:
    """The comparison; closed until the pair is marked or the mentor says that she wants to read early."""
    bench = bench_of(visit)
    numbered = bench.numbered(visit.number)
    if not bench.may_read(visit.number):
        pair = bench.pairs.get(visit.number)
        is_touched = bool(pair and pair.readings)
        return visit.show("closed.html", 200, bench=bench, numbered=numbered, is_touched=is_touched)
    rows = visit.made(("both", bench.key, visit.number, bench.who), lambda: _rows(bench, visit.number), of=bench.key)
    return visit.show("both.html", 200, **rows)


def _rows(bench: Bench, number: int) -> dict[str, object]:
    """All that the comparison shows."""
    alone = bench.alone(number, with_assessment=True)
    result = alone.pairs[0]
    row = pair_row(result, alone, summary_row(result, bench.rubric), photo_address, with_causes=False)
    marked = bench.pairs.get(number)
    return {
        "bench": bench,
        "numbered": bench.numbered(number),
        "pair": row,
        "causes": cause_offers(result.causes) if result.is_graded else (),
        "tabs": bench.tabs(number),
        "state": state_of(marked),
        "is_assessed": result.assessed is not None,
        "would_have_gone_out": result.comparison.would_have_gone_out and result.is_graded,
        "has_answers": bool(row.questions) and not bench.is_closed and bench.is_back,
        "next_number": bench.next_number(number),
        "is_blind": bool(marked and not marked.was_opened),
    }


def save_answers(visit: Visit) -> Response:
    """Keep the answers to the trainee's questions. They come after both views were read, and judge nothing."""
    bench = bench_of(visit)
    bench.check_open()
    if not bench.may_read(visit.number) or not bench.is_sealed:
        raise NotFoundError(
            "the questions of this pair are not open yet.", mend="Mark the pair first.", where=f"round {bench.key}"
        )
    assessed = bench.assessed(visit.number)
    answers = answers_from(visit.fields(), len(assessed.questions) if assessed else 0)
    keep_answers(
        visit.book,
        bench.round,
        bench.pairs.get(visit.number),
        visit.number,
        answers,
        who=bench.who,
        based_on=visit.said("based_on"),
    )
    if visit.said("then") == "next" and (number := bench.next_number(visit.number)) is not None:
        return visit.go(f"/rounds/{bench.key}/pairs/{number}")
    return visit.go(f"/rounds/{bench.key}/pairs/{visit.number}/both", anchor="questions", saved="yes")
