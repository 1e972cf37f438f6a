"""Every trainee on one page: where each stands, and who needs a box next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from typing import assert_never

from evalkit.domain.round import RoundState
from evalkit.progress.deciding import Answer, Lack
from evalkit.progress.history import History
from evalkit.progress.lining_up import Aside
from evalkit.progress.moves import Move


class Box(StrEnum):
    """What is under way for a trainee."""

    NEEDED = "needs a box"
    PLANNED = "planned, not posted"
    OUT = "on its way out"
    WITH_TRAINEE = "with the trainee"
    RETURNING = "on its way back"
    TO_MARK = "back, to be marked"
    SIGNED_OFF = "signed off"


@dataclass(frozen=True, slots=True)
class TraineeStanding:
    """One trainee. `waits_days` since the last box came back, None before the first."""

    history: History
    box: Box
    round_key: str | None
    waits_days: int | None
    overdue: tuple[tuple[str, int], ...] = ()
    """(key of the round, days since its last step) of boxes of which nothing was heard for too long."""

    @property
    def has_alarm(self) -> bool:
        return any(watch.signal.at is not None for watch in self.history.watches)

    @property
    def has_fallen(self) -> bool:
        """Skill fell in the latest round."""
        steps = self.history.modelled.steps if self.history.modelled else ()
        return bool(steps) and steps[-1].move is Move.DOWN

    @property
    def lacks(self) -> tuple[Lack, ...]:
        return tuple(dict.fromkeys(need.lack for need in self.history.readiness.needs))


@dataclass(frozen=True, slots=True)
class School:
    """All trainees in the order of their names, and those who need a box, most pressing first."""

    on: date
    trainees: tuple[TraineeStanding, ...]
    next_boxes: tuple[TraineeStanding, ...]
    to_mark: tuple[TraineeStanding, ...]


def school_of(histories: Sequence[History], *, on: date, overdue_after: int | None = None) -> School:
    """Who stands where on that day. A trainee signed off whose alarm is silent needs no box.

    A box is overdue more than `overdue_after` days after its last step; with None no box is.
    """
    standings = sorted(
        (_with_overdue(_standing(history, on), on, overdue_after) for history in histories),
        key=lambda one: one.history.trainee.name,
    )
    needing = [one for one in standings if one.box is Box.NEEDED]
    return School(
        on=on,
        trainees=tuple(standings),
        next_boxes=tuple(sorted(needing, key=_press)),
        to_mark=tuple(one for one in standings if one.box is Box.TO_MARK),
    )


def _standing(history: History, on: date) -> TraineeStanding:
    pending = [one.result.round for one in history.line.set_aside if one.why is Aside.NOT_MARKED]
    last = max((round_.on for round_ in history.line.rounds), default=None)
    waits = None if last is None else (on - last).days
    if pending:
        newest = max(pending, key=lambda round_: round_.planned_on)
        return TraineeStanding(history, _box_of(newest.state), newest.key, waits)
    is_done = any(one.stands for one in history.sign_offs) and not any(
        watch.signal.at is not None for watch in history.watches
    )
    return TraineeStanding(history, Box.SIGNED_OFF if is_done else Box.NEEDED, None, waits)


def _with_overdue(one: TraineeStanding, on: date, after: int | None) -> TraineeStanding:
    if after is None:
        return one
    pending = [aside.result.round for aside in one.history.line.set_aside if aside.why is Aside.NOT_MARKED]
    found = {round_.key: days for round_ in pending if (days := round_.days_overdue(on, after)) is not None}
    return replace(one, overdue=tuple(sorted(found.items())))


def _box_of(state: RoundState) -> Box:
    match state:
        case RoundState.PLANNED:
            return Box.PLANNED
        case RoundState.ON_ITS_WAY:
            return Box.OUT
        case RoundState.WITH_TRAINEE:
            return Box.WITH_TRAINEE
        case RoundState.ON_ITS_WAY_BACK:
            return Box.RETURNING
        case RoundState.BACK:
            return Box.TO_MARK
        case RoundState.LOST:
            return Box.NEEDED
        case _:
            assert_never(state)


def _press(one: TraineeStanding) -> tuple[int, int, str]:
    """Alarm first, then a fall, then a trainee one box from an answer, then the others; the longest wait in front."""
    rank = 3
    if one.has_alarm:
        rank = 0
    elif one.has_fallen:
        rank = 1
    elif one.history.readiness.answer is Answer.UNDECIDED:
        rank = 2
    return rank, -(one.waits_days if one.waits_days is not None else 10_000), one.history.trainee.name
