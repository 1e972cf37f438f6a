"""What the bench book is told of a round: rows of plain words. Nothing that the trainee must find out alone."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from evalkit import __version__
from evalkit.domain.assessment import AssessedPair, GritScale, WorkLog
from evalkit.domain.bands import LimitOf
from evalkit.domain.bench_order import in_bench_order
from evalkit.domain.criterion import Criterion, CriterionOn, Kind, Use
from evalkit.domain.levels import fault_of
from evalkit.domain.measures import SHORT, Unit
from evalkit.domain.pair import EdgeLine, Handle, Make, Pair, SizeMethod, Station
from evalkit.domain.reading import CutResult, Place, Reading, SeenMeasure, Stage, Unseen
from evalkit.domain.round import NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import CALLED_FOR, CLASS_WORDS, Decision, IntakeClass
from evalkit.domain.value import MAX_NOTE, MAX_PROSE
from evalkit.domain.verdict import Verdict
from evalkit.files.packets.limits import MAX_ENTRIES, MAX_PACKET_BYTES
from evalkit.files.sheets.names import applicable
from evalkit.reports.bench_shapes import (
    FORMAT,
    AskRow,
    BandRow,
    BenchRow,
    CriterionRow,
    DropRow,
    LimitRow,
    PairRow,
    PlaceRow,
    RubricRow,
    UnitRow,
    WordsRow,
)
from evalkit.reports.blades import SPOTS
from evalkit.reports.figures import band_words, day_words

MAX_LINE = 200
"""Signs in one line of text (`domain.value.Line`)."""
MOST = {Unit.DEG_INCLUDED: 120.0, Unit.DEG_DIAL: 90.0, Unit.DEG_OPEN: 180.0}
"""The highest number that a unit can have (`domain.reading.SeenMeasure`); 1000 for the others."""


def bench_row(round_: Round, rubric: Rubric, practise: Sequence[str]) -> BenchRow:
    """What the page is given. Faults, difficulty, what a pair calls for, its value and its origin stay behind."""
    pairs = sorted(round_.pairs, key=lambda numbered: numbered.number)
    edge_types = dict.fromkeys(numbered.pair.edge_type for numbered in pairs)
    drop = rubric.drop_test
    return BenchRow(
        format=FORMAT,
        tool=f"evalkit {__version__}",
        key=round_.key,
        trainee_key=round_.trainee.key,
        trainee=round_.trainee.name,
        mentor=round_.mentor.name,
        planned_on=day_words(round_.planned_on),
        rubric=RubricRow(
            name=rubric.name,
            version=round_.rubric_version,
            digest=round_.rubric_digest,
            levels=rubric.levels,
            fit=rubric.fit,
            top=rubric.top,
            drop=DropRow(drop.ring, drop.start_deg) if drop else None,
        ),
        practise=tuple(practise),
        pairs=tuple(_pair(numbered) for numbered in pairs),
        types={
            kind: tuple(_criterion(on, rubric) for on in in_bench_order(applicable(rubric, kind)))
            for kind in edge_types
        },
        words=_words(),
        limits=_limits(),
    )


def ask_rows(round_: Round, rubric: Rubric) -> tuple[AskRow, ...]:
    """How each criterion that some pair of the round is read by is tested."""
    edge_types = {numbered.pair.edge_type for numbered in round_.pairs}
    asked = (one for one in rubric.criteria if one.ask and _is_asked(one, edge_types))
    return tuple(AskRow(one.key, one.ask) for one in asked)


def _is_asked(criterion: Criterion, edge_types: Iterable[Any]) -> bool:
    return any(criterion.on(kind).use is not Use.NOT_APPLICABLE for kind in edge_types)


# --- pieces ----------------------------------------------------------------------------------------------------------


def _pair(numbered: NumberedPair) -> PairRow:
    pair = numbered.pair
    return PairRow(numbered.number, pair.tag, pair.edge_type, pair.words, _facts(pair), pair.blade_length_mm)


def _facts(pair: Pair) -> tuple[tuple[str, str], ...]:
    """(name, words) of what is known of a pair; what nobody knows is left out."""
    method = "" if pair.size_method is SizeMethod.UNKNOWN else f", measured {pair.size_method}"
    found = (
        ("Tag", pair.tag),
        ("Size", f"{pair.size_in} in{method}"),
        ("Blade", f"{pair.blade_length_mm:g} mm, tip to pivot" if pair.blade_length_mm else ""),
        ("Edge line", "" if pair.edge_line is EdgeLine.UNKNOWN else pair.edge_line),
        ("Hand", pair.hand),
        ("Handle", "" if pair.handle is Handle.UNKNOWN else pair.handle),
        ("Make", "" if pair.make is Make.UNKNOWN else pair.make),
        ("Teeth", str(pair.teeth) if pair.teeth else ""),
        ("Pivot", pair.pivot),
    )
    return tuple((name, words) for name, words in found if words)


def _criterion(on: CriterionOn, rubric: Rubric) -> CriterionRow:
    special = on.criterion.types.get(on.edge_type)
    return CriterionRow(
        key=on.key,
        name=on.name,
        kind=on.kind,
        counts=on.weight > 0,
        is_must_pass=on.must_pass is not None,
        combine=on.combine,
        why=special.why if special else "",
        levels=on.levels,
        places=tuple(_place(place) for place in on.places),
        unit=on.unit,
        units=_units(on, rubric),
        is_drop=on.unit in (Unit.DEG_OPEN, Unit.MM_TIP_GAP),
        bands=tuple(_band(on, *band) for band in on.bands),
        media=on.criterion.media,
        cuts={result.value: level for result, level in on.cuts.items()},
        push_mm=on.push_mm if on.kind is Kind.CUT else (),
        limits=tuple(
            LimitRow(tuple(sorted(limit.at_most.items()))) for limit in on.limits if limit.of is LimitOf.FAILING
        ),
    )


def _place(place: Place) -> PlaceRow:
    """A whole edge has its spot in the middle of its blade."""
    spot = place if place in SPOTS else Place(place.blade, Station.MIDDLE)
    return PlaceRow(place.blade, place.station, str(place), *SPOTS[spot])


def _units(on: CriterionOn, rubric: Rubric) -> tuple[UnitRow, ...]:
    """The units that measure it, the rubric's own first."""

    def measures(unit: Unit) -> bool:
        place = on.places[0]
        seen = SeenMeasure(number=1, unit=unit)
        reading = Reading(
            number=1, stage=Stage.AS_RECEIVED, criterion=on.key, blade=place.blade, station=place.station, seen=seen
        )
        return fault_of(on, reading, rubric) is None

    fitting = [unit for unit in Unit if measures(unit)]
    fitting.sort(key=lambda unit: unit is not on.unit)
    return tuple(UnitRow(unit, SHORT[unit], MOST.get(unit, 1_000.0)) for unit in fitting)


def _band(on: CriterionOn, level: int, low: float, high: float) -> BandRow:
    return BandRow(level, _finite(low), _finite(high), band_words(on, low, high))


def _finite(number: float) -> float | None:
    """JSON has no infinity: an open end is None."""
    return None if math.isinf(number) else number


def _words() -> WordsRow:
    return WordsRow(
        stages=(Stage.AS_RECEIVED, Stage.AS_FINISHED),
        stations=tuple(Station),
        unseen=tuple(Unseen),
        results=tuple(CutResult),
        scales=tuple(GritScale),
        decisions=tuple(Decision),
        verdicts=(Verdict.ACCEPTED, Verdict.REWORK),
        classes=tuple((letter, CLASS_WORDS[letter], CALLED_FOR[letter]) for letter in IntakeClass),
    )


def _limits() -> dict[str, int]:
    """How much of everything there may be."""
    return {
        "line": MAX_LINE,
        "note": MAX_NOTE,
        "prose": MAX_PROSE,
        "steps": _most(WorkLog, "steps"),
        "parts": _most(WorkLog, "parts"),
        "questions": _most(AssessedPair, "questions"),
        "photos": _most(AssessedPair, "photos"),
        "packet_bytes": MAX_PACKET_BYTES,
        "packet_files": MAX_ENTRIES,
    }


def _most(model: type[WorkLog | AssessedPair], name: str) -> int:
    """The longest that a field's own rule lets its list be."""
    rules = model.model_fields[name].metadata
    return int(next(rule.max_length for rule in rules if hasattr(rule, "max_length")))
