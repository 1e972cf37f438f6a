"""What a pair counts for: the whole table of what was decided and what it called for."""

from __future__ import annotations

import pytest

from evalkit.domain.standing import Finding, Standing, standing_of
from evalkit.domain.triage import Decision

SHARPEN, ADJUST, LEAVE = Decision
TABLE = {
    # decided, called for: counts as, finding
    (None, None): (Standing.GRADED, None),
    (None, SHARPEN): (Standing.GRADED, None),
    (None, ADJUST): (Standing.GRADED, None),
    (None, LEAVE): (Standing.GRADED, None),
    (SHARPEN, None): (Standing.GRADED, None),
    (SHARPEN, SHARPEN): (Standing.GRADED, None),
    (SHARPEN, ADJUST): (Standing.GRADED, Finding.NEEDLESS_WORK),
    (SHARPEN, LEAVE): (Standing.GRADED, Finding.WORKED_BEYOND_REPAIR),
    (ADJUST, None): (Standing.GRADED, None),
    (ADJUST, SHARPEN): (Standing.GRADED, Finding.ONLY_ADJUSTED),
    (ADJUST, ADJUST): (Standing.RIGHTLY_ADJUSTED, None),
    (ADJUST, LEAVE): (Standing.GRADED, Finding.WORKED_BEYOND_REPAIR),
    (LEAVE, None): (Standing.LEFT, None),
    (LEAVE, SHARPEN): (Standing.LEFT, Finding.WRONGLY_REFUSED),
    (LEAVE, ADJUST): (Standing.LEFT, Finding.WRONGLY_REFUSED),
    (LEAVE, LEAVE): (Standing.RIGHTLY_LEFT, None),
}


def test_the_table_is_whole():
    assert len(TABLE) == (len(Decision) + 1) ** 2


@pytest.mark.parametrize(("pair", "counts_as"), TABLE.items(), ids=str)
def test_what_a_pair_counts_for(pair, counts_as):
    assert standing_of(*pair) == counts_as


def test_what_nobody_judged_finds_nothing():
    for decision in (None, *Decision):
        assert standing_of(decision, None)[1] is None
