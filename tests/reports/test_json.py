"""The report for other programs: its numbers are those of the page, and it keeps to its published schema."""

from __future__ import annotations

import json
import os

import pytest
from jsonschema import Draft202012Validator

from evalkit.files.places import templates_dir
from evalkit.progress.results import answer_round
from evalkit.reports.document import round_document
from evalkit.reports.document_shapes import FORMAT
from evalkit.reports.formats import MAKERS, Format, Job
from evalkit.reports.to_json import report_schema, to_json
from tests.reports.values import MADE_ON, RUBRIC, assessment_of, marking_of, result_of, round_of

SCHEMA = "report.schema.json"


def document(**missing: object) -> dict[str, object]:
    round_ = round_of()
    views = {"assessment": assessment_of(round_), "marking": marking_of(round_)} | missing
    result = answer_round(round_, RUBRIC, views["assessment"], views["marking"])  # type: ignore[arg-type]
    return json.loads(to_json(round_document(result, made_on=MADE_ON)))


def test_the_published_schema_is_fresh():
    path = templates_dir() / SCHEMA
    if os.environ.get("EVALKIT_RENEW_GOLD"):
        path.write_text(report_schema(), encoding="utf-8")
    assert path.read_text(encoding="utf-8") == report_schema(), "renew it: EVALKIT_RENEW_GOLD=1"


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(json.loads(report_schema()))


@pytest.mark.parametrize(
    "missing", [{}, {"assessment": None}, {"marking": None}, {"assessment": None, "marking": None}]
)
def test_every_report_keeps_to_the_published_schema(missing: dict[str, None]):
    schema = json.loads((templates_dir() / SCHEMA).read_text(encoding="utf-8"))
    Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER).validate(document(**missing))


@pytest.mark.parametrize(
    ("at", "wrong"),
    [(("format",), "one"), (("pairs", 0, "number"), "one"), (("catch", "n"), None), (("agreement", "table"), 7)],
)
def test_the_schema_refuses_what_is_not_a_report(at: tuple[object, ...], wrong: object):
    report = document()
    inner: object = report
    for step in at[:-1]:
        inner = inner[step]  # type: ignore[index]
    inner[at[-1]] = wrong  # type: ignore[index]
    assert not Draft202012Validator(json.loads(report_schema())).is_valid(report)


def test_it_says_its_format_number_first(job: Job):
    report = json.loads(MAKERS[Format.JSON](job))
    assert next(iter(report)) == "format"
    assert report["format"] == FORMAT == 1


def test_its_numbers_are_those_worked_out_by_hand():
    report = document()
    pairs = report["pairs"]
    assert [pair["verdict"] for pair in pairs] == ["rework", "accepted", "not shown"]
    assert [pair["returned"]["score"]["seen"] for pair in pairs] == pytest.approx([48, 96, 10800 / 132])
    assert [pair["returned"]["score"]["lo"] for pair in pairs] == pytest.approx([48, 96, 32])
    assert pairs[0]["returned"]["missed"] == ["ride-line", "hair"]
    assert pairs[2]["returned"]["needed"] == ["hair @ tip", "finish @ whole pair"]
    assert report["would_have_gone_out"] == [1]
    assert (report["catch"]["n"], report["catch"]["of"], report["catch"]["share"]) == (0, 2, 0)
    assert report["agreement"]["exact"]["n"] == 5
    assert sum(sum(row) for row in report["agreement"]["table"]) == report["agreement"]["n_levels"] == 10
    assert pairs[0]["most_removed_mm"] == pytest.approx(0.25)
    assert report["is_blind"] is False


def test_unknown_is_null_and_never_nought():
    report = document(assessment=None, marking=None)
    assert report["is_blind"] is None
    assert report["catch"] == {"n": 0, "of": 0, "share": None, "low": None, "high": None}
    assert report["pairs"][0]["returned"]["score"] == {"seen": None, "lo": 0.0, "hi": 100.0}
    assert {one["level"] for one in report["pairs"][0]["returned"]["levels"]} == {None}


def test_the_same_round_gives_the_same_bytes(job: Job):
    assert MAKERS[Format.JSON](job) == MAKERS[Format.JSON](job)
    assert to_json(round_document(result_of(), made_on=MADE_ON)).encode() == MAKERS[Format.JSON](job)
