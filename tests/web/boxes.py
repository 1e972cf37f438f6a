"""A book of many rounds by the full rubric: boxes of twelve pairs, all assessed, all but the last marked."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from evalkit.book.book import Book
from evalkit.domain.assessment import AssessedPair, Assessment
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import EdgeType, Pair
from evalkit.domain.reading import Reading, SeenLevel, Stage
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.verdict import Verdict
from evalkit.files.rubrics import find_rubric

RUBRIC = find_rubric("shears")
N_PAIRS = 12
LEGS = (LegKind.SENT, LegKind.RECEIVED, LegKind.RETURNED, LegKind.RECEIVED_BACK)
ODA = Person(key="oda", name="Oda Ferrin")


def readings_of(pair: Pair, number: int, stage: Stage, shift: int) -> tuple[Reading, ...]:
    return tuple(
        Reading(number=number, stage=stage, criterion=on.key, blade=place.blade, station=place.station,
                seen=SeenLevel(level=(at + number + shift) % 4))
        for on in RUBRIC.on(pair.edge_type)
        if on.use != "not applicable"
        for at, place in enumerate(on.places)
    )  # fmt: skip


def fill(book: Book, n_rounds: int, *, n_begun: int = 6, notes: str = "") -> None:
    """`n_rounds` boxes of twelve pairs, all assessed; all but the last marked, and of that one the first `n_begun`."""
    book.add_person("mentor", ODA, "oda")
    trainees = [Person(key=f"t{n}", name=f"Trainee {n}") for n in range(max(n_rounds // 10, 1))]
    for person in trainees:
        book.add_person("trainee", person, "oda")
    kinds = list(EdgeType)
    stock = [
        Pair(tag=f"S-{n:05}", edge_type=kinds[n % len(kinds)], size_in=Decimal("6.0"))
        for n in range(n_rounds * N_PAIRS)
    ]
    book.add_pairs(stock, "oda")
    version = book.freeze_rubric(RUBRIC, "oda")
    for n in range(n_rounds):
        day = date(2020, 1, 1) + timedelta(days=n)
        pairs = tuple(NumberedPair(number=at + 1, pair=stock[n * N_PAIRS + at]) for at in range(N_PAIRS))
        round_ = Round(
            key=f"r-{n:04}", trainee=trainees[n % len(trainees)], mentor=ODA, rubric_key=RUBRIC.key,
            rubric_version=version, rubric_digest=RUBRIC.digest, planned_on=day, pairs=pairs,
            legs=tuple(Leg(kind=kind, happened_on=day) for kind in LEGS),
        )  # fmt: skip
        book.add_round(round_, "oda")
        assessed = tuple(
            AssessedPair(number=one.number, verdict=Verdict.ACCEPTED, questions=("How even?",), notes=notes,
                         lessons=notes,
                         readings=readings_of(one.pair, one.number, Stage.AS_RECEIVED, 0)
                         + readings_of(one.pair, one.number, Stage.AS_FINISHED, 1))
            for one in pairs
        )  # fmt: skip
        book.seal_assessment(
            Assessment(
                round_key=round_.key, trainee_key=round_.trainee.key, rubric_digest=RUBRIC.digest, pairs=assessed
            ),
            "oda",
        )
        marked = tuple(
            MarkedPair(
                number=one.number, readings=readings_of(one.pair, one.number, Stage.AS_RETURNED, 2), keep="Good."
            )
            for one in pairs
        )
        if n == n_rounds - 1:
            for pair in marked[:n_begun]:
                book.save_marked_pair(round_.key, "oda", pair, RUBRIC.digest, "oda")
            if n_begun:
                book.record_opening(round_.key, 1, "oda")
        else:
            marking = Marking(round_key=round_.key, mentor_key="oda", rubric_digest=RUBRIC.digest, pairs=marked)
            book.take_in_marking(marking, "oda")
            if n == n_rounds - 2:
                book.record_opening(round_.key, None, "oda")
