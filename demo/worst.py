"""Where a criterion falls shortest, and what kind of fault that is: read off the grade, so that words can follow it."""

from __future__ import annotations

from statistics import median

from evalkit.domain.bands import LimitOf
from evalkit.domain.grading import CriterionGrade, PairGrade, PlaceLevel
from evalkit.domain.levels import figures_of, number_in
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Blade
from evalkit.domain.reading import CutResult, SeenCut, SeenMeasure

WHOLE = "whole length"
TISSUES = ("dry-tissue", "wet-tissue")
HANGS_FROM_DEG = 85
"""From here on a drop test let go at 90 has not fallen."""


def worst_place(grade: CriterionGrade) -> str:
    """Where a criterion falls shortest, as one would say it."""
    found = worst_of(grade)
    return str(found.place) if found and any(found.place) else WHOLE


def worst_of(grade: CriterionGrade) -> PlaceLevel | None:
    """The place at which a criterion falls shortest; where only a figure pulls it down, the one that makes it."""
    seen = [place for place in grade.places if place.level is not None]
    if not seen:
        return None
    uneven = _uneven_run(grade, seen)
    if uneven:
        middle = 0.0 if grade.on.unit is Unit.MM else median(_number(grade, place) for place in uneven)
        return max(uneven, key=lambda one: abs(_number(grade, one) - middle))
    return max(seen, key=lambda one: (-(one.level or 0), _badness(grade, one)))


def names_of_fault(grade: CriterionGrade, pair: PairGrade) -> tuple[str, ...]:
    """The names under which sentences may stand, the one that fits closest first, the criterion's own last."""
    kind, edge = _kind(grade, pair), grade.on.edge_type
    names = [f"{kind}-{edge}", kind, f"{grade.key}-{edge}", grade.key]
    return tuple(f"{name}-all" for name in names) + tuple(names) if _is_all_along(grade) else tuple(names)


def _kind(grade: CriterionGrade, pair: PairGrade) -> str:
    worst = worst_of(grade)
    seen = worst.reading.seen if worst and worst.reading else None
    match grade.key, seen:
        case "hair", SeenCut(result=CutResult.PUSH):
            return "hair-push-tissue-clean" if _is_tissue_clean(pair) else "hair-push"
        case "wet-tissue", SeenCut(result=CutResult.FOLD | CutResult.NOT_CUT):
            return "wet-tissue-uncut"
        case "tension", SeenMeasure(number=open_deg):
            return _tension_kind(grade, open_deg)
        case (("ride-line" | "edge-angle"), _) if _binding(grade) is not None:
            return f"{grade.key}-{'blades' if _binding(grade) is LimitOf.BLADES else 'uneven'}"
        case "ride-line", SeenMeasure(number=width_mm) if width_mm > 1.0:
            return "ride-line-wide"
        case _:
            return grade.key if grade.seen else f"{grade.key}-nought"


def _tension_kind(grade: CriterionGrade, open_deg: float) -> str:
    """Which side of the band, and whether a click will do."""
    side = "loose" if open_deg < grade.on.bands[0][1] else "tight"
    if side == "tight" and open_deg >= HANGS_FROM_DEG:
        return "tension-hangs"
    return f"tension-{side}" if grade.seen else f"tension-far-{side}"


def _is_tissue_clean(pair: PairGrade) -> bool:
    """Tissue was asked, and everything in it came out clean: only then did it hide what hair shows."""
    grades = [grade for key in TISSUES if (grade := pair.find(key)) is not None]
    cuts = [place.reading.seen for grade in grades for place in grade.places if place.reading]
    return len(grades) == len(TISSUES) and all(
        isinstance(cut, SeenCut) and cut.result is CutResult.CLEAN for cut in cuts
    )


def _is_all_along(grade: CriterionGrade) -> bool:
    """No place is worse than another."""
    seen = [place for place in grade.places if place.level is not None]
    if _binding(grade) is not None or len(seen) < len(grade.on.places) or len(seen) < 2:
        return False
    return len({(place.level, _badness(grade, place)) for place in seen}) == 1


def _binding(grade: CriterionGrade) -> LimitOf | None:
    """The figure that pulls a criterion below each of its places; None where a place does it."""
    seen = [place.level for place in grade.places if place.level is not None]
    if grade.seen is None or grade.seen >= min(seen):
        return None
    top = max(level for level, _, _ in grade.on.bands) if grade.on.bands else max(seen)
    pulling = (limit for limit in grade.on.limits if limit.of in grade.figures)
    return next((limit.of for limit in pulling if limit.cap(grade.figures[limit.of], top) == grade.seen), None)


def _uneven_run(grade: CriterionGrade, seen: list[PlaceLevel]) -> list[PlaceLevel]:
    """The places along the blade that makes the binding figure; none where no such figure binds."""
    of = _binding(grade)
    if of not in (LimitOf.RATIO, LimitOf.SPREAD):
        return []
    runs: dict[Blade | None, list[PlaceLevel]] = {}
    for place in seen:
        if place.reading and isinstance(place.reading.seen, SeenMeasure):
            runs.setdefault(place.place.blade, []).append(place)
    return max(runs.values(), key=lambda run: figures_of({one.place: _number(grade, one) for one in run}).get(of, 0))


def _number(grade: CriterionGrade, place: PlaceLevel) -> float:
    """A measured value in the criterion's unit; nought where none was measured."""
    seen = place.reading.seen if place.reading else None
    return number_in(grade.on, seen, None) if isinstance(seen, SeenMeasure) else 0.0


def _badness(grade: CriterionGrade, place: PlaceLevel) -> float:
    """Among places of one level, how far each falls short: the wider, the farther off, the longer push is worse."""
    seen = place.reading.seen if place.reading else None
    match seen:
        case SeenCut(push_mm=push_mm):
            return push_mm or 0.0
        case SeenMeasure() if grade.on.target is not None:
            return abs(_number(grade, place) - grade.on.target)
        case SeenMeasure():
            return _number(grade, place)
        case _:
            return 0.0
