"""Which criteria a verdict hangs on, against trying everything."""

from __future__ import annotations

from itertools import product

from hypothesis import event, given, settings
from hypothesis import strategies as st

from evalkit.domain.settling import Rung, hangs_on


def accepts(rungs, levels, threshold):
    kept = all(level >= rung.need for rung, level in zip(rungs, levels, strict=True))
    return kept and sum(rung.weight * level for rung, level in zip(rungs, levels, strict=True)) >= threshold


def hangs_by_trying(rungs, threshold):
    """A criterion matters when changing its level alone, somewhere, turns acceptance round."""
    found = []
    for at, rung in enumerate(rungs):
        found.append(
            any(
                accepts(rungs, (*levels[:at], one, *levels[at + 1 :]), threshold) != accepts(rungs, levels, threshold)
                for levels in product(*(other.reachable for other in rungs))
                for one in rung.reachable
            )
        )
    return tuple(found)


@st.composite
def drawn_rungs(draw):
    reachable = st.sets(st.integers(0, 3), min_size=1, max_size=4).map(lambda levels: tuple(sorted(levels)))
    need = st.sampled_from((1, 1, 1, 2, 3))
    return draw(st.lists(st.builds(Rung, st.integers(1, 6), need, reachable), min_size=1, max_size=4))


@settings(max_examples=200)
@given(drawn_rungs(), st.floats(0, 1))
def test_what_hangs_is_what_changes_acceptance_somewhere(rungs, share):
    threshold = round(share * sum(3 * rung.weight for rung in rungs))
    found = hangs_on(rungs, threshold)
    event(f"{sum(found)} of {len(rungs)} hang")
    assert found == hangs_by_trying(rungs, threshold)


@settings(max_examples=100)
@given(drawn_rungs(), st.integers(0, 40), st.randoms(use_true_random=False))
def test_the_order_of_criteria_does_not_matter(rungs, threshold, dice):
    order = list(range(len(rungs)))
    dice.shuffle(order)
    shuffled = hangs_on([rungs[at] for at in order], threshold)
    assert shuffled == tuple(hangs_on(rungs, threshold)[at] for at in order)


def test_two_of_the_very_same_criterion_are_still_two():
    """Weight 1, 0 to 3 each, threshold 6: both must reach 3, so it hangs on both; at 7 no level is enough."""
    rung = Rung(1, 1, (0, 1, 2, 3))
    assert hangs_on([rung, rung], 6) == (True, True)
    assert hangs_on([rung, rung], 7) == (False, False)


def test_a_gap_in_what_can_be_reached_is_seen():
    """The first gives 0 or 3 at weight 2, so 0 or 6; the second 1 or 2.

    With threshold 7 the second does not matter: 6 + 1 is enough, and at 0 the first is below its need. With 8 it does.
    """
    assert hangs_on([Rung(2, 1, (0, 3)), Rung(1, 1, (1, 2))], 7) == (True, False)
    assert hangs_on([Rung(2, 1, (0, 3)), Rung(1, 1, (1, 2))], 8) == (True, True)


def test_nothing_hangs_when_one_criterion_cannot_reach_its_need():
    assert hangs_on([Rung(1, 2, (0, 1)), Rung(5, 1, (0, 3))], 3) == (False, False)


def test_settled_criteria_never_hang():
    assert hangs_on([Rung(1, 1, (2,)), Rung(1, 1, (1, 2))], 4) == (False, True)
    assert hangs_on([], 0) == ()
