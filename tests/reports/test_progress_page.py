"""The progress and school pages: well formed, every chart with words and table, no claim beyond the evidence."""

from __future__ import annotations

import json
import os
import random
import re
from dataclasses import replace
from datetime import date

import pytest
from jsonschema import Draft202012Validator

from evalkit.domain.pair import EdgeType
from evalkit.domain.signoff import SignOff
from evalkit.domain.verdict import Verdict
from evalkit.files.places import templates_dir
from evalkit.progress.history import history_of
from evalkit.progress.school import school_of
from evalkit.reports.formats import Format, write_reports
from evalkit.reports.progress_document import evidence_json, progress_schema
from evalkit.reports.progress_page import ProgressJob
from evalkit.reports.school_page import SchoolJob, school_schema
from evalkit.settings import Paper
from tests.progress.boxes import NIA, Person, alike, box, criterion, days_later, rubric
from tests.reports.pages import elements

MADE_ON = date(2026, 11, 25)
KEYS = ("burr", "tips", "finish")
HOSTILE = "<script>alert(1)</script>|`x`"


def job_of(history, paper: Paper = Paper.A4) -> ProgressJob:
    return ProgressJob(history, MADE_ON, paper)


def drawn(key: str, mean: float, months: float, **more):
    luck = random.Random(key)
    rows = [{name: min(max(round(luck.gauss(mean, 0.6)), 0), 3) for name in KEYS} for _ in range(10)]
    own = [{name: min(level + 1, 3) for name, level in row.items()} for row in rows]
    kinds = [EdgeType.BEVEL] * 7 + [EdgeType.CONVEX] * 3
    return box(key, rows, months=months, own=own, received=rows[::-1], edge_type=kinds, **more)


MINUTES = {"nia-0": 60, "nia-1": 50, "nia-2": 48, "nia-3": 25, "nia-4": 45}
RELAPSE = [
    drawn(f"nia-{at}", mean, 1.5 * at, minutes=MINUTES[f"nia-{at}"])
    for at, mean in enumerate((1.2, 2.2, 2.5, 0.9, 1.7))
]
SIGNED = SignOff(
    trainee_key="nia",
    mentor_key="oda",
    edge_types=(EdgeType.BEVEL,),
    signed_on=days_later(3.2),
    answers={EdgeType.BEVEL: "undecided"},
    evidence="{}",
    note="I saw her hands",
)
FULL = job_of(history_of(NIA, RELAPSE, sign_offs=[SIGNED]))
THIN = {
    "no round": job_of(history_of(NIA, [])),
    "one pair": job_of(history_of(NIA, [box("nia-1", alike(1, 3))])),
    "four pairs": job_of(history_of(NIA, [box("nia-1", alike(4, 3))])),
    "nothing scored": job_of(history_of(NIA, [box("nia-1", [{}] * 6)])),
    "nearly nothing scored": job_of(
        history_of(NIA, [box("nia-1", [{"burr": 3}, {"burr": 2}] * 2 + [{"tips": 1}] + [{}] * 24)])
    ),
    "all alike": job_of(history_of(NIA, [box("nia-1", alike(6, 3))])),
    "no must-pass": job_of(
        history_of(NIA, [box("nia-1", alike(6), by=rubric(*(criterion(key, must_pass=None) for key in KEYS)))])
    ),
    "not marked": job_of(history_of(NIA, [box("nia-1", alike(6), is_marked=False)])),
}
EVERY = {"full": FULL, **THIN}


# --- every page ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", EVERY)
def test_a_page_is_well_formed_and_fetches_nothing(name):
    found = elements(EVERY[name].page)
    assert {one.tag for one in found} & {"script", "iframe", "object", "link", "img"} == set()
    identities = [one.attributes["id"] for one in found if "id" in one.attributes]
    assert len(identities) == len(set(identities))
    for one in found:
        for part in one.attributes.get("aria-labelledby", "").split():
            assert part in identities
    assert "NaN" not in EVERY[name].page
    assert "None" not in EVERY[name].page


@pytest.mark.parametrize("name", EVERY)
def test_every_chart_has_a_title_words_and_its_group_a_table(name):
    found = elements(EVERY[name].page)
    for figure in (one for one in found if one.tag == "figure"):
        inside = [one for one in found if figure in one.parents]
        assert {"title", "desc"} <= {one.tag for one in inside}
        assert all(one.text.strip() for one in inside if one.tag in ("title", "desc", "figcaption"))
    for group in (one for one in found if one.tag == "section" and "group" in one.attributes.get("class", "").split()):
        inside = [one for one in found if group in one.parents]
        if any(one.tag == "figure" for one in inside):
            assert any(one.tag == "table" for one in inside)


@pytest.mark.parametrize("name", EVERY)
def test_the_decision_is_the_mentors_on_every_page(name):
    for text in (EVERY[name].page, EVERY[name].text):
        assert "The decision is the mentor" in text


@pytest.mark.parametrize("name", THIN)
def test_a_thin_history_never_says_ready_nor_shows_a_chance_it_has_not(name):
    job = THIN[name]
    assert job.row.headline == "Not enough evidence"
    assert job.row.needs or name == "no must-pass"
    if job.history.modelled is None:
        assert "80 % band" not in job.page
        assert 'class="c-line"' not in job.page
        assert "no modelled figure" in job.page or "nothing" in job.page


def test_under_five_readings_of_a_criterion_only_dots():
    page = THIN["nearly nothing scored"].page
    skill = page[page.index('id="skill"') : page.index('id="eyes"')]
    assert "c-line" not in skill
    assert "c-ring" in skill
    assert "Dots only, with fewer than 5 readings: Burr, Tips." in skill


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("paper", list(Paper))
def test_the_paper_is_the_one_asked_for(name, paper):
    assert f"size: {paper.value}" in job_of(EVERY[name].history, paper).page


# --- the full page -------------------------------------------------------------------------------------------------


def test_a_fall_is_told_in_its_round_and_marked_in_the_table():
    (said,) = [words for words in FULL.row.notable if words.startswith("In round nia-3")]
    assert "fell" in said
    assert "was there a hurry?" in said
    assert [row.key for row in FULL.row.rounds if row.has_fallen] == ["nia-3"]
    assert FULL.row.rounds[0].skill == "–"


def test_the_alarm_after_the_sign_off_comes_first():
    assert FULL.row.notable[0].startswith("Signed off for bevel")
    assert "ALARM" in FULL.row.notable[0]
    assert any("I saw her hands" in words for words in FULL.row.sign_offs)
    assert any("'undecided'" in words for words in FULL.row.sign_offs)


def test_plain_counts_stand_beside_the_modelled_figure():
    said = " ".join(FULL.row.counted)
    counts = FULL.history.latest
    assert f"{counts.share.k} of {counts.share.n}" in said
    assert "in a row" in said or "no clean row" in said
    assert "easy and hard alike" in FULL.row.second[0]
    assert any("CUSUM" in words for words in FULL.row.method)


def test_every_edge_type_has_its_own_answer():
    assert [row.name for row in FULL.row.edges] == ["convex", "bevel"]
    assert "rests on the pairs of that edge type alone" in FULL.row.edges_remark


def test_an_answer_over_several_edge_types_is_no_ground_for_a_sign_off():
    assert FULL.row.headline.endswith(", all edge types taken together")
    assert any("no ground to sign off any of them" in words for words in FULL.row.evidence)
    one_type = job_of(history_of(NIA, RELAPSE, edge_types=(EdgeType.BEVEL,)))
    assert "together" not in one_type.row.headline
    assert not any("no ground" in words for words in one_type.row.evidence)


@pytest.mark.parametrize("is_apart", [True, False])
def test_two_ways_of_reckoning_that_disagree_are_told_to(is_apart):
    history, found = FULL.history, FULL.history.edges_together
    low, high = (found.chance + 0.01, 1.0) if is_apart else (found.chance - 0.01, 1.0)
    moved = replace(history, readiness=replace(history.readiness, joint_lo=low, joint_hi=high))
    row = job_of(moved).row
    assert any("the two ways of reckoning disagree" in words for words in row.evidence) == is_apart
    assert (", outside the band of the answer above" in row.edges_remark) == is_apart
    assert (", inside the band of the answer above" in row.edges_remark) == (not is_apart)


def test_a_criterion_taken_for_certain_that_was_missed_in_the_latest_round_is_named():
    rows = alike(12, 3)
    slip = [{**rows[0], "burr": 1}, *rows[1:]]
    boxes = [box(f"nia-{at}", slip if at == 7 else rows, months=at) for at in range(8)]
    page = job_of(history_of(NIA, boxes, is_brief=True))
    (skill,) = (group for group in page.row.groups if group.key == "skill")
    burr = next(row for row in skill.figures.rows if row[0].startswith("Burr"))
    assert burr[-2] == "over 98 %"
    assert "Over 98 % by the model, and yet missed in nia-7: Burr (11 of 12 reached)." in skill.remarks


def test_faults_not_looked_for_and_pairs_left_open_stand_beside_their_share():
    own = [{"tips": 3, "finish": 3}, {"burr": 3, "tips": 3, "finish": 3}]
    rows = [{"burr": 0, "tips": 1, "finish": 3}, {"tips": 3, "finish": 3}]
    history = history_of(NIA, [box("nia-1", rows, own=own, verdicts=dict.fromkeys((1, 2), Verdict.ACCEPTED))])
    (row,) = job_of(history).row.rounds
    assert row.caught == "0 of 2, 1 not looked for"
    assert row.gone_out == "1 of 1, 1 open"


def test_where_faults_sit_then_and_now():
    then, now = FULL.row.drawings
    assert then.title == "Then: 10 pairs of nia-0"
    assert now.title == "Now: 10 pairs of nia-4"
    assert FULL.row.fault_figures.heads == ("Place", "Then", "Now", "Most often, now")


def test_figures_on_the_page_are_those_of_the_history():
    """Every 'k of n' of the round table, counted again from the rounds themselves."""
    for row, counts in zip(FULL.row.rounds, FULL.history.counts, strict=True):
        assert row.passed == f"{counts.passed.k} of {counts.passed.n}"
        assert row.gone_out in (f"{counts.gone_out.k} of {counts.gone_out.n}", "–")
        assert row.worse == f"{counts.harmed.k} of {counts.harmed.n}"
        assert row.worse_own == f"{counts.worse_own_eyes.k} of {counts.worse_own_eyes.n}"
        assert row.n_pairs == str(counts.n_pairs)


def test_one_edge_type_alone_says_so():
    job = job_of(history_of(NIA, RELAPSE, edge_types=(EdgeType.CONVEX,)))
    assert job.stem == "nia-progress-convex"
    assert "Convex only." in job.page
    assert job.row.edges == ()


def test_a_users_words_cannot_break_out():
    named = Person(key="nia", name=HOSTILE)
    rows = alike(6)
    bad = rubric(*(criterion(key) for key in KEYS)).model_copy(update={"name": HOSTILE})
    hostile = bad.model_copy(
        update={"criteria": tuple(one.model_copy(update={"name": HOSTILE}) for one in bad.criteria)}
    )
    sign_off = SIGNED.model_copy(update={"note": HOSTILE})
    history = history_of(named, [box("nia-1", rows, by=hostile, trainee=named)], sign_offs=[sign_off])
    job = job_of(history)
    assert "<script>" not in job.page
    assert "\\<script\\>" in job.text
    assert not re.search(r"(?<!\\)<script", job.text)
    school = SchoolJob(school_of([history], on=MADE_ON), Paper.A4)
    assert "<script>" not in school.page
    assert not re.search(r"(?<!\\)<script", school.text)


def test_markdown_tables_have_as_many_cells_in_every_row():
    for job in EVERY.values():
        widths: list[int] = []
        for line in [*job.text.splitlines(), ""]:
            if line.startswith("|"):
                widths.append(len(re.findall(r"(?<!\\)\|", line)))
            else:
                assert len(set(widths)) <= 1, job.text
                widths = []


# --- for other programs --------------------------------------------------------------------------------------------

SCHEMAS = {"progress.schema.json": progress_schema, "school.schema.json": school_schema}


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_published_schema_is_fresh(name):
    path = templates_dir() / name
    if os.environ.get("EVALKIT_RENEW_GOLD"):
        path.write_text(SCHEMAS[name](), encoding="utf-8")
    assert path.read_text(encoding="utf-8") == SCHEMAS[name](), "renew it: EVALKIT_RENEW_GOLD=1"
    Draft202012Validator.check_schema(json.loads(SCHEMAS[name]()))


@pytest.mark.parametrize("name", EVERY)
def test_every_document_keeps_to_its_schema(name):
    document = json.loads(EVERY[name].data)
    Draft202012Validator(json.loads(progress_schema())).validate(document)
    assert document["format"] == 1
    if EVERY[name].history.modelled is None:
        assert document["model"] is None
        assert document["readiness"]["joint"] is None


def test_what_a_sign_off_keeps_is_the_whole_document():
    histories = {EdgeType.BEVEL: history_of(NIA, RELAPSE, edge_types=(EdgeType.BEVEL,))}
    kept = evidence_json(histories, made_on=MADE_ON)
    told = json.loads(kept)
    assert list(told["edge_types"]) == ["bevel"]
    Draft202012Validator(json.loads(progress_schema())).validate(told["edge_types"]["bevel"])
    assert SIGNED.model_copy(update={"evidence": kept}).evidence == kept
    SignOff.model_validate({**SIGNED.model_dump(), "evidence": kept})


def test_all_formats_are_written_whole(tmp_path):
    pytest.importorskip("weasyprint")
    paths = [file.path for file in write_reports(FULL, list(Format), tmp_path)]
    assert [path.name for path in paths] == [f"nia-progress.{one}" for one in Format]
    assert paths[1].read_bytes().startswith(b"%PDF")


# --- the school ----------------------------------------------------------------------------------------------------


def school() -> SchoolJob:
    lin = Person(key="lin", name="Lin Aubrel")
    histories = [
        history_of(NIA, RELAPSE, is_brief=True),
        history_of(lin, [box("lin-1", alike(3), trainee=lin, is_marked=False)], is_brief=True),
        history_of(Person(key="ana", name="Ana"), [], is_brief=True),
    ]
    return SchoolJob(school_of(histories, on=MADE_ON), Paper.A4)


def test_the_school_says_who_needs_a_box_and_whose_lies_on_the_bench():
    job = school()
    assert [row.name for row in job.row.next_boxes] == ["Ana", "Nia Holm"]
    assert job.row.to_mark == ("Lin Aubrel: round lin-1 is back",)
    assert {row.name: row.chance == "–" for row in job.row.trainees} == {
        "Ana": True, "Lin Aubrel": True, "Nia Holm": False,
    }  # fmt: skip
    elements(job.page)
    Draft202012Validator(json.loads(school_schema())).validate(json.loads(job.data))
    assert "# The school" in job.text


def test_an_empty_school():
    job = SchoolJob(school_of([], on=MADE_ON), Paper.LETTER)
    assert "no trainee in this book yet" in job.page
    elements(job.page)
