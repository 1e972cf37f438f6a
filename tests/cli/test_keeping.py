"""Backup and restore, handing out and erasing, as they are given at the terminal."""

from __future__ import annotations

import json
import re
import shutil
import zipfile

from tests.cli.desk import Desk
from tests.cli.test_commands import with_photo


def marked(back: Desk) -> None:
    """The round of the desk marked by sheet, and its report written."""
    back.do("marking", "sheet", "teo-1", "--out", "m.md")
    sheet = (back.folder / "m.md").read_text(encoding="utf-8")
    back.write("m.md", sheet.replace("- Tips: ?", "- Tips: 1", 1))
    back.do("marking", "take-in", "m.md")


def test_a_book_restored_elsewhere_writes_the_same_report_byte_for_byte(back: Desk, make_picture):
    marked(back)
    back.do("report", "teo-1", "--format", "html,json,md", "--out", "before")
    assert back.do("book", "backup", "kept.zip").out.startswith("Wrote kept.zip: the record and 0 photos")
    shutil.rmtree(back.book)
    assert back.do("book", "restore", "kept.zip").out.startswith("Put back evalkit-book: ")
    back.do("report", "teo-1", "--format", "html,json,md", "--out", "after")
    for ending in ("html", "json", "md"):
        assert (back.folder / f"before/teo-1.{ending}").read_bytes() == (
            back.folder / f"after/teo-1.{ending}"
        ).read_bytes()
    assert back.do("book", "check").out.startswith("The book is sound")


def test_a_backup_takes_its_name_from_the_book_and_the_day(stocked: Desk):
    assert stocked.do("book", "backup").out.startswith("Wrote evalkit-book-2026-05-01.zip: ")
    assert "there is a file of that name" in stocked.refuse("book", "backup")


def test_a_restore_over_a_newer_book_is_refused_until_it_is_meant(stocked: Desk):
    stocked.do("book", "backup", "kept.zip")
    stocked.do("trainee", "add", "lin", "Lin Aubrel")
    assert "holds 1 act that the backup lacks" in stocked.refuse("book", "restore", "kept.zip")
    out = stocked.do("book", "restore", "kept.zip", "--over").out
    assert "The book that was here is now evalkit-book-set-aside-" in out
    assert len(stocked.do("trainee", "list", "--json").json["trainees"]) == 1


def test_what_is_kept_of_a_trainee_is_handed_out_whole(out: Desk, make_picture):
    with_photo(out, make_picture)
    assert out.do("trainee", "export", "teo").out == "Wrote teo-2026-05-01.zip: 1 round, 1 photo.\n"
    with zipfile.ZipFile(out.folder / "teo-2026-05-01.zip") as box:
        data = json.loads(box.read("data.json"))
        (photo,) = [name for name in box.namelist() if name.startswith("photos/")]
        assert "Teo Marsk" in box.read("README.txt").decode()
    (one,) = data["rounds"]
    (sealed,) = one["assessments"]
    first = sealed["assessment"]["pairs"][0]
    assert re.fullmatch(r"[0-9a-f]{64}", sealed["seal"])
    assert first["questions"] == ["How even is even enough?"]
    assert photo == f"photos/{first['photos'][0]['file']}.jpg"
    assert "there is a file of that name" in out.refuse("trainee", "export", "teo")
    assert "nobody" in out.refuse("trainee", "export", "nobody")


def test_erasing_asks_first_and_then_leaves_no_word_and_no_photo(out: Desk, make_picture):
    with_photo(out, make_picture)
    said = out.refuse("trainee", "erase", "teo")
    assert "this erases Teo Marsk for good" in said
    assert "evalkit trainee export teo" in said
    told = out.do("trainee", "erase", "teo", "--yes").out
    assert "Of 1 round the bare levels stay, under 'erased-1'" in told
    assert "backups, reports, sheets and packets" in told
    assert not list((out.book / "photos").rglob("*.jpg"))
    assert out.do("book", "check").out.startswith("The book is sound")
    kept = b"".join(path.read_bytes() for path in out.book.rglob("*") if path.is_file())
    assert b"Marsk" not in kept
    assert b"How even" not in kept
