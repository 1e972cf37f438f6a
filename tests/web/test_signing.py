"""A sign-off given and withdrawn beside the figures: the decision is the mentor's, and stands with its reason."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.web.site import ROUND, Counter, Site

HERE = "/trainees/teo/sign-off"
GIVEN = {"edge": ["convex"], "note": "Seen on the bench, all of them.", "sure": "yes"}


@pytest.fixture
def worked(marked: Site) -> Site:
    """The figures were worked out and seen."""
    assert marked.post("/trainees/teo/progress", {"then": "sign-off"}).headers["location"] == HERE
    return marked


def standing(site: Site) -> list[Any]:
    return [kept.sign_off for kept in site.book.list_sign_offs("teo") if kept.sign_off.stands]


def test_before_the_figures_are_worked_out_nothing_is_signed(marked: Site):
    page = marked.page(HERE)
    assert "not worked out yet" in page
    assert 'name="note"' not in page
    assert marked.post(HERE, GIVEN).status_code == 409
    assert standing(marked) == []


def test_the_evidence_stands_beside_the_decision_which_is_hers(worked: Site):
    page = worked.page(HERE)
    for words in ("The decision is yours", "The figures advise", "the figures say: Not enough evidence", "convex"):
        assert words in page
    assert 'name="note" rows="3" maxlength="2000" required' in page


def test_it_is_written_down_with_note_and_evidence(worked: Site):
    assert worked.post(HERE, GIVEN).headers["location"] == "/trainees/teo?signed=yes"
    (one,) = standing(worked)
    assert (one.mentor_key, [kind.value for kind in one.edge_types], one.note) == ("oda", ["convex"], GIVEN["note"])
    assert str(one.signed_on) == "2026-05-04"
    assert json.loads(one.evidence), "the figures as they stood"
    page = worked.page("/trainees/teo?signed=yes")
    assert "The sign-off is written down" in page
    assert "convex, on 4 May 2026" in page
    assert worked.book.check() == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"note": "  "}, "a reason is missing"),
        ({"note": "x" * 2001}, "too long"),
        ({"edge": []}, "no edge type is chosen"),
        ({"edge": ["spoon"]}, "no edge type is chosen"),
        ({"sure": ""}, "not said that you decide"),
        ({"edge": ["sword"]}, "was ever marked"),
    ],
)
def test_what_is_missing_is_told_and_nothing_is_signed(worked: Site, change: dict[str, Any], told: str):
    answer = worked.post(HERE, {**GIVEN, **change})
    assert answer.status_code == 422
    assert told in answer.text.lower()
    assert "--" not in answer.text
    assert standing(worked) == []


def test_figures_that_are_no_longer_those_of_the_book_are_no_ground(worked: Site):
    worked.post(f"{ROUND}/amend", {"reason": "light"})
    assert "has changed since" in worked.page(HERE)
    answer = worked.post(HERE, GIVEN)
    assert answer.status_code == 409
    assert standing(worked) == []
    worked.post("/trainees/teo/progress")
    assert f"required>{GIVEN['note']}</textarea>" in worked.page(HERE), "what she wrote is not written twice"
    worked.post(HERE, GIVEN)
    worked.post("/trainees/teo/progress")
    assert f">{GIVEN['note']}</textarea>" not in worked.page(HERE)


def test_it_is_withdrawn_with_its_reason_and_can_be_given_again(worked: Site):
    worked.post(HERE, GIVEN)
    page = worked.page(HERE)
    assert "signed off by Oda Ferrin on 4 May 2026" in page
    assert GIVEN["note"] in page
    assert worked.post(f"{HERE}/withdraw", {"edge": "convex", "reason": " "}).status_code == 422
    assert len(standing(worked)) == 1
    answer = worked.post(f"{HERE}/withdraw", {"edge": "convex", "reason": "two came back"})
    assert answer.headers["location"] == "/trainees/teo?withdrawn=yes"
    assert standing(worked) == []
    (kept,) = worked.book.list_sign_offs("teo")
    assert kept.sign_off.reason == "two came back"
    assert "withdrawn on 4 May 2026: “two came back”" in worked.page(HERE)
    assert "<strong>withdrawn</strong> on 4 May 2026" in worked.page("/trainees/teo")
    assert worked.post(f"{HERE}/withdraw", {"edge": "convex", "reason": "again"}).status_code == 404
    worked.post("/trainees/teo/progress")
    assert worked.post(HERE, GIVEN).status_code == 303


def test_what_stands_already_is_not_offered_again(worked: Site):
    worked.post(HERE, GIVEN)
    worked.post("/trainees/teo/progress")
    assert 'name="edge" value="convex"> ' not in worked.page(HERE)
    assert worked.post(HERE, GIVEN).status_code == 409


@pytest.mark.parametrize("path", [HERE, f"{HERE}/withdraw"])
def test_without_its_token_nothing_is_signed(worked: Site, path: str):
    assert worked.client.post(path, data=GIVEN).status_code == 403
    assert worked.book.list_sign_offs("teo") == []


def test_the_page_asks_few_queries(worked: Site):
    worked.get("/who")
    with Counter(worked.book) as counted:
        worked.page(HERE)
    assert counted.n <= 15


def test_a_stranger_has_no_sign_off(marked: Site):
    assert marked.get("/trainees/nobody/sign-off").status_code == 404
    assert marked.post("/trainees/nobody/sign-off", GIVEN).status_code in {404, 409}
