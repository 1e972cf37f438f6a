"""What cannot be right is refused with one clear line, in its place, and the book stays as it was.

`Desk.refuse` compares every row of the book, its history among them, and every picture before and after.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from evalkit.files.sheets.file import MAX_BYTES
from tests.cli.desk import MINI, Desk, fill
from tests.reports.hostile import LINES
from tests.reports.pages import elements

TRAINEE_PLACE = ("- Tips: 2", "- Tips: {}")


def taken_in(desk: Desk, *changes: tuple[str, str], name: str = "teo-1.md") -> str:
    """Take in the filled sheet with these changes; it must be refused. Answers what was said."""
    sheet = (desk.folder / "teo-1.md").read_text(encoding="utf-8")
    desk.write(name, fill(sheet, *changes))
    return desk.refuse("assessment", "take-in", name)


def lines_of(said: str) -> list[str]:
    return [line for line in said.splitlines() if line]


def faults_of(said: str) -> list[str]:
    """The lines of the faults, without the line that counts several."""
    lines = lines_of(said)
    if len(lines) == 1:
        return [lines[0].removeprefix("evalkit: ")]
    assert re.fullmatch(rf"evalkit: .+: {len(lines) - 1} faults; nothing was kept. .+", lines[0]), lines[0]
    return lines[1:]


# --- a filled sheet --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (("## Pair 2", "## Pair 7"), "7"),
        (("- Tips: 2", "- Tipps: 2"), "Did you mean 'tips'"),
        (("- Tips: 2", "- Sharpness: 2"), "Sharpness"),
        (("- Tips: 2", "- Tips: 4"), "level 4 is off the ladder"),
        (("- Tips: 2", "- Tips: -1"), "is not understood"),
        (("- Tips: 2", "- Tips: heel 2"), "is not read at heel"),
        (("- Hair swatch: all clean", "- Hair swatch: heel clean, heel fold"), "stands twice"),
        (("- Hair swatch: all clean", "- Hair swatch: all clean\n- Hair swatch: all fold"), "twice"),
        (("- Hair swatch: all clean", "- Hair swatch: all lovely"), "is not understood"),
        (("- Hair swatch: all clean", "- Hair swatch: all clean in wet tissue"), "wet tissue"),
        (("  - thumb: all 0.4", "  - thumb: all 0.4 kg"), "does not measure"),
        (("  - thumb: all 0.4", "  - thumb: all 5000"), "is not possible"),
        (("  - thumb: all 0.4", "  - thumb: all -0.4"), "is not"),
        (("  - thumb: all 0.4", "  - thumb: all 1e999"), "is not"),
        (("  - thumb: all 0.4", "  - thumb: all nan"), "is not understood"),
        (("- Minutes: 70", "- Minutes: 70000"), "inutes"),
        (("- Minutes: 70", "- Minutes: soon"), "inutes"),
        (("- Own verdict: accepted", "- Own verdict: splendid"), "verdict"),
        (("- Own verdict: accepted", "- Own verdict: not shown"), "verdict"),
        (("- Decision: sharpen", "- Decision: leave"), "reason"),
        (("- Decision: sharpen", "- Decision: throw away"), "throw away"),
        (("- Width before (mm): heel ?", "- Width before (mm): heel 900"), "900"),
        (("- Written on: ?", "- Written on: 2026-02-30"), "2026-02-30"),
        (("- Written on: ?", "- Written on: tomorrow"), "tomorrow"),
        (("sheet: assessment", "sheet: sonnet"), "sonnet"),
        (("evalkit: 1", "evalkit: 2"), "format"),
        (("trainee: teo", "trainee: tea"), "tea"),
        (("rubric-digest: ", "rubric-digest: 0"), "rubric has changed since"),
        (("---\nevalkit", "evalkit"), "head"),
        (("### As finished", "### As imagined"), "As imagined"),
    ],
)  # fmt: skip
def test_a_fault_in_a_sheet_is_told_with_its_line(change: tuple[str, str], what: str, out: Desk):
    said = taken_in(out, change)
    assert what in said
    for line in faults_of(said):
        assert re.match(r"teo-1\.md(:\d+)?: .+\.", line), line
        assert re.search(r"\.md:\d", line) or "is missing" in line, line


def test_the_line_is_the_line_of_the_fault(out: Desk):
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8").splitlines()
    line = next(number for number, text in enumerate(sheet, start=1) if text == "- Tips: 2")
    assert f"teo-1.md:{line}: level 9 is off the ladder." in taken_in(out, ("- Tips: 2", "- Tips: 9"))


def test_all_faults_of_a_sheet_are_told_at_once(out: Desk):
    said = taken_in(
        out, ("- Tips: 2", "- Tips: 9"), ("- Minutes: 70", "- Minutes: soon"), ("- Cleanliness: 3", "- Cleanlines: 3")
    )
    assert len(faults_of(said)) == 3
    numbers = [int(line.split(":")[1]) for line in faults_of(said)]
    assert numbers == sorted(numbers)


def test_a_pair_that_is_left_out_of_a_sheet_is_missed(out: Desk):
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    out.write("teo-1.md", sheet[: sheet.index("## Pair 2")])
    assert "pair 2 is missing" in out.refuse("assessment", "take-in", "teo-1.md")


def test_a_blank_sheet_is_not_sealed(out: Desk):
    assert "nothing is filled in" in out.refuse("assessment", "take-in", "blank.md")


def test_a_sheet_of_another_round_is_refused(out: Desk):
    assert "there is no round 'teo-9'" in taken_in(out, ("round: teo-1", "round: teo-9"))


def test_a_sheet_whose_box_has_not_arrived_is_refused(stocked: Desk, out_folder: Path):
    stocked.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101,S-102")
    sheet = (out_folder / "teo-1.md").read_text(encoding="utf-8")
    stocked.write("teo-1.md", sheet)
    assert "nothing in it can have been assessed yet" in stocked.refuse("assessment", "take-in", "teo-1.md")


def test_what_is_sealed_stays_sealed(back: Desk):
    sheet = (back.folder / "teo-1.md").read_text(encoding="utf-8")
    back.write("teo-1.md", sheet.replace("- Minutes: 70", "- Minutes: 71"))
    said = back.refuse("assessment", "take-in", "teo-1.md")
    assert said == (
        "evalkit: round teo-1: another assessment of this round is sealed. "
        "To amend it give a reason (--reason); the sealed one is kept.\n"
    )


def test_a_rubric_edited_since_does_not_change_a_round(out: Desk, monkeypatch: pytest.MonkeyPatch):
    """The round keeps its frozen rubric; a sheet made for the edited one is refused."""
    edited = MINI.read_text(encoding="utf-8").replace("weight = 14", "weight = 15")
    out.write("mini.toml", edited)
    out.do("pair", "add", "S-103", "--edge", "convex", "--size", "6")
    out.do("round", "plan", "teo", "--rubric", "mini.toml", "--pairs", "S-103")
    assert out.do("round", "show", "teo-2", "--json").json["rubric_version"] == 2
    newer = re.search(r"rubric-digest: (\w+)", out.do("round", "sheet", "teo-2").out)
    older = re.search(r"rubric-digest: (\w+)", (out.folder / "teo-1.md").read_text(encoding="utf-8"))
    assert newer is not None
    assert older is not None
    said = taken_in(out, (older[0], newer[0]))
    assert "the rubric has changed since" in said
    assert out.do("rubric", "show", "mini.toml", "--json").json["criteria"][0]["weight"] == 15
    out.do("assessment", "take-in", out.write("right.md", fill(
        (out.folder / "teo-1.md").read_text(encoding="utf-8"), (newer[0], older[0]))))  # fmt: skip


@pytest.mark.parametrize(
    ("day", "what"),
    [("2026-05-02", "It has to lie between 2026-04-06 and 2026-05-01"), ("2026-04-05", "lies before 2026-04-06")],
)
def test_a_sheet_of_an_impossible_day_is_refused(day: str, what: str, out: Desk):
    assert what in taken_in(out, ("- Written on: ?", f"- Written on: {day}"))


def test_a_day_of_assessment_that_cannot_be_names_its_line(out: Desk):
    said = taken_in(out, ("- Written on: ?", "- Written on: 2026-12-01"))
    assert "Written on: the day 2026-12-01 is not possible. It has to " in said


def test_a_day_of_marking_that_cannot_be_names_its_line(back: Desk):
    back.do("marking", "sheet", "teo-1", "--out", "mark.md")
    text = (back.folder / "mark.md").read_text(encoding="utf-8")
    back.write(
        "marked.md", fill(text, ("- Marked on: ?", "- Marked on: 2026-12-01")).replace("- Tips: ?", "- Tips: 2", 1)
    )
    assert "Marked on: the day 2026-12-01 is not possible. It has to " in back.refuse("marking", "take-in", "marked.md")


def test_a_day_of_intake_that_cannot_be_names_its_line(stocked: Desk):
    stocked.do("round", "plan", "teo", "--rubric", MINI, "--pairs", "S-101,S-102")
    sheet = stocked.do("intake", "sheet", "teo-1").out
    filled = fill(sheet, ("- Read on: ?", "- Read on: 2026-12-01")).replace("- Tips: ?", "- Tips: 2", 1)
    stocked.write("in.md", filled)
    said = stocked.refuse("intake", "take-in", "in.md")
    assert "Read on: the day 2026-12-01 is not possible. It has to be 2026-05-01 or before." in said


@pytest.mark.parametrize("encoding", ["utf-16", "latin-1", "cp1252"])
def test_a_sheet_in_another_encoding_is_refused_with_the_remedy(encoding: str, out: Desk):
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    sheet = sheet.replace("### Notes\n", "### Notes\n\nSchön geschliffen, Müller\n", 1)
    (out.folder / "teo-1.md").write_bytes(sheet.encode(encoding, errors="replace"))
    said = out.refuse("assessment", "take-in", "teo-1.md")
    assert "UTF-8" in said
    assert len(lines_of(said)) == 1


def test_a_sheet_with_a_mark_at_its_start_and_windows_lines_is_read(out: Desk):
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    (out.folder / "teo-1.md").write_bytes(sheet.replace("\n", "\r\n").encode("utf-8-sig"))
    out.do("assessment", "take-in", "teo-1.md")


def test_a_million_lines_are_refused_quickly(out: Desk):
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    out.write("long.md", sheet + "- Tips: 2\n" * 1_000_000)
    said = out.refuse("assessment", "take-in", "long.md")
    assert len(lines_of(said)) == 1
    assert "long.md" in said
    out.write("short.md", sheet + "\n" * (MAX_BYTES - len(sheet.encode())))
    out.run("assessment", "take-in", "short.md")


def test_binary_files_are_no_sheets(out: Desk):
    (out.folder / "x.md").write_bytes(bytes(range(256)) * 40)
    out.refuse("assessment", "take-in", "x.md")
    (out.folder / "empty.md").write_bytes(b"")
    out.refuse("assessment", "take-in", "empty.md")
    out.refuse("assessment", "take-in", "missing.md")
    out.refuse("assessment", "take-in", ".")


def test_the_sheet_of_the_other_side_is_refused(back: Desk):
    back.do("marking", "sheet", "teo-1", "--out", "marking.md")
    assert "Take it in with 'evalkit marking take-in'." in back.refuse("assessment", "take-in", "marking.md")
    assert "Take it in with 'evalkit assessment take-in'." in back.refuse("marking", "take-in", "teo-1.md")


def test_a_box_that_is_not_back_is_not_marked(out: Desk):
    out.do("marking", "sheet", "teo-1", "--out", "marking.md")
    text = (out.folder / "marking.md").read_text(encoding="utf-8")
    out.write("marking.md", text.replace("- Tips: ?", "- Tips: 1", 1))
    assert "Check it in first" in out.refuse("marking", "take-in", "marking.md")
    assert "Check it in first" in out.refuse("mark", "teo-1")


def test_a_blank_marking_is_not_kept(back: Desk):
    back.do("marking", "sheet", "teo-1", "--out", "marking.md")
    assert "nothing is filled in" in back.refuse("marking", "take-in", "marking.md")


def test_another_marking_needs_a_reason(back: Desk):
    text = back.do("marking", "sheet", "teo-1").out
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 1", 1))
    back.do("marking", "take-in", "marking.md")
    back.write("marking.md", text.replace("- Tips: ?", "- Tips: 2", 1))
    assert "another marking of this round is finished" in back.refuse("marking", "take-in", "marking.md")


def test_a_gap_that_no_angle_can_be_reckoned_from_is_not_sealed(stocked: Desk):
    """Sealed, it would keep the round from ever being answered. 200 mm cannot stand between blades of 60 mm."""
    stocked.do("pair", "add", "L-1", "--edge", "convex", "--size", "6", "--blade-length", "60")
    stocked.do("round", "plan", "teo", "--rubric", "first-rounds", "--pairs", "S-101,L-1", "--on", "2026-04-01")
    stocked.do("round", "send", "teo-1")
    stocked.do("round", "received", "teo-1")
    sheet = stocked.do("round", "sheet", "teo-1").out
    first, second = sheet.split("## Pair 2")
    blank, gap = "- Tension (deg open): ?", "- Tension (deg open): {} mm tip gap"
    stocked.write("a.md", fill(first, (blank, gap.format(30))) + "## Pair 2" + second)
    said = stocked.refuse("assessment", "take-in", "a.md")
    assert "only with the blade length" in said
    assert "evalkit pair change S-101 --blade-length MM" in said
    stocked.write("b.md", first + "## Pair 2" + fill(second, (blank, gap.format(200))))
    assert "a tip gap of 200 mm is not possible" in stocked.refuse("assessment", "take-in", "b.md")
    stocked.do("pair", "change", "S-101", "--blade-length", "66,5")
    stocked.do("assessment", "take-in", "a.md")
    stocked.write("c.md", first + "## Pair 2" + fill(second, (blank, gap.format(30))))
    stocked.do("assessment", "take-in", "c.md", "--reason", "the other pair was dropped")
    stocked.do("report", "teo-1", "--open-early")


# --- photos ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("none.jpg", "photo 'none.jpg' cannot be read (no such file or directory)"),
        ("../outside.jpg", "outside"),
        ("/etc/hostname", "outside"),
        ("..\\outside.jpg", "outside"),
        ("link.jpg", "outside"),
        ("notes.txt", "no picture"),
        ("page.jpg", "no picture"),
        ("broken.jpg", "cut short or damaged"),
        ("empty.jpg", "empty"),
        ("folder", "cannot be read"),
    ],
)
def test_a_picture_that_is_none_is_refused_with_all_others(
    name: str, what: str, out: Desk, make_picture: Callable[[Path], None]
):
    make_picture(out.folder / "good.jpg")
    make_picture(out.folder.parent / "outside.jpg")
    (out.folder / "link.jpg").symlink_to(out.folder.parent / "outside.jpg")
    out.write("notes.txt", "not a picture")
    out.write("page.jpg", "<script>alert(1)</script>")
    (out.folder / "broken.jpg").write_bytes((out.folder / "good.jpg").read_bytes()[:200])
    (out.folder / "empty.jpg").write_bytes(b"")
    (out.folder / "folder").mkdir()
    said = taken_in(out, ("### Photos\n", f"### Photos\n\n- ![good](good.jpg)\n- ![bad](<{name}>)\n"))
    assert what in said
    assert list((out.book / "photos").rglob("*.jpg")) == []


def test_when_the_act_fails_the_pictures_are_gone_again_but_not_those_known_before(
    out: Desk, make_picture: Callable[[Path], None]
):
    make_picture(out.folder / "good.jpg")
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    with_photo = sheet.replace("### Photos\n", "### Photos\n\n- ![good](good.jpg)\n", 1)
    out.write("teo-1.md", with_photo)
    out.do("assessment", "take-in", "teo-1.md")
    kept = list((out.book / "photos").rglob("*.jpg"))
    assert len(kept) == 1
    from PIL import Image

    Image.new("RGB", (60, 60), (1, 2, 3)).save(out.folder / "other.jpg")
    out.write("teo-1.md", with_photo.replace("- ![good](good.jpg)", "- ![good](good.jpg)\n- ![other](other.jpg)"))
    out.refuse("assessment", "take-in", "teo-1.md")  # sealed already, and no reason is given
    assert list((out.book / "photos").rglob("*.jpg")) == kept


# --- stock and people ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("pair", "add", "S 1", "--edge", "convex", "--size", "6"), "tag"),
        (("pair", "add", "S-1", "--edge", "konvex", "--size", "6"), "'convex'"),
        (
            ("pair", "add", "S-1", "--edge", "convex", "--size", "6.1"),
            "S-1: size 6.1 in is not a step of a quarter inch.",
        ),
        (
            ("pair", "add", "S-1", "--edge", "convex", "--size", "60"),
            "size: '60' is not possible; it must be at most 10.",
        ),
        (
            ("pair", "add", "S-1", "--edge", "convex", "--size", "nan"),
            "size: 'nan' is no number. Inches in steps of a quarter",
        ),
        (("pair", "add", "S-1", "--edge", "convex", "--size", "long"), "size: 'long' is no number."),
        (("pair", "add", "S-1", "--edge", "convex", "--size", "6", "--teeth", "30"), "no teeth"),
        (("pair", "add", "S-1", "--edge", "convex", "--size", "6", "--value", "40"), "currency"),
        (("pair", "add", "S-1", "--edge", "convex", "--size", "6", "--difficulty", "9"), "difficulty"),
        (
            ("pair", "add", "S-1", "--edge", "convex", "--size", "6", "--blade-length", "2000"),
            "blade length: '2000' is not possible",
        ),
        (("pair", "add", "S-1", "--edge", "convex", "--size", "6", "--fault", "a:b:c:d:e"), "too many parts"),
        (
            ("pair", "add", "S-1", "--edge", "convex", "--size", "6", "--fault", "nick:9"),
            "fault 1, severity: '9' is not possible; it must be at most 3.",
        ),
        (("pair", "add", "S-101", "--edge", "convex", "--size", "6"), "never used again"),
        (("pair", "add", "s-101", "--edge", "convex", "--size", "6"), "never used again"),
        (("trainee", "add", "Teo!", "Teo"), "key"),
        (("trainee", "add", "teo", "Another Teo"), "the key 'teo' is Teo Marsk's, a trainee"),
        (("trainee", "add", "oda", "Oda"), "the key 'oda' is Oda Ferrin's, a mentor"),
        (("trainee", "add", "new", ""), "name"),
        (("--as", "nobody", "trainee", "add", "new", "New"), "knows nobody as 'nobody'"),
        (("book", "new"), "there is a book already"),
        (("book", "new", "x", "--mentor", "Not A Key"), "key"),
    ],
)
def test_people_and_pairs_that_cannot_be_are_refused(words: tuple[str, ...], what: str, stocked: Desk):
    said = stocked.refuse(*words)
    assert what in said
    assert len(lines_of(said)) == 1
    assert not (stocked.folder / "x").exists()


def test_a_book_is_not_made_over_anything(empty_desk: Desk):
    (empty_desk.folder / "full").mkdir()
    empty_desk.write("full/a.txt", "mine")
    assert "there is something already" in empty_desk.refuse("book", "new", "full")
    assert [path.name for path in (empty_desk.folder / "full").iterdir()] == ["a.txt"]


@pytest.mark.parametrize(
    "words",
    [
        ("book", "check"), ("book", "history"), ("trainee", "list"), ("trainee", "add", "a", "A"), ("pair", "list"),
        ("round", "list"), ("round", "show", "teo-1"), ("round", "send", "teo-1"), ("mark", "teo-1"),
        ("report", "teo-1"), ("assessment", "show", "teo-1"), ("marking", "sheet", "teo-1"),
    ],
)  # fmt: skip
def test_without_a_book_every_command_says_how_to_make_one(words: tuple[str, ...], empty_desk: Desk):
    answer = empty_desk.run(*words)
    assert (answer.code, answer.out) == (3, "")
    assert answer.err == "evalkit: evalkit-book: there is no book here. Make one: evalkit book new evalkit-book\n"
    assert list(empty_desk.folder.iterdir()) == []


def test_a_book_that_is_none_is_told(empty_desk: Desk):
    (empty_desk.folder / "evalkit-book").mkdir()
    (empty_desk.folder / "evalkit-book" / "book.sqlite").write_bytes(b"not a database at all" * 100)
    answer = empty_desk.run("round", "list")
    assert answer.code == 3
    assert len(lines_of(answer.err)) == 1


# --- rounds ----------------------------------------------------------------------------------------------------------

PLAN = ("round", "plan", "teo", "--rubric", str(MINI), "--pairs")


@pytest.mark.parametrize(
    ("words", "what"),
    [
        ((*PLAN, "S-999"), "there is no pair 'S-999'"),
        ((*PLAN, "S-101,S-101"), "twice"),
        ((*PLAN, ""), "at least one pair"),
        ((*PLAN, "S-101", "--key", "Not A Key"), "key"),
        ((*PLAN, "S-101", "--on", "2026-02-30"), "2026-02-30"),
        ((*PLAN, "S-101", "--on", "soon"), "'soon' is not a day"),
        ((*PLAN, "S-101", "--called-for", "2=leave"), "names pair 2"),
        ((*PLAN, "S-101", "--called-for", "1=burn"), "'burn' is no decision"),
        ((*PLAN, "S-101", "--called-for", "leave"), "NUMBER=DECISION"),
        (("round", "plan", "tom", "--rubric", str(MINI), "--pairs", "S-101"), "there is no trainee 'tom'"),
        (("round", "plan", "teo", "--rubric", "shaers", "--pairs", "S-101"), "shears"),
        (("round", "plan", "teo", "--rubric", "toothed", "--pairs", "S-101"), "does not serve convex pairs"),
        (("--as", "teo", *PLAN, "S-101"), "there is no mentor 'teo'"),
        (("round", "show", "teo-9"), "there is no round 'teo-9'"),
        (("round", "send", "teo-9"), "there is no round 'teo-9'"),
        (("round", "sheet", "teo-9"), "there is no round 'teo-9'"),
        (("report", "teo-9"), "there is no round 'teo-9'"),
        (("mark", "teo-9"), "there is no round 'teo-9'"),
        (("assessment", "show", "teo-9"), "teo-9"),
    ],
)
def test_rounds_that_cannot_be_are_refused(words: tuple[str, ...], what: str, stocked: Desk):
    said = stocked.refuse(*words)
    assert what in said
    assert len(lines_of(said)) == 1


@pytest.mark.parametrize(
    ("words", "what"),
    [
        (("round", "send", "teo-1"), "cannot be 'sent' now"),
        (("round", "check-in", "teo-1"), "cannot be 'received back' now"),
        (("round", "lost", "teo-1"), "cannot be 'lost' now"),
        (("round", "returned", "teo-1", "--on", "2026-04-05"), "lies before 2026-04-06"),
        (("round", "returned", "teo-1", "--on", "2026-05-02"), "is still to come"),
        (("round", "returned", "teo-1", "--condition", "x" * 3000), "condition"),
        (("round", "returned", "teo-1", "--ref", "two\nlines"), "carrier reference"),
        ((*PLAN, "S-101"), "the pair is in round teo-1"),
        ((*PLAN, "S-101", "--key", "teo-1"), "the pair is in round teo-1"),
        (("mark", "teo-1", "--pair", "1"), "Check it in first"),
        (("assessment", "show", "teo-1"), "no sealed assessment"),
        (("round", "sheet", "teo-1", "--out", "teo-1.md"), "a file of that name"),
        (("round", "sheet", "teo-1", "--out", "none/teo-1.md"), "cannot be written"),
        (("report", "teo-1", "--format", "docx"), "'docx' is no format"),
        (("report", "teo-1", "--paper", "A5"), "A4 or Letter"),
        (("report", "teo-1", "--out", "teo-1.md", "--open-early"), "the report cannot be written"),
    ],
)
def test_steps_out_of_turn_are_refused(words: tuple[str, ...], what: str, out: Desk):
    said = out.refuse(*words)
    assert what in said
    assert len(lines_of(said)) == 1


def test_a_key_that_is_taken_freezes_nothing(back: Desk):
    """Otherwise a refused plan would leave a rubric behind that no round is judged by."""
    back.do("pair", "add", "S-103", "--edge", "convex", "--size", "6")
    back.write("mini.toml", MINI.read_text(encoding="utf-8").replace("weight = 14", "weight = 15"))
    said = back.refuse("round", "plan", "teo", "--rubric", "mini.toml", "--pairs", "S-103", "--key", "teo-1")
    assert "there is a round 'teo-1' already" in said


@pytest.mark.parametrize(
    ("variable", "text"),
    [("TODAY", "2026-02-30"), ("TODAY", "yesterday"), ("PAPER", "A3")],
)
def test_a_setting_that_cannot_be_is_named(variable: str, text: str, stocked: Desk, monkeypatch: pytest.MonkeyPatch):
    from evalkit.cli.app import run

    monkeypatch.setenv(f"EVALKIT_{variable}", text)
    stocked._capsys.readouterr()
    assert run(["round", "list"]) == 2
    said = stocked._capsys.readouterr()
    assert said.out == ""
    assert f"EVALKIT_{variable}" in said.err
    assert f"'{text}'" in said.err


# --- hostile words ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("at", range(0, len(LINES), 12))
def test_hostile_words_from_the_command_line_to_the_report_are_only_words(at: int, out: Desk):
    notes = [note for note in LINES[at : at + 12] if note.isprintable() and len(note) <= 200]
    for number, note in enumerate(notes):
        out.do("trainee", "add", "--", f"t-{number}", note)
        more = (f"--origin={note}", f"--pivot={note}")
        out.do("pair", "add", f"H-{number}", "--edge", "convex", "--size", "6", *more)
    listed = out.do("trainee", "list", "--json").json["trainees"]
    assert {one["name"] for one in listed} >= {note.strip() for note in notes}
    sheet = (out.folder / "teo-1.md").read_text(encoding="utf-8")
    prose = "\n>\n".join(f"> {note}" for note in notes)
    out.write("teo-1.md", sheet.replace("### Notes\n", f"### Notes\n\nSee what they sent:\n\n{prose}\n", 1))
    out.do("assessment", "take-in", "teo-1.md")
    out.do("round", "returned", "teo-1", f"--condition={notes[0]}")
    out.do("report", "teo-1", "--open-early")
    for element in elements((out.folder / "reports" / "teo-1.html").read_text(encoding="utf-8")):
        assert element.tag not in {"script", "iframe", "object", "embed", "form", "link", "base"}
        assert not any(name.startswith("on") for name in element.attributes)


def test_control_signs_in_names_are_refused_or_shown_as_words(stocked: Desk):
    """A terminal obeys escape signs; none may reach it from a name."""
    for name in ("\x1b[31mred", "bell\x07", "nul\x00", "two\nlines"):
        answer = stocked.run("trainee", "add", "evil", name)
        assert answer.code == 2, name
    assert "\x1b" not in stocked.do("trainee", "list").out
