"""The life of a pair from its work logs: counted by hand here, and what nobody wrote is not nought."""

from __future__ import annotations

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.assessment import AssessedPair, WorkLog, WorkStep
from evalkit.domain.life import Size, Stay, life_of
from evalkit.domain.pair import Station
from evalkit.domain.triage import Decision
from tests.book.values import round_of, works

H, M, T = Station.HEEL, Station.MIDDLE, Station.TIP


def stay(month: int, assessed: AssessedPair | None) -> Stay:
    round_ = round_of(f"nia-{month}").model_copy(update={"planned_on": date(2026, month, 1)})
    return Stay(round_, 1, assessed)


FIRST = AssessedPair(
    number=1,
    decision=Decision.SHARPEN,
    work=WorkLog(minutes=40, parts=("washer",), width_before_mm={H: 8.0, T: 4.0}, width_after_mm={H: 7.9}),
)
SECOND = AssessedPair(number=1, decision=Decision.LEAVE, reason="tip broken", work=WorkLog(minutes=5))
THIRD = AssessedPair(
    number=1,
    work=WorkLog(
        steps=(WorkStep(what="flatten"),), parts=("bumper", "screw"), width_before_mm={H: 7.8}, width_after_mm={H: 7.5},
        length_before_mm=64.0, length_after_mm=63.5,
    ),
)  # fmt: skip


def test_it_is_told_oldest_first_whatever_order_it_comes_in():
    life = life_of([stay(5, THIRD), stay(1, FIRST), stay(4, None), stay(3, SECOND)])
    assert [one.round.key for one in life.stays] == ["nia-1", "nia-3", "nia-4", "nia-5"]
    assert (life.n_ground, life.n_unsaid) == (1, 1)
    assert (life.minutes, life.n_timed) == (45, 2)
    assert life.parts == (("nia-1", "washer"), ("nia-5", "bumper"), ("nia-5", "screw"))
    assert life.widths == {H: Size(8.0, 7.5, 4), T: Size(4.0, 4.0, 1)}
    assert life.widths[H].used == 0.5
    assert life.widths[T].used is None, "measured once: how much went nobody knows"
    assert life.length == Size(64.0, 63.5, 2)


def test_what_nobody_wrote_is_not_known():
    life = life_of([stay(1, None), stay(2, AssessedPair(number=1))])
    assert (life.n_ground, life.n_unsaid, life.n_timed) == (0, 0, 0)
    assert (life.widths, life.length, life.parts) == ({}, None, ())
    assert life_of([]).stays == ()


@given(st.lists(works(), max_size=4))
def test_metal_used_is_never_less_than_nothing(logs: list[WorkLog]):
    life = life_of([stay(month, AssessedPair(number=1, work=log)) for month, log in enumerate(logs, start=1)])
    every = {at: [mm for log in logs for log_widths in (log.width_before_mm, log.width_after_mm)
                  if (mm := log_widths.get(at)) is not None] for at in Station}  # fmt: skip
    assert {at: size.n for at, size in life.widths.items()} == {at: len(mm) for at, mm in every.items() if mm}
    assert all(size.used is None or size.used >= 0 for size in life.widths.values())
    assert life.minutes == sum(log.minutes or 0 for log in logs)
