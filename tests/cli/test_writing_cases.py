"""Every command that writes is killed, starved of room, locked out and written against by `tests/bench`."""

from __future__ import annotations

import pytest

from tests.bench.read_only_disks import READERS
from tests.bench.writing_cases import CASES, ELSEWHERE, READING
from tests.cli.test_app import commands

ALL = {" ".join(words) for words in commands()}
WRITING = {case.name for case in CASES}


def test_a_command_writes_and_has_a_case_or_only_reads():
    """A new command that writes is added to CASES of `tests/bench/writing_cases.py`; one that only reads to READING."""
    assert sorted(ALL - WRITING - READING - ELSEWHERE.keys()) == [], "these stand in no list"
    assert sorted((WRITING | READING | ELSEWHERE.keys()) - ALL) == [], "these are no commands"


def test_no_command_stands_in_two_lists():
    assert not WRITING & READING
    assert not (WRITING | READING) & ELSEWHERE.keys()


@pytest.mark.parametrize("name", sorted(READING))
def test_what_only_reads_is_tried_on_a_read_only_disk(name: str):
    """Or it needs no book at all."""
    tried = {" ".join(words[: name.count(" ") + 1]) for words in READERS}
    assert name in tried | {"rubric check"}


def test_both_faces_of_a_command_are_tried():
    for option in ("--learn", "--forget", "--withdraw", "--amend", "--plan", "--reason"):
        assert any(option in case.words for case in CASES), option
