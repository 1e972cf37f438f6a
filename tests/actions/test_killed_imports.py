"""An import killed in the middle: all of the packet or nothing of it, and nothing left behind.

A few kills; `python -m tests.bench.kill_imports` does it hundreds of times, with pictures as large as wanted.
"""

from __future__ import annotations

import sys

import pytest

from tests.bench.kill_imports import kill_many


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="forks")
def test_a_killed_import_leaves_all_or_nothing():
    tally = kill_many(6, 160, 120, seed=4)
    assert tally.broken == []
    assert tally.ends.total() == 6
    assert tally.ends["nothing of it"], "it was killed too late every time"
