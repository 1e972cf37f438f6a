"""Boxes made by hand: a small rubric, and rounds whose levels stand in the test."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from evalkit.domain.assessment import AssessedPair, Assessment, WorkLog
from evalkit.domain.criterion import Criterion
from evalkit.domain.marking import MarkedPair, Marking
from evalkit.domain.pair import EdgeType, KnownFault, Pair, Station
from evalkit.domain.reading import NotSeen, Reading, SeenLevel, Stage, Unseen
from evalkit.domain.round import Leg, LegKind, NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from evalkit.domain.verdict import Verdict
from evalkit.progress.results import RoundResult, answer_round

NIA = Person(key="nia", name="Nia Holm")
ODA = Person(key="oda", name="Oda Ferrin")
BERIT = Person(key="berit", name="Berit Sund")
FIRST_DAY = date(2026, 1, 10)
LADDER = ("fails", "in part", "fit", "as new")

Levels = Mapping[str, int | None]
"""Level by criterion key; None or left out: not tested."""


def criterion(key: str, *, must_pass: int | None = 2, weight: int = 10, n_levels: int = 4, **more: object) -> Criterion:
    words = tuple(f"rung {level}" for level in range(n_levels))
    return Criterion(key=key, name=key.capitalize(), levels=words, weight=weight, must_pass=must_pass, **more)


def rubric(
    *criteria: Criterion, key: str = "bench", levels: Sequence[str] = LADDER, fit: int = 2, **more: object
) -> Rubric:
    made = criteria or (criterion("burr"), criterion("tips"), criterion("finish", must_pass=None, weight=5))
    return Rubric(key=key, name="Bench", levels=tuple(levels), fit=fit, mark=50, criteria=made, **more)


PLAIN = rubric()


def days_later(months: float) -> date:
    return FIRST_DAY + timedelta(days=round(months * 365.25 / 12))


def box(
    key: str,
    levels: Sequence[Levels],
    *,
    months: float = 0.0,
    own: Sequence[Levels] | None = None,
    received: Sequence[Levels] | None = None,
    by: Rubric = PLAIN,
    difficulty: int | Sequence[int] = 2,
    edge_type: EdgeType | Sequence[EdgeType] = EdgeType.BEVEL,
    mentor: Person = ODA,
    marked_by: Person | None = None,
    trainee: Person = NIA,
    minutes: int | None = None,
    decisions: Mapping[int, Decision] | None = None,
    called_for: Mapping[int, Decision] | None = None,
    transit: Mapping[int, tuple[str, ...]] | None = None,
    verdicts: Mapping[int, Verdict] | None = None,
    tags: Mapping[int, tuple[str, ...]] | None = None,
    is_marked: bool = True,
    station: Station | None = None,
    opened: bool = False,
) -> RoundResult:
    """A round of as many pairs as `levels` has rows, back on the day `months` after the first day."""
    n = len(levels)
    hard = [difficulty] * n if isinstance(difficulty, int) else list(difficulty)
    kinds = [edge_type] * n if isinstance(edge_type, EdgeType) else list(edge_type)
    back = days_later(months)
    pairs = tuple(
        NumberedPair(
            number=at,
            pair=Pair(
                tag=f"{key}-{at}".upper()[:20],
                edge_type=kinds[at - 1],
                size_in=Decimal("5.5"),
                difficulty=hard[at - 1],
                faults=tuple(KnownFault(tag=tag) for tag in (tags or {}).get(at, ())),
            ),
            called_for=(called_for or {}).get(at),
        )
        for at in range(1, n + 1)
    )
    round_ = Round(
        key=key,
        trainee=trainee,
        mentor=mentor,
        rubric_key=by.key,
        rubric_version=1,
        rubric_digest=by.digest,
        planned_on=back - timedelta(days=30),
        pairs=pairs,
        legs=(
            Leg(kind=LegKind.SENT, happened_on=back - timedelta(days=28)),
            Leg(kind=LegKind.RECEIVED, happened_on=back - timedelta(days=25)),
            Leg(kind=LegKind.RETURNED, happened_on=back - timedelta(days=3)),
            Leg(kind=LegKind.RECEIVED_BACK, happened_on=back),
        ),
    )
    assessment = Assessment(
        round_key=key,
        trainee_key=trainee.key,
        rubric_digest=by.digest,
        pairs=tuple(
            AssessedPair(
                number=at,
                readings=(
                    *readings(at, (received or [{}] * n)[at - 1], Stage.AS_RECEIVED, station),
                    *readings(at, (own or [{}] * n)[at - 1], Stage.AS_FINISHED, station),
                ),
                decision=(decisions or {}).get(at, Decision.SHARPEN),
                reason="cracked" if (decisions or {}).get(at) is Decision.LEAVE else "",
                work=WorkLog(minutes=minutes),
                verdict=(verdicts or {}).get(at),
            )
            for at in range(1, n + 1)
        ),
    )
    marking = Marking(
        round_key=key,
        mentor_key=(marked_by or mentor).key,
        rubric_digest=by.digest,
        marked_on=back + timedelta(days=2),
        pairs=tuple(
            MarkedPair(
                number=at,
                readings=readings(at, row, Stage.AS_RETURNED, station),
                transit=(transit or {}).get(at, ()),
                was_opened=opened,
            )
            for at, row in enumerate(levels, 1)
        ),
    )
    return answer_round(round_, by, assessment, marking if is_marked else None)


def readings(number: int, levels: Levels, stage: Stage, station: Station | None = None) -> tuple[Reading, ...]:
    return tuple(
        Reading(
            number=number,
            stage=stage,
            criterion=key,
            station=station,
            seen=NotSeen(why=Unseen.NOT_TESTED) if level is None else SeenLevel(level=level),
        )
        for key, level in levels.items()
    )


def alike(n: int, level: int = 2, keys: Sequence[str] = ("burr", "tips", "finish")) -> list[Levels]:
    """`n` pairs that all got the same level everywhere."""
    return [dict.fromkeys(keys, level) for _ in range(n)]
