"""A second look at some pairs: blind to the first, kept as it goes, and no verdict changes."""

from __future__ import annotations

import re
from typing import Any

import pytest

from evalkit.domain.marking import MarkedPair
from evalkit.domain.reading import SeenLevel
from tests.web.site import JSON, ROUND, Counter, Site, whole

FIRST = ("Keep:", "uneven pressure", "rework", "would have gone out")
SECOND = f"{ROUND}/second"


def state(site: Site, number: int, client: Any = None) -> str:
    page = (client or site.client).get(f"{SECOND}/pairs/{number}").text
    return re.search(r'name="based_on" value="([^"]*)"', page)[1]  # type: ignore[index]


def save(site: Site, number: int, fields: dict[str, Any], *, based_on: str | None = None, **more: Any) -> Any:
    base = state(site, number, more.get("client")) if based_on is None else based_on
    return site.post(f"{SECOND}/pairs/{number}", {"based_on": base, "has_transit": "yes", **fields}, **more)


def draft(site: Site, number: int, who: str = "oda") -> MarkedPair | None:
    return site.book.list_second_drafts("teo-1", who).get(number)


def drawn(site: Site, n: int) -> list[int]:
    assert site.post(SECOND, {"n": str(n)}).headers["location"] == SECOND
    return list(site.book.list_second_drafts("teo-1", "oda"))


def test_pairs_are_drawn_and_marked_blind(marked: Site):
    before = marked.get(f"{ROUND}/report.md").text
    numbers = drawn(marked, 2)
    assert len(numbers) == 2
    page = marked.page(SECOND)
    assert page.count("<div>not begun</div>") == 2
    number = numbers[0]
    page = marked.page(f"{SECOND}/pairs/{number}")
    assert not re.search(r'value="[^"]+" checked', page), "a reading of the first marking stands on the page"
    assert not [word for word in FIRST if word in page]
    answer = save(marked, number, whole(2, then="finish"))
    assert answer.headers["location"] == f"{SECOND}?kept={number}"
    (kept,) = marked.book.list_second_markings("teo-1")
    assert [pair.number for pair in kept.pairs] == [number]
    assert str(kept.marked_on) == "2026-05-04"
    page = marked.page(answer.headers["location"])
    assert f"The second marking of pair {number} is kept" in page
    assert "finished and kept" in page
    assert marked.get(f"{ROUND}/report.md").text == before


def test_what_is_marked_a_second_time_is_kept_as_it_goes(marked: Site):
    number = drawn(marked, 1)[0]
    assert save(marked, number, {"s.tips.tip": "1", "c.tips": "folds"}).status_code == 303
    pair = draft(marked, number)
    assert pair is not None
    assert [one.seen for one in pair.readings] == [SeenLevel(level=1)]
    assert marked.book.list_second_markings() == [], "it was finished though nobody said so"
    page = marked.page(SECOND)
    assert re.search(r"begun, \d+ readings untested, not finished", page)
    assert ">Go on<" in page


def test_another_device_goes_on_where_the_first_stopped(marked: Site):
    number = drawn(marked, 1)[0]
    save(marked, number, {"s.tips.tip": "1"})
    other = marked.browser()
    assert f"{SECOND}/pairs/{number}" in other.get(SECOND).text
    assert 'name="s.tips.tip" value="1" checked' in other.get(f"{SECOND}/pairs/{number}").text
    save(marked, number, {"s.finish.pair": "2"}, client=other)
    assert len(draft(marked, number).readings) == 2  # type: ignore[union-attr]


def test_drawing_others_leaves_what_is_begun(marked: Site):
    first = drawn(marked, 1)[0]
    save(marked, first, {"s.tips.tip": "1"})
    numbers = drawn(marked, 1)
    assert first in numbers
    assert len(numbers) == 2
    drawn(marked, 1)
    assert draft(marked, first) is not None
    for number in (1, 2, 3):
        save(marked, number, whole(2, then="finish"))
    answer = marked.post(SECOND, {"n": "1"})
    assert answer.status_code == 422
    assert "no marked pair is left" in answer.text.lower()


# --- two hands -------------------------------------------------------------------------------------------------------


def test_the_second_hand_is_told_and_shown_both(marked: Site):
    base = state(marked, 1)
    save(marked, 1, {"s.tips.tip": "3"}, based_on=base)
    told = save(marked, 1, {"s.tips.tip": "1"}, based_on=base, headers=JSON)
    assert (told.status_code, told.json()["kind"]) == (409, "changed")
    answer = save(marked, 1, {"s.tips.tip": "1", "s.hair.heel": "fold"}, based_on=base)
    assert answer.status_code == 409
    assert draft(marked, 1).readings[0].seen == SeenLevel(level=3)  # type: ignore[union-attr]
    assert re.search(r'<legend>Tip condition, tip</legend>.*?value="3".*?value="1"', answer.text, re.DOTALL)
    assert f'action="{SECOND}/pairs/1"' in answer.text
    chosen = re.search(r'name="based_on" value="([^"]*)"', answer.text)[1]  # type: ignore[index]
    assert save(marked, 1, {"v.tips.tip": "1", "v.hair.heel": "fold"}, based_on=chosen).status_code == 303
    assert len(draft(marked, 1).readings) == 2  # type: ignore[union-attr]


def test_what_another_hand_changed_is_not_finished_over_it(marked: Site):
    base = state(marked, 1)
    save(marked, 1, whole(3), based_on=base)
    assert save(marked, 1, whole(1, then="finish"), based_on=base).status_code == 409
    assert marked.book.list_second_markings() == []


def test_each_mentor_marks_a_second_time_of_her_own(marked: Site):
    from evalkit.domain.round import Person

    marked.book.add_person("mentor", Person(key="berit", name="Berit Holm"), "oda")
    marked.post("/who", {"who": "oda"})
    save(marked, 1, {"s.tips.tip": "1"})
    other = marked.browser()
    other.post("/who", data={"token": marked.token(other), "who": "berit"})
    assert "checked" not in re.sub(r'value="" checked', "", other.get(f"{SECOND}/pairs/1").text.split("<dialog")[0])
    assert draft(marked, 1, "berit") is None


# --- steps back ------------------------------------------------------------------------------------------------------


def test_undo_goes_back_step_by_step(marked: Site):
    for level in ("1", "2", "3"):
        save(marked, 1, {"s.tips.tip": level})
    for expected in ([2], [1], []):
        answer = marked.post(f"{SECOND}/pairs/1/undo", {"based_on": state(marked, 1)})
        assert answer.status_code == 303
        assert [one.seen.level for one in draft(marked, 1).readings] == expected  # type: ignore[union-attr]
    assert marked.post(f"{SECOND}/pairs/1/undo", {"based_on": state(marked, 1)}).status_code == 422


def test_a_second_marking_can_be_put_away(marked: Site):
    number = drawn(marked, 1)[0]
    save(marked, number, {"s.tips.tip": "1"})
    assert marked.post(f"{SECOND}/pairs/{number}/put-away").headers["location"] == SECOND
    assert draft(marked, number) is None
    assert marked.post(f"{SECOND}/pairs/{number}/put-away").status_code == 404
    assert marked.book.check() == []
    for act in ("put-away", "undo"):
        assert marked.post(f"{SECOND}/pairs/9223372036854775808/{act}").status_code == 422


# --- what is refused -------------------------------------------------------------------------------------------------


def test_how_steady_it_was_is_told(marked: Site):
    save(marked, 1, whole(2, then="finish"))
    assert "set side by side" in marked.page("/steadiness")
    marked.post("/steadiness")
    assert "1 pair" in marked.page("/steadiness")


def test_a_second_marking_that_is_not_finished_tells_nothing_of_steadiness(marked: Site):
    save(marked, 1, whole(2))
    marked.post("/steadiness")
    assert "1 pair" not in marked.page("/steadiness")


def test_nothing_read_is_not_finished(marked: Site):
    answer = save(marked, 1, {"c.tips": "x", "then": "finish"})
    assert answer.status_code == 409
    assert "nothing of this pair is read yet" in answer.text.lower()
    assert marked.book.list_second_markings() == []


def test_what_is_untested_is_asked_about_before_it_is_finished(marked: Site):
    answer = save(marked, 1, {"s.tips.tip": "2", "then": "finish"})
    assert marked.book.list_second_markings() == [], "it was kept for good at one tap"
    assert len(draft(marked, 1).readings) == 1  # type: ignore[union-attr]
    page = marked.page(answer.headers["location"])
    assert "Untested, so not passed: 11 readings." in page
    assert "Finish it with 11 untested" in page
    fields = {"based_on": state(marked, 1), "then": "finish", "sure": "yes"}
    answer = marked.post(f"{SECOND}/pairs/1", fields)
    assert answer.headers["location"] == f"{SECOND}?kept=1"
    (kept,) = marked.book.list_second_markings("teo-1")
    assert [one.seen for one in kept.pairs[0].readings] == [SeenLevel(level=2)]
    assert "finished and kept, 11 readings untested" in marked.page(SECOND)


def test_the_question_is_not_asked_of_a_pair_that_is_all_tested(marked: Site):
    save(marked, 1, whole(2))
    assert "all the same?" not in marked.page(f"{SECOND}/pairs/1?finish=ask")


def test_what_another_hand_changed_meanwhile_is_not_finished_by_the_second_tap(marked: Site):
    save(marked, 1, {"s.tips.tip": "2", "then": "finish"})
    asked = state(marked, 1)
    save(marked, 1, {"s.tips.tip": "1"})
    answer = marked.post(f"{SECOND}/pairs/1", {"based_on": asked, "then": "finish", "sure": "yes"})
    assert answer.headers["location"] == f"{SECOND}/pairs/1?finish=ask"
    assert marked.book.list_second_markings() == []
    assert draft(marked, 1).readings[0].seen == SeenLevel(level=1)  # type: ignore[union-attr]


def test_opening_the_page_begins_nothing(marked: Site):
    acts = marked.book.latest_act()
    marked.page(f"{SECOND}/pairs/1")
    assert save(marked, 1, {"s.tips.tip": "", "v.tips.tip": ""}).status_code == 303
    assert marked.book.latest_act() == acts


def test_a_fault_is_told_and_the_rest_is_kept_but_not_finished(marked: Site):
    answer = save(marked, 1, {**whole(2), "v.ride-line.thumb-heel": "abc", "then": "finish"})
    assert answer.status_code == 422
    assert "abc" in answer.text
    assert 'name="s.tips.tip" value="2" checked' in answer.text
    assert len(draft(marked, 1).readings) == 11  # type: ignore[union-attr]
    assert marked.book.list_second_markings() == []


def test_a_round_that_was_not_marked_has_no_second_time(back: Site):
    assert "not marked a first time" in back.page(SECOND)
    assert back.get(f"{SECOND}/pairs/1").status_code == 404
    assert back.post(f"{SECOND}/pairs/1", {"s.tips.tip": "2", "based_on": ""}).status_code == 404
    assert back.post(SECOND, {"n": "2"}).status_code == 422
    assert back.book.list_second_drafts("teo-1", "oda") == {}


@pytest.mark.parametrize("path", ["", "/undo", "/put-away"])
def test_without_its_token_nothing_is_changed(marked: Site, path: str):
    save(marked, 1, {"s.tips.tip": "1"})
    acts = marked.book.latest_act()
    assert marked.client.post(f"{SECOND}/pairs/1{path}", data={"s.tips.tip": "3"}).status_code == 403
    assert marked.book.latest_act() == acts


def test_how_many_is_a_number(marked: Site):
    for n in ("", "0", "-1", "x", "61", "１", "99999999"):
        assert marked.post(SECOND, {"n": n}).status_code == 422


def test_the_pages_ask_few_queries_with_drafts(marked: Site):
    save(marked, 1, whole(2))
    save(marked, 2, {"s.tips.tip": "1"})
    for path in (SECOND, f"{SECOND}/pairs/1", ROUND):
        marked.get("/who")
        with Counter(marked.book) as counted:
            assert marked.get(path).status_code == 200
        assert counted.n <= 15, (path, counted.statements)
