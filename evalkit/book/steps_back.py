"""One step back on a pair: how it stood, change by change, read from the history; what was taken back is not redone."""

from __future__ import annotations

import json

from sqlalchemy import Connection, select

from evalkit.book.canonical import Plain
from evalkit.book.markings import blinded
from evalkit.book.schema import acts
from evalkit.domain.marking import MarkedPair

MARKS = "mark pair"
MARKS_AGAIN = "mark pair a second time"
TAKES_BACK = "take back a mark"
ON_THE_BENCH = (MARKS, MARKS_AGAIN, TAKES_BACK)
"""The acts that change a pair on the bench. What any other act wrote, a check-in or its correction, is no step."""


def find_step_before(connection: Connection, subject: str, fact: str, now: MarkedPair) -> MarkedPair | None:
    """The pair as it stood one step back; None where nothing is left to take back. One query.

    `fact` is the name under which the history tells of it, `now` how it stands. Steps that were taken back count no
    more, so a second step back goes further and does not undo the first.
    """
    named = acts.c.after.contains(f'"{fact}":', autoescape=True)
    wanted = select(acts.c.act, acts.c.before, acts.c.after).where(acts.c.subject == subject, named)
    told = [
        (act, json.loads(before).get(fact), json.loads(after)[fact] is None)
        for act, before, after in connection.execute(wanted.order_by(acts.c.seq))
    ]
    steps: list[MarkedPair] = []
    for at, (act, before, is_gone) in enumerate(told):
        if is_gone:
            steps.clear()
            continue
        stood = told[at + 1][1] if at + 1 < len(told) else None
        if act not in ON_THE_BENCH:
            steps.clear()
        elif not steps:
            steps.append(MarkedPair(number=now.number) if before is None else _read(before))
        _step(steps, now if stood is None else _read(stood), is_back=act == TAKES_BACK)
    return steps[-2] if len(steps) > 1 else None


def _step(steps: list[MarkedPair], pair: MarkedPair, *, is_back: bool) -> None:
    """One change more. A step back ends at a step that stood, or stands instead of the last one."""
    words = [blinded(one) for one in steps]
    if is_back and blinded(pair) in words:
        del steps[len(words) - words[::-1].index(blinded(pair)) :]
    elif is_back and len(steps) > 1:
        steps[-1] = pair
    elif not steps or words[-1] != blinded(pair):
        steps.append(pair)


_KINDS = {"level": "level", "number": "measure", "medium": "cut", "why": "not seen"}
"""What a thing seen is, by the one field that only it has: the history leaves out what stands at its default."""


def _read(pair: Plain) -> MarkedPair:
    readings = pair.get("readings", [])
    if not isinstance(readings, list):
        raise ValueError("readings that are no list")  # noqa: TRY004 - told as a row that is not what was stored
    for reading in readings:
        reading["seen"]["kind"] = next(kind for name, kind in _KINDS.items() if name in reading["seen"])
    return MarkedPair.model_validate(pair)
