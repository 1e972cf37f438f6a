"""The command that writes the bench book: a new file each time, for the right trainee."""

from __future__ import annotations

from tests.cli.desk import Desk


def test_the_bench_book_is_written_for_its_trainee(out: Desk):
    answer = out.do("round", "bench-book", "teo-1", "--out", "teo-1.html")
    page = (out.folder / "teo-1.html").read_text(encoding="utf-8")
    assert "Wrote teo-1.html." in answer.out
    assert "Teo Marsk" in answer.out
    assert page.startswith("<!DOCTYPE html>")
    assert "<title>Bench book teo-1: Teo Marsk</title>" in page


def test_it_never_takes_the_place_of_another_file(out: Desk):
    kept = out.write("teo-1.html", "mine")
    assert "there is a file of that name" in out.refuse("round", "bench-book", "teo-1", "--out", "teo-1.html")
    assert kept.read_text(encoding="utf-8") == "mine"


def test_a_round_that_is_not_there_has_none(out: Desk):
    assert "teo-9" in out.refuse("round", "bench-book", "teo-9", "--out", "teo-9.html")
    assert not (out.folder / "teo-9.html").exists()


def test_it_is_the_same_page_every_time(out: Desk):
    out.do("round", "bench-book", "teo-1", "--out", "a.html")
    out.do("round", "bench-book", "teo-1", "--out", "b.html")
    assert (out.folder / "a.html").read_bytes() == (out.folder / "b.html").read_bytes()
