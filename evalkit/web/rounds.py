"""Rounds: the list with where each box is, one round with what comes next, its journey, its end."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from evalkit.actions.marking import begin_amendment, check_all_marked
from evalkit.actions.rounds import move_box
from evalkit.domain.amounts import amount_words
from evalkit.domain.round import NEXT_LEGS, Leg, LegKind, RoundState, overdue_days
from evalkit.errors import InputError
from evalkit.files.field_words import made_of
from evalkit.reports.figures import day_words
from evalkit.web.benches import Bench, bench_of
from evalkit.web.box_files import BOX_FILES
from evalkit.web.desk import NO_MARK
from evalkit.web.questions import asked_on
from evalkit.web.second import n_second_open
from evalkit.web.visit import check_page

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.book.book import Book
    from evalkit.book.listing import RoundLine
    from evalkit.web.visit import Visit

MOST_OPEN = 200
PER_PAGE = 20
LEG_WORDS = {
    LegKind.SENT: "I have sent it",
    LegKind.RECEIVED: "It has arrived there",
    LegKind.RETURNED: "It was posted back",
    LegKind.RECEIVED_BACK: "It is back",
    LegKind.LOST: "It is lost",
}
APART = (LegKind.RECEIVED_BACK, LegKind.LOST)
"""Steps that do not stand among the ordinary ones: one is checked in, the other is hoped never to be needed."""
WAITING = ("Mark", "Go on marking", "Check in")
STEPS = (
    (RoundState.PLANNED, "planned"),
    (RoundState.ON_ITS_WAY, "on its way out"),
    (RoundState.WITH_TRAINEE, "with the trainee"),
    (RoundState.ON_ITS_WAY_BACK, "on its way back"),
    (RoundState.BACK, "back"),
)


@dataclass(frozen=True, slots=True)
class RoundRow:
    """One round in the list: what it is, where its box is, and what is to be done."""

    key: str
    trainee: str
    trainee_key: str
    pairs: str
    box: str
    since: str
    assessment: str
    marking: str
    next_act: str
    next_path: str
    step: int
    overdue: str = ""


def show_rounds(visit: Visit) -> Response:
    """Where each box is: what waits for the mentor first, then what is out, then what is done."""
    number = visit.page_number()
    limit = visit.desk.workbench.settings.overdue_days
    rows = visit.made(
        ("rounds", number, visit.today),
        lambda: _list_rows(visit.book, number, today=visit.today, limit_days=limit),
        of=NO_MARK,
    )
    said = "The plan is taken back; its pairs may go in another box." if _was_unplanned(visit) else ""
    return visit.show("rounds.html", 200, said=said, **rows)


def _was_unplanned(visit: Visit) -> bool:
    return visit.request.query_params.get("unplanned") == "yes"


def _list_rows(book: Book, number: int, *, today: date, limit_days: int) -> dict[str, object]:
    done = book.done_rounds(PER_PAGE + 1, (number - 1) * PER_PAGE)
    check_page(done, number)
    rows = [_open_row(line, today, limit_days) for line in book.open_rounds(MOST_OPEN)] if number == 1 else []
    return {
        "waiting": [row for row in rows if row.next_act in WAITING],
        "out": [row for row in rows if row.next_act not in WAITING],
        "done": [round_row(line) for line in done[:PER_PAGE]],
        "page_number": number,
        "has_more": len(done) > PER_PAGE,
    }


def _open_row(line: RoundLine, today: date, limit_days: int) -> RoundRow:
    days = overdue_days(line.state, line.since, today, limit_days)
    words = "" if days is None else f"overdue: {amount_words(days, 'day')}"
    return replace(round_row(line), overdue=words)


def round_row(line: RoundLine) -> RoundRow:
    """One line of the book in words."""
    act, path = _next_act(line)
    return RoundRow(
        key=line.key,
        trainee=line.trainee.name,
        trainee_key=line.trainee.key,
        pairs=amount_words(line.n_pairs, "pair"),
        box=line.state.value,
        since=day_words(line.since),
        assessment="assessment sealed" if line.is_sealed else "no assessment yet",
        marking="marked" if line.is_finished else "marking begun" if line.is_begun else "not marked",
        next_act=act,
        next_path=path,
        step=next((at for at, (state, _) in enumerate(STEPS) if state is line.state), -1),
    )


def _next_act(line: RoundLine) -> tuple[str, str]:
    here = f"/rounds/{line.key}"
    if line.is_finished:
        return "Report", f"{here}/report"
    match line.state:
        case RoundState.ON_ITS_WAY_BACK:
            return "Check in", f"{here}/check-in"
        case RoundState.BACK:
            return ("Go on marking" if line.is_begun else "Mark"), f"{here}/mark"
        case _:
            return "Open", here


def show_round(visit: Visit) -> Response:
    """One round: its pairs, its journey, what comes next."""
    bench = bench_of(visit)
    rows = visit.made(
        ("round", bench.key, bench.who), lambda: _round_rows(bench, n_second_open(visit, bench)), of=bench.key
    )
    return visit.show("round.html", 200, today=visit.today.isoformat(), **rows)


def _round_rows(bench: Bench, n_second: int) -> dict[str, object]:
    round_ = bench.round
    nexts, legs = NEXT_LEGS[round_.state], round_.legs
    return {
        "bench": bench,
        "n_second": n_second,
        "round": round_,
        "tabs": bench.tabs() if bench.is_back else (),
        "pairs": sorted(round_.pairs, key=lambda one: one.number),
        "legs": [(one.kind.capitalize(), day_words(one.happened_on), one.carrier_ref, one.condition) for one in legs],
        "planned": day_words(round_.planned_on),
        "steps": [words for _, words in STEPS],
        "step": next((at for at, (state, _) in enumerate(STEPS) if state is round_.state), -1),
        "next_legs": [(kind.value, LEG_WORDS[kind]) for kind in nexts if kind not in APART],
        "lost_legs": [(kind.value, LEG_WORDS[kind]) for kind in nexts if kind is LegKind.LOST],
        "asked": asked_on(bench),
        "box_files": BOX_FILES if LegKind.RETURNED not in {leg.kind for leg in round_.legs} else (),
        "may_correct": bench.is_back and not bench.standing.finished,
        "may_check_in": LegKind.RECEIVED_BACK in nexts,
        "first_day": (round_.legs[-1].happened_on if round_.legs else round_.planned_on).isoformat(),
        "is_sealed": bench.is_sealed,
        "untested": _untested(bench) if bench.is_back else (),
        "left": [number for number in round_.numbers if number not in bench.marked],
        "letter": bench.draft.letter if bench.draft else "",
        "not_blind": [number for number, pair in bench.pairs.items() if pair.was_opened],
    }


def _untested(bench: Bench) -> list[tuple[int, str]]:
    """(number, '3 readings') of every marked pair on which something was not looked at."""
    counts = {number: bench.n_untested(number) for number in bench.round.numbers if number in bench.marked}
    return [(number, amount_words(n, "reading")) for number, n in counts.items() if n]


def mark_round(visit: Visit) -> Response:
    """On to the first pair that still wants marking."""
    bench = bench_of(visit)
    bench.check_open()
    return visit.go(f"/rounds/{bench.key}/pairs/{bench.next_unmarked()}")


def move(visit: Visit) -> Response:
    """Write down the next step of the journey."""
    where = f"round {visit.key}"
    leg = made_of(
        Leg,
        {
            "kind": visit.said("kind"),
            "happened_on": day_of(visit.said("on"), visit.today, where),
            "carrier_ref": visit.said("ref"),
            "condition": visit.said("condition"),
        },
        where=where,
    )
    if leg.kind is LegKind.RECEIVED_BACK:
        raise InputError("a box that is back is checked in.", mend="Use the page for checking in.", where=where)
    round_ = move_box(visit.book, visit.key, leg, today=visit.today, who=visit.who)
    return visit.go(f"/rounds/{round_.key}")


def unplan(visit: Visit) -> Response:
    """Take the plan of a box that has not left back."""
    visit.book.remove_plan(visit.key, visit.who)
    return visit.go("/", unplanned="yes")


def day_of(text: str, today: date, where: str) -> date:
    """A day as a form sends it; today when it was left out. Raises InputError."""
    if not text.strip():
        return today
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise InputError(f"'{text[:40]}' is not a day.", mend="Write it like 2026-03-09.", where=where) from None


def finish(visit: Visit) -> Response:
    """The marking is finished; the report comes next, and with it the assessment is read."""
    bench = bench_of(visit)
    bench.check_open()
    check_all_marked(bench.round, bench.marked)
    visit.book.finish_marking(bench.key, bench.who, bench.who, visit.today, visit.said("letter"))
    if bench.is_sealed:
        visit.book.record_opening(bench.key, None, bench.who)
    return visit.go(f"/rounds/{bench.key}/report")


def amend(visit: Visit) -> Response:
    """Take a finished marking in hand again, with the reason."""
    version = begin_amendment(visit.book, visit.key, visit.who, visit.said("reason"))
    return visit.go(f"/rounds/{visit.key}", amending=str(version))


def put_away(visit: Visit) -> Response:
    """Put an amendment away; the finished marking stands, and the history keeps what was begun."""
    bench = bench_of(visit)
    if not bench.is_amended:
        raise InputError("there is no amendment to put away.", mend="Load the page again.", where=f"round {bench.key}")
    visit.book.discard_draft(bench.key, bench.who, bench.who)
    return visit.go(f"/rounds/{bench.key}")
