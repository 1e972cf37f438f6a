"""A full round for benches: a book with a box of 12 pairs at its trainee's, and the packet that comes back."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from evalkit.book.book import Book
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.triage import Decision
from evalkit.domain.verdict import Verdict
from tests.actions.packing import assessment_packet, picture, with_photos
from tests.bench.bench_grading import bench_pairs, bench_rubric, bench_sides

N_PHOTOS = 24
KEY = "teo-1"
ODA, TEO = Person(key="oda", name="Oda Ferrin"), Person(key="teo", name="Teo Marsk")


def pictures(width: int, height: int) -> list[bytes]:
    """All of one size, each another."""
    return [picture(number, width, height) for number in range(N_PHOTOS)]


def make_book(folder: Path) -> None:
    """The mentor's, with the box at the trainee's."""
    moments = iter(datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=at) for at in range(1_000))
    rubric, pairs = bench_rubric(), bench_pairs()
    with Book.create(folder, lambda: next(moments)) as book:
        book.add_person("mentor", ODA, "oda")
        book.add_person("trainee", TEO, "oda")
        book.add_pairs([pair for _, pair in pairs], "oda")
        version = book.freeze_rubric(rubric, "oda")
        round_ = Round(
            key=KEY,
            trainee=TEO,
            mentor=ODA,
            rubric_key=rubric.key,
            rubric_version=version,
            rubric_digest=rubric.digest,
            planned_on=date(2026, 1, 1),
            pairs=tuple(NumberedPair(number=number, pair=pair) for number, pair in pairs),
        )
        book.add_round(round_, "oda")
        for kind in (LegKind.SENT, LegKind.RECEIVED):
            book.add_leg(KEY, Leg(kind=kind, happened_on=date(2026, 1, 2)), "oda")


def make_packet(path: Path, photos: Iterable[bytes], *, seed: int = 1) -> str:
    """All readings of one stage, words on every pair, the photos shared out among the pairs; its seal."""
    rubric = bench_rubric()
    readings, _ = bench_sides(rubric, seed)
    pairs = tuple(
        AssessedPair(
            number=number,
            readings=tuple(one for one in readings if one.number == number),
            decision=Decision.SHARPEN,
            verdict=Verdict.ACCEPTED,
            notes="Came up clean after the second pass; the tip wants a lighter hand.",
        )
        for number, _ in bench_pairs()
    )
    assessment = Assessment(round_key=KEY, trainee_key=TEO.key, rubric_digest=rubric.digest, pairs=pairs)
    shared: dict[int, list[bytes]] = {}
    for at, data in enumerate(photos):
        shared.setdefault(pairs[at % len(pairs)].number, []).append(data)
    return assessment_packet(path, *with_photos(assessment, shared))
