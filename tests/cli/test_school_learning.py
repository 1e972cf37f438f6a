"""Learning from the school by command: refused while it is too small, kept with its day, used, forgotten."""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import Decimal

import pytest

from evalkit.book.book import Book
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import EdgeType, KnownFault, Pair
from evalkit.domain.reading import Reading, SeenLevel, Stage
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.files.rubrics import load_rubric
from tests.cli.desk import MINI, Desk

SENT = date(2026, 3, 1)
ODA = Person(key="oda", name="Oda Ferrin")


def mark_a_box(book: Book, rubric: Rubric, at: int) -> None:
    """A trainee with one box of six marked pairs, every second of which has a nick."""
    who, luck = Person(key=f"t{at}", name=f"Trainee {at}"), random.Random(at)
    book.add_person("trainee", who, "oda")
    faults = (KnownFault(tag="nick"),)
    pairs = [
        Pair(
            tag=f"T{at}-{n}", edge_type=EdgeType.BEVEL, size_in=Decimal(6), difficulty=1 + n % 3,
            faults=faults if n % 2 else (),
        )
        for n in range(1, 7)
    ]  # fmt: skip
    book.add_pairs(pairs, "oda")
    key = f"t{at}-1"
    book.add_round(
        Round(
            key=key, trainee=who, mentor=ODA, rubric_key=rubric.key, rubric_version=1, rubric_digest=rubric.digest,
            planned_on=SENT, pairs=tuple(NumberedPair(number=n, pair=pair) for n, pair in enumerate(pairs, 1)),
        ),
        "oda",
    )  # fmt: skip
    for days, kind in enumerate((LegKind.SENT, LegKind.RECEIVED, LegKind.RETURNED, LegKind.RECEIVED_BACK)):
        book.add_leg(key, Leg(kind=kind, happened_on=SENT + timedelta(days=days)), "oda")
    levels = {
        n: {one: min(max(round(luck.gauss(2.2, 0.8)) - (n % 3 == 2), 0), 3) for one in ("finish",)} for n in range(1, 7)
    }
    readings = {
        n: tuple(
            Reading(number=n, stage=Stage.AS_RETURNED, criterion=one, seen=SeenLevel(level=level))
            for one, level in row.items()
        )
        for n, row in levels.items()
    }
    marking = Marking(
        round_key=key, mentor_key="oda", rubric_digest=rubric.digest, marked_on=SENT + timedelta(days=9),
        pairs=tuple(MarkedPair(number=n, readings=readings[n]) for n in readings),
    )  # fmt: skip
    book.take_in_marking(marking, "oda")


@pytest.fixture
def taught(stocked: Desk) -> Desk:
    """Five trainees with a marked box each, besides Teo who has none."""
    rubric = load_rubric(MINI)
    rubric = rubric.model_validate({**rubric.model_dump(by_alias=True), "harder_with": {"nick": ["finish"]}})
    with stocked.opened() as book:
        book.freeze_rubric(rubric, "oda")
        for at in range(5):
            mark_a_box(book, rubric, at)
    return stocked


def test_a_small_school_teaches_nothing_and_says_why(stocked: Desk):
    told = stocked.refuse("school", "--learn")
    assert "the school: it takes 5 trainees with 5 marked pairs or more each" in told
    assert "there are 0. Until then the defaults will do." in told
    assert "gainsay each other" in stocked.refuse("school", "--learn", "--forget")


def test_what_was_learnt_is_kept_told_used_and_forgotten(taught: Desk):
    said = taught.do("school", "--learn").out
    assert "Learnt from 5 trainees, 5 rounds, 30 marked pairs and 30 levels." in said
    assert "what a step of difficulty costs" in said
    assert "what nick costs on finish" in said
    assert "One mentor alone has nobody to differ from" in said
    page = taught.do("progress", "t0", "--format", "md")
    assert page.out
    assert "was learnt from this school on 1 May 2026, from 5 trainees" in (
        taught.folder / "reports" / "t0-progress.md"
    ).read_text(encoding="utf-8")
    with taught.opened() as book:
        assert book.find_school_values().n_trainees == 5
        assert book.check() == []
    told = taught.do("progress", "t0", "--json").json
    assert told["learnt_from_school"]["n_pairs"] == 30
    assert taught.do("school", "--json").json["learnt_from_school"]["learnt_on"] == "2026-05-01"
    assert taught.do("school", "--forget").out == (
        "Forgotten: what was learnt on 2026-05-01. The defaults stand again.\n"
    )
    assert taught.do("progress", "t0", "--json").json["learnt_from_school"] is None
    assert "defaults stand already" in taught.refuse("school", "--forget")


def test_what_was_learnt_for_other_programs(taught: Desk):
    told = taught.do("school", "--learn", "--json").json
    assert told["format"] == 1
    assert told["n_trainees"] == 5
    assert told["step"] > 0


def test_a_sign_off_keeps_what_its_figures_rest_on(taught: Desk):
    taught.do("school", "--learn")
    taught.do("sign-off", "t0", "--edge", "bevel", "--note", "seen at the bench")
    with taught.opened() as book:
        (kept,) = book.list_sign_offs("t0")
    assert '"learnt_from_school": {"learnt_on": "2026-05-01"' in kept.sign_off.evidence


def test_a_rubric_shows_what_a_known_fault_makes_harder(stocked: Desk):
    assert "  nick: Burr and nicks, Wet tissue" in stocked.do("rubric", "show", "shears").out
    assert "known fault" not in stocked.do("rubric", "show", MINI).out
