"""A second look at some pairs: blind to the first, kept beside it, and no verdict changes."""

from __future__ import annotations

import re

from tests.web.site import ROUND, Site, whole

FIRST = ("Keep:", "uneven pressure", "rework", "would have gone out")


def test_pairs_are_drawn_and_marked_blind(marked: Site):
    before = marked.get(f"{ROUND}/report.md").text
    answer = marked.post(f"{ROUND}/second", {"n": "2"})
    where = answer.headers["location"]
    numbers = [int(number) for number in re.search(r"of=([\d-]+)", where)[1].split("-")]
    assert len(numbers) == 2
    page = marked.page(where)
    number = numbers[0]
    assert f"{ROUND}/second/pairs/{number}?of=" in page
    page = marked.page(f"{ROUND}/second/pairs/{number}")
    assert not re.search(r'value="[^"]+" checked', page), "a reading of the first marking stands on the page"
    assert not [word for word in FIRST if word in page]
    acts = len(marked.book.list_acts())
    answer = marked.post(f"{ROUND}/second/pairs/{number}?of={number}", whole(2))
    assert answer.status_code == 303
    assert len(marked.book.list_acts()) == acts + 1
    (kept,) = marked.book.list_second_markings("teo-1")
    assert [pair.number for pair in kept.pairs] == [number]
    assert f"✓ <b>{number}</b>" in marked.page(answer.headers["location"])
    assert marked.get(f"{ROUND}/report.md").text == before


def test_how_steady_it_was_is_told(marked: Site):
    marked.post(f"{ROUND}/second/pairs/1", whole(2))
    assert "set side by side" in marked.page("/steadiness")
    marked.post("/steadiness")
    assert "1 pair" in marked.page("/steadiness")


def test_nothing_read_keeps_nothing(marked: Site):
    answer = marked.post(f"{ROUND}/second/pairs/1", {"keep": "x"})
    assert answer.status_code == 409
    assert marked.book.list_second_markings() == []


def test_a_fault_keeps_nothing_and_loses_nothing(marked: Site):
    answer = marked.post(f"{ROUND}/second/pairs/1", {**whole(2), "v.ride-line.thumb-heel": "abc"})
    assert answer.status_code == 422
    assert "abc" in answer.text
    assert 'name="s.tips.tip" value="2" checked' in answer.text
    assert marked.book.list_second_markings() == []


def test_a_round_that_was_not_marked_has_no_second_time(back: Site):
    assert "not marked a first time" in back.page(f"{ROUND}/second")
    assert back.get(f"{ROUND}/second/pairs/1").status_code == 404
    assert back.post(f"{ROUND}/second", {"n": "2"}).status_code == 422


def test_how_many_is_a_number(marked: Site):
    for n in ("", "0", "-1", "x", "61", "１", "99999999"):
        assert marked.post(f"{ROUND}/second", {"n": n}).status_code == 422
