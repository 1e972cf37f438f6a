"""What it costs to take in a sheet of 12 pairs x 14 criteria, both stages filled, beside markdown-it-py's own parse.

Both sides handle the same text: the parse is markdown-it-py's whole CommonMark parse of it, with the front matter
plugin; taking in is that outline, every value, every check, and the models. The runs are interleaved, so that a busy
machine slows both alike, and medians are taken.

    python tests/bench/bench_sheets.py
"""

from __future__ import annotations

import gc
import random
import time
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from statistics import median

from markdown_it import MarkdownIt
from mdit_py_plugins.front_matter import front_matter_plugin

from evalkit.domain.assessment import AssessedPair, Assessment, WorkLog, WorkStep
from evalkit.domain.bands import Band
from evalkit.domain.criterion import Criterion, CriterionOn, Kind
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade, EdgeType, Pair, Station
from evalkit.domain.reading import CutResult, Medium, Reading, Seen, SeenCut, SeenLevel, SeenMeasure, Stage
from evalkit.domain.round import NumberedPair, Person, Round
from evalkit.domain.rubric import Rubric
from evalkit.files.sheets import read_assessment_sheet, write_assessment_sheet
from evalkit.files.sheets import values as sheet_values

N_PAIRS = 12
N_CRITERIA = 14
REPEATS = 31
ALLOWED = 3.0
"""Taking in a sheet may cost this many times what markdown-it-py's own parse of it costs."""

PROSE = (
    "The middle **dragged** after the first pass; I went back one grit and it came clean.\n\n"
    "> Next time: marker on the face before the first stroke.\n\n- lamp from the left\n- `15 micron` film"
)


def bench_rubric() -> Rubric:
    """Six judged, four measured and four cut criteria; the first two kinds at six places, the cuts at three."""
    return Rubric(
        key="bench",
        name="Bench",
        levels=("fails", "works in part", "fit for a customer", "as new"),
        criteria=tuple(_criterion(at) for at in range(N_CRITERIA)),
    )


def _criterion(at: int) -> Criterion:
    kind = (Kind.CUT, Kind.JUDGED, Kind.MEASURED, Kind.JUDGED)[at % 4] if at < 12 else (Kind.CUT, Kind.MEASURED)[at % 2]
    own: dict[str, object] = {"blades": tuple(Blade)}
    if kind is Kind.MEASURED:
        own |= {"unit": Unit.MM, "bands": (Band(level=3, high=0.6), Band(level=2, high=1.0))}
    if kind is Kind.CUT:
        own = {"media": (Medium.HAIR, Medium.SYNTHETIC_HAIR), "cuts": dict.fromkeys(CutResult, 0)}
    levels = ("fails", "works in part", "fit", "as new")
    return Criterion(
        key=f"c{at}", name=f"Criterion {at}", kind=kind, levels=levels, stations=tuple(Station), weight=5, **own
    )


def bench_round(rubric: Rubric) -> Round:
    """Twelve convex pairs."""
    return Round(
        key="bench-1",
        trainee=Person(key="teo", name="Teo Marsk"),
        mentor=Person(key="ines", name="Ines Vael"),
        rubric_key=rubric.key,
        rubric_version=1,
        rubric_digest=rubric.digest,
        planned_on=date(2026, 1, 5),
        pairs=tuple(
            NumberedPair(number=at, pair=Pair(tag=f"B-{at}", edge_type=EdgeType.CONVEX, size_in=Decimal("6.0")))
            for at in range(1, N_PAIRS + 1)
        ),
    )


def bench_assessment(rubric: Rubric, round_: Round) -> Assessment:
    """Every place of every criterion read at both stages, one value in ten with a remark."""
    rng = random.Random(7)
    return Assessment(
        round_key=round_.key,
        trainee_key=round_.trainee.key,
        rubric_digest=round_.rubric_digest,
        written_on=date(2026, 2, 1),
        pairs=tuple(_assessed(rubric, numbered, rng) for numbered in round_.pairs),
        letter=PROSE,
    )


def _assessed(rubric: Rubric, numbered: NumberedPair, rng: random.Random) -> AssessedPair:
    readings = tuple(
        Reading(
            number=numbered.number,
            stage=stage,
            criterion=on.key,
            blade=place.blade,
            station=place.station,
            seen=_seen(on, rng),
            note="chatter near the screw" if rng.random() < 0.1 else "",
        )
        for stage in (Stage.AS_RECEIVED, Stage.AS_FINISHED)
        for on in rubric.on(numbered.pair.edge_type)
        for place in on.places
    )
    work = WorkLog(steps=(WorkStep(what="raise the edge", grit=15, scale="micron"),), minutes=rng.randint(20, 90))
    return AssessedPair(
        number=numbered.number, readings=readings, work=work, notes=PROSE, questions=("Why?",), lessons=PROSE
    )


def _seen(on: CriterionOn, rng: random.Random) -> Seen:
    if on.kind is Kind.MEASURED:
        return SeenMeasure(number=round(rng.uniform(0.1, 1.3), 2), unit=Unit.MM)
    if on.kind is Kind.CUT:
        return SeenCut(medium=Medium.HAIR, result=rng.choice(list(CutResult)))
    return SeenLevel(level=rng.randint(0, 3))


def measure(repeats: int = REPEATS) -> tuple[float, float, int, int]:
    """Seconds of taking in and of the parse, the number of lines, and that of readings taken in."""
    rubric = bench_rubric()
    round_ = bench_round(rubric)
    assessment = bench_assessment(rubric, round_)
    text = write_assessment_sheet(round_, rubric, assessment)
    parser = MarkdownIt("commonmark", {"html": False}).use(front_matter_plugin)
    if read_assessment_sheet(text, "bench.md", round_, rubric) != assessment:
        raise ValueError("the sheet that is measured does not read back")
    spans: tuple[list[float], list[float]] = ([], [])
    for _ in range(repeats):
        sheet_values._seen.cache_clear()  # each run starts as a fresh command does
        spans[0].append(_seconds(lambda: read_assessment_sheet(text, "bench.md", round_, rubric)))
        spans[1].append(_seconds(lambda: parser.parse(text)))
    n_readings = sum(len(pair.readings) for pair in assessment.pairs)
    return median(spans[0]), median(spans[1]), text.count("\n"), n_readings


def _seconds(work: Callable[[], object]) -> float:
    gc.collect()
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print the two times and their ratio; ends with 1 when it is above what is allowed."""
    taken, parsed, n_lines, n_readings = measure()
    ratio = taken / parsed
    print(f"{n_lines} lines, {n_readings} readings")
    print(f"markdown-it-py's parse {parsed * 1e3:7.1f} ms")
    print(f"taking the sheet in    {taken * 1e3:7.1f} ms")
    print(f"ratio {ratio:.2f}, allowed {ALLOWED:g}")
    raise SystemExit(ratio > ALLOWED)


if __name__ == "__main__":
    main()
