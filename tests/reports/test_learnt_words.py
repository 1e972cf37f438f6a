"""What the school has taught and which known faults weigh: on the page, in the document, with what it rests on."""

from __future__ import annotations

import json
from datetime import date

from jsonschema import Draft202012Validator

from evalkit.progress.history import history_of
from evalkit.progress.school import school_of
from evalkit.reports.learnt_words import known_fault_words, learnt_rows, learnt_words, school_values_document
from evalkit.reports.progress_document import progress_schema
from evalkit.reports.progress_page import ProgressJob
from evalkit.reports.school_page import SchoolJob, school_schema
from evalkit.settings import Paper
from tests.progress.boxes import NIA, alike, box, criterion, rubric
from tests.progress.learnt import VALUES

MADE_ON = date(2026, 11, 25)
NICKED = rubric(criterion("burr"), criterion("tips"), key="nicked", harder_with={"nick": ["burr", "tips"]})
ROUNDS = [box("nia-1", alike(6, keys=("burr", "tips")), by=NICKED, tags={1: ("nick", "dull"), 2: ("dull",)})]


def job_of(values=None) -> ProgressJob:
    return ProgressJob(history_of(NIA, ROUNDS, values=values), MADE_ON, Paper.A4)


def test_the_page_says_what_was_learnt_and_from_whom():
    lines = job_of(VALUES).row.rests_on
    assert any(
        "was learnt from this school on 1 September 2026, from 7 trainees, 21 rounds, 210 marked pairs and 600 levels"
        in line
        for line in lines
    )
    assert "How strict each mentor is was learnt with it: berit and oda." in lines
    assert "1 September 2026" in job_of(VALUES).page
    assert not any("learnt" in line for line in job_of().row.rests_on)
    assert learnt_words(None) == ()


def test_the_page_says_which_known_faults_weigh_and_which_do_not():
    lines = job_of().row.rests_on
    assert "Known faults reckoned to make a pair harder, as the rubric says: nick (1 pair: Burr, Tips)." in lines
    assert "Known faults to which the rubric gives no weight: dull (2 pairs)." in lines
    assert known_fault_words((), {}) == ()


def test_the_documents_tell_both():
    told = json.loads(job_of(VALUES).data)
    Draft202012Validator(json.loads(progress_schema())).validate(told)
    assert told["known_faults"] == [
        {"tag": "dull", "n_pairs": 2, "criteria": []},
        {"tag": "nick", "n_pairs": 1, "criteria": ["burr", "tips"]},
    ]
    assert told["learnt_from_school"] == {
        "learnt_on": "2026-09-01", "n_trainees": 7, "n_rounds": 21, "n_pairs": 210, "n_levels": 600,
    }  # fmt: skip
    assert json.loads(job_of().data)["learnt_from_school"] is None


def test_the_school_page_says_it_too():
    for values in (VALUES, None):
        histories = [history_of(NIA, ROUNDS, values=values, is_brief=True)]
        job = SchoolJob(school_of(histories, on=MADE_ON), Paper.A4)
        assert ("was learnt from this school on 1 September 2026" in job.page) == (values is not None)
        told = json.loads(job.data)
        Draft202012Validator(json.loads(school_schema())).validate(told)
        assert (told["learnt_from_school"] is None) == (values is None)


def test_each_learnt_value_stands_beside_the_default_it_takes_the_place_of():
    rows = {what: (learnt, default) for what, learnt, default in learnt_rows(VALUES)}
    assert rows["what a step of difficulty costs"] == ("1.10 ± 0.15", "0.80")
    assert rows["share of it that all criteria have in common"] == ("50 %", "60 %")
    assert rows["how wide level 1 is"] == ("1.40", "1.80")
    assert rows["what nick costs on burr"] == ("0.90", "0.60")
    assert rows["skill at the first round"] == ("−0.20", "−0.50")
    assert school_values_document(VALUES)["step"] == 1.1
