"""The Markdown report: tables stay tables whatever a cell says, and prose stays quoted."""

from __future__ import annotations

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token

from evalkit.progress.results import answer_round
from evalkit.reports.formats import Job
from evalkit.reports.to_markdown import to_markdown
from tests.reports.conftest import job_of, spoiled
from tests.reports.hostile import LINES
from tests.reports.spoiling import in_turn
from tests.reports.values import RUBRIC, round_of

READER = MarkdownIt("commonmark").enable("table")
CELLS = ("a | b", "a\\|b", "|", "||", "\\", "\\\\", "`a|b", "a\nb", "---", "| --- |", ":-:", "<br>", "~~~", "#")


def parsed(job: Job) -> list[Token]:
    return READER.parse(to_markdown(job.row))


def skeleton(tokens: list[Token]) -> list[str]:
    """The blocks of a report outside quoted prose."""
    found, depth = [], 0
    for token in tokens:
        depth -= token.type == "blockquote_close"
        if depth == 0:
            found.append(token.type)
        depth += token.type == "blockquote_open"
    return found


@pytest.fixture(scope="module")
def plain_skeleton() -> list[str]:
    return skeleton(parsed(spoiled(lambda _name, _most: "plain words")))


def kinds(tokens: list[Token]) -> set[str]:
    return {token.type for token in tokens} | {child.type for token in tokens for child in token.children or ()}


def test_it_is_one_document_with_tables(job: Job):
    text = to_markdown(job.row)
    tokens = READER.parse(text)
    assert text.startswith("# Round teo-1: Teo Marsk\n")
    assert text.endswith("\n")
    assert "\n\n\n" not in text
    assert sum(token.type == "table_open" for token in tokens) == 4
    assert "**Would have gone out: 1 of 2.**" in text


def test_each_table_has_as_many_cells_in_every_row(job: Job):
    tokens = parsed(job)
    rows, in_table = [], []
    for token in tokens:
        if token.type in {"th_open", "td_open"}:
            in_table.append(token.type)
        if token.type == "tr_close":
            rows.append(len(in_table))
            in_table = []
    assert rows == [9] * 4 + [7] * 18  # head and 3 pairs; 3 times a head and 5 criteria


def test_every_paragraph_of_the_head_stands_alone(job: Job):
    tokens = parsed(job)
    first = [tokens[at + 1].content for at, token in enumerate(tokens) if token.type == "paragraph_open"][:3]
    assert first[0].startswith("Marked by Oda Ferrin")
    assert first[1].startswith("Not marked blind")
    assert first[2].startswith("**Would have gone out: 1 of 2.**")


@pytest.mark.parametrize("note", CELLS)
def test_a_cell_stays_one_cell(note: str, plain_skeleton: list[str]):
    assert skeleton(parsed(spoiled(lambda _name, _most: note))) == plain_skeleton


@pytest.mark.parametrize("at", range(0, len(LINES), 4))
def test_hostile_words_in_every_field_change_no_block(at: int):
    """Beside plain words of the same number and lengths, since equal remarks are told once."""
    lines = LINES[at : at + 4]
    plain = [letter * len(line) for letter, line in zip("abcd", lines, strict=False)]
    found = parsed(spoiled(in_turn(lines)))
    assert skeleton(found) == skeleton(parsed(spoiled(in_turn(plain))))
    assert kinds(found).isdisjoint({"html_block", "html_inline", "image", "link_open"})


def test_a_box_with_nothing_in_it_yet_is_a_report_too():
    tokens = parsed(job_of(answer_round(round_of(), RUBRIC, None, None)))
    words = [token.content for token in tokens if token.type == "inline"]
    assert words.count("Nothing is marked yet.") == 2
