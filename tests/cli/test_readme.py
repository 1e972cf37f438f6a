"""The round that the README tells, from the empty folder, word for word."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

from evalkit.domain.criterion import Use
from evalkit.domain.reading import Reading, SeenLevel, Stage
from evalkit.files.sheets import read_assessment_sheet, write_assessment_sheet
from tests.cli.desk import Desk

README = Path(__file__).parents[2] / "README.md"


def told(head: str) -> list[list[str]]:
    """Every `evalkit` line in the code blocks of one section of the README."""
    text = README.read_text(encoding="utf-8")
    part = text[text.index(f"## {head}") :]
    part = part[: part.index("\n## ", 3)]
    blocks = re.findall(r"^```\n(.*?)^```", part, re.DOTALL | re.MULTILINE)
    return [shlex.split(line)[1:] for block in blocks for line in block.splitlines() if line.startswith("evalkit ")]


def fill_in_level_2(desk: Desk, path: Path) -> None:
    """Every criterion of every pair as finished by eye, as a trainee would who has little to say."""
    with desk.opened() as book:
        round_ = book.get_round("teo-1")
        rubric = book.get_rubric_by_digest(round_.rubric_digest)
    blank = read_assessment_sheet(path.read_text(encoding="utf-8"), str(path), round_, rubric)
    pairs = []
    for numbered in round_.pairs:
        readings = tuple(
            Reading(
                number=numbered.number,
                stage=Stage.AS_FINISHED,
                criterion=on.key,
                blade=place.blade,
                station=place.station,
                seen=SeenLevel(level=2),
            )
            for on in rubric.on(numbered.pair.edge_type)
            if on.use is not Use.NOT_APPLICABLE
            for place in on.places
        )
        found = blank.find_pair(numbered.number)
        assert found is not None
        pairs.append(found.model_copy(update={"readings": readings}))
    filled = blank.model_copy(update={"pairs": tuple(pairs)})
    path.write_text(write_assessment_sheet(round_, rubric, filled), encoding="utf-8")


def marks_all_level_2(prompt: str) -> str:
    """What a mentor would answer who finds every pair fit and has little to say."""
    if prompt.startswith("All pairs are marked."):
        return "yes"
    words = ("Damaged in transit", "It called for", "One thing to", "A word to")
    return "" if prompt.strip().startswith(words) else "all level 2"


def test_the_round_of_the_readme_goes_from_the_empty_folder_to_a_report(empty_desk: Desk):
    steps = told("A round, from the empty folder")
    assert len(steps) >= 14
    said = {}
    for words in steps:
        if words[:2] == ["assessment", "take-in"]:
            fill_in_level_2(empty_desk, empty_desk.folder / words[2])
        if words[0] == "mark":
            empty_desk.answers_by(marks_all_level_2)
        said[" ".join(words[:2])] = empty_desk.do(*words)
    assert "Sealed teo-1, version 1: 2 pairs" in said["assessment take-in"].out
    assert "Finished, version 1." in said["mark teo-1"].out
    assert said["report teo-1"].out.split() == ["reports/teo-1.html", "reports/teo-1.pdf"]
    assert (empty_desk.folder / "reports" / "teo-1.pdf").read_bytes().startswith(b"%PDF-")
    assert "Teo Marsk" in (empty_desk.folder / "reports" / "teo-1.html").read_text(encoding="utf-8")
    empty_desk.do("book", "check")


def test_the_other_sections_go_on_from_there(empty_desk: Desk):
    for words in told("A round, from the empty folder")[:8]:
        empty_desk.do(*words)
    rows = [f"T-{n},{('convex', 'bevel')[n % 2]},6.0,15.00,EUR" for n in range(16)]
    empty_desk.write("stock.csv", "\n".join(["tag,edge_type,size_in,declared_value,currency", *rows, ""]))
    empty_desk.do("pair", "import", "stock.csv")
    for words in told("The bench book: the trainee's side"):
        if words[-1] != "teo-1-assessment-1.zip" and words[:2] != ["packet", "report"]:
            empty_desk.do(*words)
    assert (empty_desk.folder / "teo-1.html").stat().st_size < 400_000
    propose, papers, sheet, take_in = told("The box")
    empty_desk.do(*propose)
    with empty_desk.opened() as book:
        assert len(book.get_round("teo-2").pairs) == 12
    assert "papers/teo-2-papers.pdf" in empty_desk.do(*papers).out
    empty_desk.do(*sheet)
    path = empty_desk.folder / take_in[-1]
    path.write_text(path.read_text(encoding="utf-8").replace("- Tips: ?", "- Tips: 1", 1), encoding="utf-8")
    empty_desk.do(*take_in)
    for words in told("Keeping"):
        empty_desk.do(*words)


def test_what_the_readme_says_beside_works_too(empty_desk: Desk):
    empty_desk.do("rubric", "show", "shears", "--edge", "toothed")
    empty_desk.do("book", "new")
    stock = "tag,edge_type,size_in\nS-1,convex,6.0\nS-2,bevel,5.5\n"
    empty_desk.write("stock.csv", stock)
    assert empty_desk.do("pair", "import", "stock.csv").out == "Added 2 pairs.\n"
    empty_desk.do("round", "list")
    assert empty_desk.do("book", "history").out
