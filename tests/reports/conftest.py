"""The small round as a job, and rounds whose every field tries to break out."""

from __future__ import annotations

import pytest

from evalkit.progress.results import RoundResult, answer_round
from evalkit.reports.formats import Job
from evalkit.settings import Paper
from tests.reports.spoiling import Words, spoil
from tests.reports.values import CAUSES, MADE_ON, RUBRIC, assessment_of, marking_of, picture_of, result_of, round_of


def job_of(result: RoundResult, paper: Paper = Paper.A4) -> Job:
    """The mentor's own copy: everything that a report can say."""
    return Job(result=result, made_on=MADE_ON, paper=paper, picture_of=picture_of, with_causes=True)


@pytest.fixture
def job() -> Job:
    return job_of(result_of())


def spoiled(words: Words) -> Job:
    """The same round with other words in every field of free text."""
    round_ = round_of()
    return job_of(
        answer_round(
            spoil(round_, words),
            spoil(RUBRIC, words),
            spoil(assessment_of(round_), words),
            spoil(marking_of(round_), words),
            spoil(CAUSES, words),
        )
    )
