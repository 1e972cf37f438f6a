"""The next box by the pages: proposed with its reasons, struck and swapped, planned when the mentor says so."""

from __future__ import annotations

import re
from typing import Any

import pytest

from evalkit.domain.pair import Pair
from evalkit.files.sheets import write_assessment_sheet
from evalkit.workbench import bench_page
from tests.reports.values import PAIRS
from tests.web.site import ROUND, Counter, Site

HERE = "/trainees/teo/next-box"
ASKED = {"n": "3", "rubric": "shears"}


@pytest.fixture
def stocked(marked: Site) -> Site:
    """Eight pairs that the trainee has not had."""
    pairs = [Pair.model_validate({**PAIRS[1].model_dump(), "tag": f"T-{n}", "faults": ()}) for n in range(8)]
    marked.book.add_pairs(pairs, "oda")
    return marked


def proposed(site: Site) -> list[str]:
    """The tags of the box on the page, in order."""
    page = site.page(HERE)
    return re.findall(r'<b class="nr">\d+</b> <div><b>([^<]+)</b>', page)


def propose(site: Site, **more: Any) -> list[str]:
    answer = site.post(HERE, {**ASKED, **more})
    assert (answer.status_code, answer.headers.get("location")) == (303, HERE), answer.text[:600]
    return proposed(site)


def test_a_box_is_proposed_with_a_sentence_for_each_pair_and_nothing_is_written(stocked: Site):
    acts = stocked.book.latest_act()
    assert proposed(stocked) == []
    tags = propose(stocked)
    assert len(tags) == 3
    assert set(tags) <= {f"T-{n}" for n in range(8)}, "a pair that was had before"
    page = stocked.page(HERE)
    assert len(re.findall(r'<span class="remark">[^<]+</span><br>[A-Z][^<]+\.</div>', page)) == 3
    assert "It rests on" in page
    assert stocked.book.latest_act() == acts


def test_a_pair_that_is_struck_stays_out(stocked: Site):
    first = propose(stocked)[0]
    tags = propose(stocked, strike=[first])
    assert first not in tags
    assert len(tags) == 3
    assert f'name="left_out" value="{first}"' in stocked.page(HERE)
    assert first not in propose(stocked, left_out=first)


def test_a_pair_is_swapped_for_one_that_is_named_and_the_rest_stays(stocked: Site):
    tags = propose(stocked)
    new = next(f"T-{n}" for n in range(8) if f"T-{n}" not in tags)
    changed = propose(stocked, strike=[tags[0]], **{f"instead.{tags[0]}": new})
    assert set(changed) == {*tags[1:], new}
    swap = re.findall(r'name="swap" value="([^"]+)"', stocked.page(HERE))
    assert swap == [f"{tags[0]}={new}"]
    other = next(f"T-{n}" for n in range(8) if f"T-{n}" not in (*tags, new))
    again = propose(stocked, swap=swap, strike=[new], **{f"instead.{new}": other})
    assert set(again) == {*tags[1:], other}, "a swap is changed, not stacked"
    gone = propose(stocked, swap=[f"{tags[0]}={other}"], strike=[other])
    assert not {tags[0], other} & set(gone)


def test_what_is_asked_for_is_in_it(stocked: Site):
    assert {"T-7", "T-6"} <= set(propose(stocked, put_in="T-7, T-6"))


def test_the_round_is_planned_as_it_is_shown(stocked: Site):
    tags = propose(stocked)
    answer = stocked.post(f"{HERE}/plan", {"tags": ",".join(tags)})
    assert answer.headers["location"] == "/rounds/teo-2?planned=yes"
    round_ = stocked.book.get_round("teo-2")
    assert [one.pair.tag for one in sorted(round_.pairs, key=lambda one: one.number)] == tags
    assert (round_.trainee.key, round_.mentor.key, round_.rubric_key, str(round_.planned_on)) == (
        "teo", "oda", "shears", "2026-05-04",
    )  # fmt: skip
    assert stocked.post(f"{HERE}/plan", {"tags": ",".join(tags)}).status_code == 409, "pressed twice, planned twice"
    assert "T-" in stocked.page("/rounds/teo-2")


def test_what_goes_with_the_box_is_had_from_its_page(stocked: Site):
    tags = propose(stocked)
    stocked.post(f"{HERE}/plan", {"tags": ",".join(tags)})
    page = stocked.page("/rounds/teo-2")
    found = re.findall(r'href="(/rounds/teo-2/box/[a-z-]+\.[a-z]+)"', page)
    assert [path.rpartition("/")[2] for path in found] == [
        "bench-book.html", "sheet.md", "papers.pdf", "papers.html", "labels.pdf", "labels.html",
    ]  # fmt: skip
    files = {path.rpartition("/")[2]: stocked.get(path) for path in found}
    for name, answer in files.items():
        assert answer.status_code == 200
        assert answer.headers["content-disposition"] == f'attachment; filename="teo-2-{name}"'
        assert answer.headers["content-security-policy"] == "sandbox"
    assert files["papers.pdf"].content.startswith(b"%PDF-")
    assert files["labels.pdf"].content.startswith(b"%PDF-")
    assert all(tag in files["papers.html"].text for tag in tags)
    round_ = stocked.book.get_round("teo-2")
    blank = write_assessment_sheet(round_, stocked.book.get_rubric_by_digest(round_.rubric_digest))
    assert files["sheet.md"].text == blank
    assert files["bench-book.html"].text == bench_page(stocked.book, "teo-2").html
    assert stocked.get("/rounds/teo-2/box/letter.pdf").status_code == 404
    assert stocked.get("/rounds/teo-9/box/sheet.md").status_code == 404
    assert "What goes with it" not in stocked.page(ROUND)


def test_a_plan_is_taken_back_while_the_box_is_here(stocked: Site):
    tags = propose(stocked)
    stocked.post(f"{HERE}/plan", {"tags": ",".join(tags)})
    assert "Take the plan back" in stocked.page("/rounds/teo-2")
    answer = stocked.post("/rounds/teo-2/unplan")
    assert answer.headers["location"] == "/?unplanned=yes"
    assert "The plan is taken back" in stocked.page("/?unplanned=yes")
    assert stocked.get("/rounds/teo-2").status_code == 404
    assert set(propose(stocked)) == set(tags), "its pairs are free again"
    assert "Take the plan back" not in stocked.page(ROUND)
    assert stocked.post(f"{ROUND}/unplan").status_code == 422
    assert stocked.book.check() == []


@pytest.mark.parametrize("tags", ["", "T-0", "T-0,T-1,T-2,T-3"])
def test_only_what_was_seen_is_planned(stocked: Site, tags: str):
    propose(stocked)
    assert stocked.post(f"{HERE}/plan", {"tags": tags}).status_code == 409
    assert [one.key for one in stocked.book.list_rounds()] == ["teo-1"]


def test_a_box_proposed_before_the_book_changed_is_not_planned(stocked: Site):
    tags = propose(stocked)
    stocked.post(f"{ROUND}/amend", {"reason": "light"})
    assert "has changed since this was proposed" in stocked.page(HERE)
    assert stocked.post(f"{HERE}/plan", {"tags": ",".join(tags)}).status_code == 409


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"n": "0"}, "no number of pairs"),
        ({"n": "x"}, "no number of pairs"),
        ({"rubric": ""}, "no rubric is chosen"),
        ({"rubric": "../../etc/passwd"}, "no rubric is chosen"),
        ({"put_in": "NO-1"}, "no-1"),
        ({"put_in": PAIRS[0].tag, "left_out": "T-0", "n": "40"}, ""),
        ({"strike": ["T-0"], "instead.T-0": "T-0"}, ""),
    ],
)
def test_what_cannot_be_is_told_in_the_words_of_a_page(stocked: Site, more: dict[str, Any], told: str):
    answer = stocked.post(HERE, {**ASKED, **more})
    assert answer.status_code in {404, 422}
    assert told in answer.text.lower()
    assert "evalkit " not in re.sub(r"<title>.*?</title>", "", answer.text)
    assert "--" not in answer.text
    assert "<h1>" in answer.text


def test_the_page_asks_few_queries(stocked: Site):
    propose(stocked)
    stocked.get("/who")
    with Counter(stocked.book) as counted:
        stocked.page(HERE)
    assert counted.n <= 15


@pytest.mark.parametrize("path", [HERE, f"{HERE}/plan"])
def test_without_its_token_nothing_is_planned(stocked: Site, path: str):
    tags = propose(stocked)
    assert stocked.client.post(path, data={**ASKED, "tags": ",".join(tags)}).status_code == 403
    assert len(stocked.book.list_rounds()) == 1
