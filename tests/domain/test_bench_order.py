"""The order of the bench: what is cleaned, set, looked at, and cut with, in that order whatever the rubric's."""

from __future__ import annotations

from evalkit.domain.bench_order import BenchStep, in_bench_order, step_of
from evalkit.domain.criterion import Criterion, Kind
from evalkit.domain.measures import Unit
from evalkit.domain.pair import EdgeType
from tests.reports.values import RUBRIC

LEVELS = ("0", "1", "2", "3")


def on(key: str, **more: object):
    return Criterion.model_validate({"key": key, "name": key, "levels": LEVELS, "weight": 1, **more}).on(
        EdgeType.CONVEX
    )


def test_a_known_key_has_its_step():
    assert [step_of(on(key)) for key in ("finish", "tension", "play", "slide-cut")] == [
        BenchStep.CLEAN, BenchStep.TENSION, BenchStep.TENSION, BenchStep.CUT,
    ]  # fmt: skip


def test_an_unknown_key_goes_by_how_it_is_read():
    drop = on("drop", kind="measured", unit=Unit.DEG_OPEN, bands=[{"level": 3, "from": 20, "to": 45}])
    cut = on("foil", kind=Kind.CUT, media=["thread"], cuts=dict.fromkeys(
        ("clean", "catch", "fold", "push", "tear", "not cut"), 1))  # fmt: skip
    assert (step_of(drop), step_of(cut), step_of(on("anything"))) == (
        BenchStep.TENSION, BenchStep.CUT, BenchStep.LOOK,
    )  # fmt: skip


def test_within_a_step_the_rubric_decides_and_nothing_is_lost():
    lines = RUBRIC.on(EdgeType.CONVEX)
    ordered = in_bench_order(lines)
    assert sorted(one.key for one in ordered) == sorted(one.key for one in lines)
    looks = [one.key for one in ordered if step_of(one) is BenchStep.LOOK]
    assert looks == [one.key for one in lines if one.key in looks]
    steps = [list(BenchStep).index(step_of(one)) for one in ordered]
    assert steps == sorted(steps)


def test_the_slide_cut_which_only_advises_comes_last():
    lines = [on("slide-cut"), on("hair", kind=Kind.CUT, media=["hair"], cuts=dict.fromkeys(
        ("clean", "catch", "fold", "push", "tear", "not cut"), 1))]  # fmt: skip
    assert [one.key for one in in_bench_order(lines)] == ["hair", "slide-cut"]
