"""Every command of evalkit that writes, with what has to be done before it; and the names of those that only read.

`tests/cli/test_writing_cases.py` fails when a command stands in neither list.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.cli.desk import MINI

Words = tuple[str, ...]


@dataclass(frozen=True)
class Case:
    """A command that writes. `before` are the commands (or names of `desk_making.MADE`) that come first.

    `files` are those it writes beside the book, `book` the one it writes in, `typed` what is answered to its questions.
    """

    words: Words
    before: tuple[Words | str, ...] = ()
    files: Words = ()
    is_act: bool = True
    book: str = "evalkit-book"
    typed: Words = ()
    again: Words = ()
    """What the second command is where the first one is not to be given twice as it is."""

    @property
    def all_words(self) -> Words:
        return ("--book", self.book, *self.words)

    @property
    def name(self) -> str:
        """The command as it is called; several cases may have one name."""
        return " ".join(self.words[:2] if self.words[0] in NOUNS else self.words[:1])


NOUNS = ("book", "rubric", "trainee", "pair", "round", "intake", "assessment", "packet", "marking", "steadiness")

PLAN = ("round", "plan", "teo", "--rubric", str(MINI), "--pairs", "S-101,S-102", "--on", "2026-04-01")
READ = ("intake", "take-in", "intake.md")
SEND = ("round", "send", "teo-1", "--on", "2026-04-02")
RECEIVE = ("round", "received", "teo-1", "--on", "2026-04-06")
SEAL = ("assessment", "take-in", "teo-1.md")
RETURN = ("round", "returned", "teo-1", "--on", "2026-04-20")
CHECK_IN = ("round", "check-in", "teo-1", "--on", "2026-04-27")
TAKE_MARKING = ("marking", "take-in", "marking.md")
PACKET = ("packet", "take-in", "teo-1-assessment-1.zip")
SIGN = ("sign-off", "teo", "--edge", "convex", "--note", "I have seen the hands at work")
OWN_NEW = ("book", "new", "own", "--trainee", "teo", "--name", "Teo Marsk")
RETIRE = ("pair", "retire", "S-101", "--reason", "it has been through enough", "--on", "2026-04-28")

SENT = (PLAN, SEND)
THERE = (*SENT, RECEIVE)
SEALED = (*THERE, SEAL)
AWAY = (*SEALED, RETURN)
BACK = (*AWAY, CHECK_IN)
MARKED = (*BACK, TAKE_MARKING)
OLDER = (*SEALED, ("book", "backup", "kept.zip"), ("trainee", "add", "lin", "Lin Aubrel"))
REPORT_OUT = ("packet", "report", "teo-1", "--out", "report.zip")
PAIR_ANSWERS = ("all 0.4", "3", "all clean", "3", "", "", "", "")
MARK_ANSWERS = (*PAIR_ANSWERS, *PAIR_ANSWERS, "yes", "Well done.")

CASES = (
    Case(("book", "new", "other"), is_act=False),
    Case(("book", "backup", "kept.zip"), SEALED, files=("kept.zip",), is_act=False),
    Case(("book", "restore", "kept.zip", "--over"), OLDER, is_act=False),
    Case(("book", "check"), (*SEALED, "half kept"), is_act=False),
    Case(("rubric", "schema", "schemas"), files=("schemas/rubric.schema.json", "schemas/causes.schema.json"),
         is_act=False),
    Case(("trainee", "add", "lin", "Lin Aubrel")),
    Case(("trainee", "export", "teo", "--out", "teo.zip"), SEALED, files=("teo.zip",), is_act=False),
    Case(("trainee", "erase", "teo", "--yes"), MARKED),
    Case(("pair", "add", "S-103", "--edge", "bevel", "--size", "5.5")),
    Case(("pair", "change", "S-101", "--blade-length", "72")),
    Case(("pair", "import", "stock.csv")),
    Case(("pair", "export", "out.csv"), files=("out.csv",), is_act=False),
    Case(("pair", "photo", "S-101", "p0.jpg", "p1.jpg", "--caption", "both blades")),
    Case(RETIRE),
    Case(("pair", "bring-back", "S-101", "--reason", "it was found", "--on", "2026-04-29"), (RETIRE,)),
    Case(PLAN),
    Case(("round", "unplan", "teo-1"), (PLAN,)),
    Case(("round", "propose", "teo", "--rubric", str(MINI), "--pairs", "2", "--plan"), (*MARKED, "more pairs")),
    Case(("round", "papers", "teo-1"), (PLAN,), is_act=False,
         files=("papers/teo-1-papers.html", "papers/teo-1-labels-a4-3x8.html")),
    Case(SEND, (PLAN,)),
    Case(RECEIVE, SENT),
    Case(RETURN, SEALED),
    Case((*CHECK_IN, "--missing", "2", "--damaged", "1: tip chipped"), AWAY),
    Case(("round", "check-in", "teo-1", "--correct", "--missing", "1", "--damaged", "2: tip chipped"),
         (*AWAY, (*CHECK_IN, "--missing", "2"))),
    Case(("round", "lost", "teo-1", "--on", "2026-04-25"), AWAY),
    Case(("round", "sheet", "teo-1", "--out", "blank.md"), (PLAN,), files=("blank.md",), is_act=False),
    Case(("round", "bench-book", "teo-1", "--out", "teo-1.html"), (PLAN,), files=("teo-1.html",), is_act=False),
    Case(("intake", "sheet", "teo-1", "--out", "read.md"), (PLAN,), files=("read.md",), is_act=False),
    Case(READ, (PLAN,)),
    Case(SEAL, THERE),
    Case(("assessment", "show", "teo-1", "--open-early"), SEALED),
    Case(("packet", "round", "teo-1", "--out", "round.zip"), (PLAN,), files=("round.zip",), is_act=False),
    Case(REPORT_OUT, MARKED, files=("report.zip",)),
    Case(PACKET, THERE),
    Case(("packet", "take-in", "round.zip"), (PLAN, ("packet", "round", "teo-1", "--out", "round.zip"), OWN_NEW),
         book="own"),
    Case(("packet", "take-in", "report.zip"), (*MARKED, REPORT_OUT, OWN_NEW), book="own"),
    Case(("mark", "teo-1"), BACK, typed=MARK_ANSWERS, again=("mark", "teo-1", "--amend", "looked again")),
    Case(("mark", "teo-1", "--amend", "looked again"), MARKED, typed=MARK_ANSWERS),
    Case(("marking", "sheet", "teo-1", "--out", "mark.md"), BACK, files=("mark.md",), is_act=False),
    Case(TAKE_MARKING, BACK),
    Case((*TAKE_MARKING, "--reason", "looked again"), (*MARKED, "another marking")),
    Case(("marking", "put-away", "teo-1"), (*MARKED, "a draft")),
    Case(("report", "teo-1", "--format", "html,md,json"), MARKED,
         files=("reports/teo-1.html", "reports/teo-1.md", "reports/teo-1.json")),
    Case(("progress", "teo"), MARKED, files=("reports/teo-progress.html",), is_act=False),
    Case(("school",), MARKED, files=("reports/school.html",), is_act=False),
    Case(("school", "--learn"), ("a school",)),
    Case(("school", "--forget"), ("a school", ("school", "--learn"))),
    Case(SIGN, MARKED),
    Case(("sign-off", "teo", "--withdraw", "--reason", "too early"), (*MARKED, SIGN)),
    Case(("steadiness", "pick", "teo-1", "--pairs", "2", "--out", "second.md"), MARKED, files=("second.md",),
         is_act=False),
    Case(("steadiness", "take-in", "second.md"), MARKED),
    Case(("demo", "story"), is_act=False),
)  # fmt: skip

READING = frozenset({
    "book history", "rubric list", "rubric check", "rubric show", "trainee list", "pair list", "pair show",
    "round list", "round show", "packet check", "steadiness show",
})  # fmt: skip
"""These write nothing, neither in the book nor beside it."""

ELSEWHERE = {"serve": "it writes page by page while it runs, through the same acts; its routes are not tried here"}
"""Commands that write and have no case, with the reason."""

READERS = (
    ("book", "check"), ("book", "history"), ("rubric", "list"), ("rubric", "show", str(MINI)), ("trainee", "list"),
    ("pair", "list"), ("pair", "show", "S-101"), ("round", "list"), ("round", "show", "teo-1"),
    ("round", "sheet", "teo-1"), ("marking", "sheet", "teo-1"), ("steadiness", "show"), ("progress", "teo", "--json"),
    ("school", "--json"), ("round", "propose", "teo", "--rubric", str(MINI), "--pairs", "1"),
    ("progress", "teo", "--out", "{out}"), ("school", "--out", "{out}"), ("pair", "export", "{out}/out.csv"),
    ("round", "papers", "teo-1", "--out", "{out}"), ("trainee", "export", "teo", "--out", "{out}/teo.zip"),
    ("book", "backup", "{out}/kept.zip"), ("packet", "round", "teo-1", "--out", "{out}/round.zip"),
    ("packet", "check", "teo-1-assessment-1.zip"), ("report", "teo-1", "--json"), ("report", "teo-1", "--out", "{out}"),
    ("assessment", "show", "teo-1"), ("steadiness", "pick", "teo-1", "--pairs", "1"),
)  # fmt: skip
"""What is to work on a book that cannot be written; '{out}' is a folder on another disk."""
