"""The next box of a trainee: proposed with its reasons, changed by hand, and planned once the mentor says so."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from evalkit.actions.choosing import propose_round, rubric_of_last_round
from evalkit.actions.rounds import plan_round
from evalkit.errors import ChangedError, EvalkitError, InputError, NotFoundError
from evalkit.progress.box_candidates import LeftOut, Wish
from evalkit.reports.box_words import DIFFICULTIES, basis_words, box_lines, why_all
from evalkit.web.visit import sentence

if TYPE_CHECKING:
    from starlette.responses import Response

    from evalkit.domain.pair import Pair
    from evalkit.progress.box_answer import Proposal
    from evalkit.web.visit import Visit

MOST_PAIRS = 60
MAX_TAGS = 200
MAX_CHANGES = 120


@dataclass(frozen=True, slots=True)
class Asked:
    """What the mentor asked of the box, as the form carries it from one proposal to the next."""

    rubric: str
    n: int = 12
    put_in: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    swaps: tuple[tuple[str, str], ...] = ()

    @property
    def wish(self) -> Wish:
        return Wish(n_pairs=self.n, with_tags=self.put_in, without_tags=self.left_out, swaps=self.swaps)


@dataclass(frozen=True, slots=True)
class ProposedRow:
    """One pair of the proposed box."""

    number: int
    tag: str
    pair: str
    difficulty: str
    why: str


@dataclass(frozen=True, slots=True)
class Proposed:
    """A proposal, kept while the mentor looks at it. `spare` are tags that could come instead, with their words."""

    asked: Asked
    tags: tuple[str, ...]
    rows: tuple[ProposedRow, ...]
    words: tuple[str, ...]
    spare: tuple[tuple[str, str], ...]
    at_act: int


@dataclass(frozen=True, slots=True)
class Fault:
    """Why there is no such box, in the words of a page."""

    what: str
    mend: str
    asked: Asked = field(default_factory=lambda: Asked(""))


def show_next_box(visit: Visit) -> Response:
    """The form, and the last proposal if there is one."""
    return _page(visit, _find(visit))


def _page(visit: Visit, found: Proposed | None, fault: Fault | None = None, status: int = 200) -> Response:
    person = visit.book.get_person("trainee", visit.key)
    asked = fault.asked if fault else found.asked if found else Asked(_last_rubric(visit))
    return visit.show(
        "next_box.html",
        status,
        person=person,
        found=found,
        fault=fault,
        asked=asked,
        rubrics=visit.desk.rubric_names,
        is_stale=found is not None and found.at_act != visit.act,
    )


def propose(visit: Visit) -> Response:
    """Choose the box anew, with what was struck or swapped."""
    visit.book.get_person("trainee", visit.key)
    asked = _asked(visit)
    at_act = visit.act  # before the long choice: what changes meanwhile makes it stale
    try:
        rubric = visit.desk.workbench.find_rubric(_shipped(visit, asked.rubric))
        found = propose_round(visit.book, visit.key, rubric=rubric, wish=asked.wish, today=visit.today)
    except (InputError, NotFoundError) as error:
        return _page(visit, _find(visit), Fault(sentence(error.what), _mend(error), asked), 422)
    visit.desk.keep(_name(visit), _proposed(asked, found, visit.book.list_pairs(), at_act))
    return visit.go(f"/trainees/{visit.key}/next-box")


def plan(visit: Visit) -> Response:
    """Plan the round as it is proposed."""
    found = _find(visit)
    if found is None or found.at_act != visit.act or tuple(visit.said("tags").split(",")) != found.tags:
        raise ChangedError(
            "the book has changed since this box was proposed, or another was.",
            mend="Nothing was planned. Have it proposed again, and look at it.",
            where=f"trainee {visit.key}",
        )
    round_ = plan_round(
        visit.book,
        trainee=visit.book.get_person("trainee", visit.key),
        mentor=visit.mentor,
        rubric=visit.desk.workbench.find_rubric(found.asked.rubric),
        tags=found.tags,
        planned_on=visit.today,
    )
    return visit.go(f"/rounds/{round_.key}", planned="yes")


def _name(visit: Visit) -> tuple[str, str, str]:
    return ("next box", visit.key, visit.who)


def _find(visit: Visit) -> Proposed | None:
    kept = visit.desk.find_kept(_name(visit))
    return kept if isinstance(kept, Proposed) else None


def _last_rubric(visit: Visit) -> str:
    try:
        return rubric_of_last_round(visit.book, visit.key)
    except InputError:
        return ""


def _shipped(visit: Visit, key: str) -> str:
    """Only a rubric that the list offers: a field of a form never names a file."""
    if key not in {one for one, _ in visit.desk.rubric_names}:
        raise InputError("no rubric is chosen.", mend="Choose one of the list.")
    return key


def _asked(visit: Visit) -> Asked:
    """The wish as the form says it, the changes of this time taken in."""
    count = visit.n_pairs_said(MOST_PAIRS, where=f"trainee {visit.key}")
    swaps = tuple(_pair(text) for text in visit.all_said("swap")[:MAX_CHANGES])
    left_out = _tags(visit.said("left_out"))
    for tag in visit.all_said("strike")[:MAX_CHANGES]:
        swaps, left_out = _struck(tag, visit.said(f"instead.{tag}").strip(), swaps, left_out)
    put_in = tuple(tag for tag in _tags(visit.said("put_in")) if tag not in left_out)
    return Asked(visit.said("rubric")[:40], count, put_in, left_out, swaps)


Swaps = tuple[tuple[str, str], ...]


def _struck(tag: str, instead: str, swaps: Swaps, left_out: tuple[str, ...]) -> tuple[Swaps, tuple[str, ...]]:
    """One pair less, or another in its place. A pair that came in by a swap takes its swap along."""
    before = next((old for old, new in swaps if new == tag), None)
    swaps = tuple(swap for swap in swaps if swap[1] != tag)
    if instead:
        return (*swaps, (before or tag, instead)), left_out
    gone = (tag,) if before is None else (before, tag)
    return swaps, tuple(dict.fromkeys((*left_out, *gone)))


def _pair(text: str) -> tuple[str, str]:
    old, _, new = text.partition("=")
    return old.strip()[:40], new.strip()[:40]


def _tags(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for word in text.replace(",", " ").split()[:MAX_TAGS]))


def _proposed(asked: Asked, found: Proposal, stock: list[Pair], at_act: int) -> Proposed:
    why = why_all(found)
    rows = tuple(
        ProposedRow(number, one.pair.tag, one.pair.words, DIFFICULTIES[one.pair.difficulty], why[number - 1])
        for number, one in enumerate(found.chosen, 1)
    )
    may_by_hand = (LeftOut.HAD, LeftOut.NOT_ASKED)
    held = {tag for why_not, tags in found.left_out.items() if why_not not in may_by_hand for tag in tags}
    spare = tuple((pair.tag, pair.words) for pair in stock if pair.tag not in held and pair.tag not in found.tags)
    return Proposed(asked, found.tags, rows, (*basis_words(found), *box_lines(found)), spare, at_act)


def _mend(error: EvalkitError) -> str:
    """The error's own mend, unless it speaks to somebody at a terminal."""
    if "--" in error.mend or "evalkit " in error.mend:
        return "Ask for fewer pairs, leave fewer out, or have boxes checked in and marked first."
    return error.mend
