"""How figures are said. The one place that rounds, and it never rounds into a claim."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.grading import CriterionGrade, Score
from evalkit.domain.measures import SHORT, Unit
from evalkit.domain.reading import NotSeen, Reading, SeenCut, SeenLevel, SeenMeasure, Unseen
from evalkit.domain.round import span_words
from evalkit.domain.tally import MeanScore
from evalkit.progress.agreeing import Proportion
from evalkit.progress.aside import PutAside

NOTHING = "–"
SLACK = 1e-9


def score_words(number: float | None) -> str:
    """One decimal, rounded down: 74.97 is 74.9, never the 75 that a rubric may ask for. None is not a number."""
    if number is None:
        return "not seen"
    return f"{math.floor(number * 10 + SLACK) / 10:.1f}"


def range_words(score: Score | MeanScore) -> str:
    """The range that the unknowns leave: its low end rounded down, its high end rounded up; '' when settled."""
    if score.lo == score.hi:
        return ""
    return f"{score_words(score.lo)} to {math.ceil(score.hi * 10 - SLACK) / 10:.1f}"


def percent_words(share: float | None) -> str:
    """Whole per cent; 0 and 100 only when exact."""
    if share is None:
        return "not known"
    if 0 < share < 1:
        return f"{min(max(round(share * 100), 1), 99)} %"
    return f"{round(share * 100)} %"


def share_words(share: Proportion) -> str:
    """'7 of 9 (78 %; 45 to 94 %)', the interval being Wilson's at 95 %, its ends rounded outward."""
    if share.interval is None:
        return "nothing to count"
    low, high = math.floor(share.interval.low * 100 + SLACK), math.ceil(share.interval.high * 100 - SLACK)
    return f"{share.k} of {share.n} ({percent_words(share.value)}; {low} to {high} %)"


def signed_words(number: float | None, digits: int = 1) -> str:
    """A difference with its sign, a true minus; nought has none, and what only rounds to nought keeps its own."""
    if number is None:
        return "not known"
    return f"{number + 0.0:{'+' if number else ''}.{digits}f}".replace("-", "−")  # nought has no sign of its own


def plain_words(number: float, digits: int = 2) -> str:
    """A plain number; a true minus sign where it is below nought."""
    return f"{number:.{digits}f}".replace("-", "−")


def kappa_words(value: float) -> str:
    """A coefficient that ends at 1 and at −1: those two only when exact."""
    return plain_words(value if abs(value) == 1 else min(max(value, -0.99), 0.99))


def kappa_range_words(low: float, high: float) -> str:
    """The interval of a coefficient, its ends rounded outward."""
    return f"{plain_words(math.floor(low * 100 + SLACK) / 100)} to {plain_words(math.ceil(high * 100 - SLACK) / 100)}"


def number_words(number: float) -> str:
    """A measured number as it would be written by hand: no trailing noughts, three decimals, more for the tiniest."""
    if math.isinf(number):
        return "∞"
    digits = 3 if not 0 < abs(number) < 0.0005 else 1 - math.ceil(math.log10(abs(number)))
    text = f"{number:.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def reading_words(reading: Reading | None) -> str:
    """What was seen, in the bench's words."""
    if reading is None:
        return Unseen.NOT_TESTED.value
    match reading.seen:
        case SeenLevel(level=level):
            return f"level {level}"
        case SeenMeasure() as seen:
            return measure_words(seen)
        case SeenCut(result=result, push_mm=push_mm):
            return f"{result} {number_words(push_mm)} mm" if push_mm is not None else result.value
        case NotSeen(why=why):
            return why.value


def measure_words(seen: SeenMeasure) -> str:
    """A measured value with its doubt, its unit and, for a drop test, how it was done."""
    doubt = f" ± {number_words(seen.doubt)}" if seen.doubt else ""
    done = [
        f"{seen.ring} ring held" if seen.ring else "",
        f"from {number_words(seen.start_deg)}°" if seen.start_deg else "",
    ]
    how = ", ".join(part for part in done if part)
    return with_unit(f"{number_words(seen.number)}{doubt}", seen.unit) + (f" ({how})" if how else "")


def with_unit(words: str, unit: Unit) -> str:
    """'0.4 mm', '45° included', '3' for a count."""
    short = SHORT[unit]
    return f"{words}{short}" if short.startswith("°") or not short else f"{words} {short}"


def level_words(grade: CriterionGrade | None) -> str:
    """'2', '0 to 3' while unknowns can move it, or why there is nothing."""
    if grade is None:
        return NOTHING
    if grade.seen is None:
        return _why_nothing(grade)
    return str(grade.lo) if grade.lo == grade.hi else f"{grade.lo} to {grade.hi}"


def _why_nothing(grade: CriterionGrade) -> str:
    if grade.is_transit:
        return "in transit"
    if any(place.reading and place.reading.is_seen for place in grade.places):
        return "not comparable"
    return "could not" if {place.why for place in grade.places} == {Unseen.COULD_NOT} else "not tested"


def band_words(on: CriterionOn, low: float, high: float) -> str:
    """A band in the criterion's unit."""
    unit = SHORT[on.unit] if on.unit is not None and on.unit is not Unit.COUNT else ""
    gap = "" if unit.startswith("°") or not unit else " "
    if math.isinf(low):
        return f"up to {number_words(high)}{gap}{unit}"
    if math.isinf(high):
        return f"{number_words(low)}{gap}{unit} or more"
    if low == high:
        return f"{number_words(low)}{gap}{unit}"
    return f"{number_words(low)} to {number_words(high)}{gap}{unit}"


def chance_words(chance: float) -> str:
    """A chance from a model, in whole per cent, never 0 or 100."""
    return percent_words(min(max(chance, 1e-6), 1 - 1e-6))


def pairs_words(numbers: Sequence[int]) -> str:
    """'pair 3', 'pairs 1 to 3', 'pairs 1, 3, 7'."""
    return f"pair{'s' if len(numbers) > 1 else ''} {span_words(tuple(numbers))}"


def pairs_aside_words(aside: Sequence[PutAside]) -> str:
    """'no. 3 damaged on the way out; nos. 4, 7 rightly left alone'; '' where every pair counts."""
    return "; ".join(f"no{'s' if len(one.numbers) > 1 else ''}. {span_words(one.numbers)} {one.why}" for one in aside)


def list_words(words: list[str]) -> str:
    """'a', 'a and b', 'a, b and c'."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1] if words else ""


def sure_words(chance: float) -> str:
    """How sure: whole per cent, 'under 1 %' and 'over 99 %' at the ends."""
    if chance < 0.01:
        return "under 1 %"
    return "over 99 %" if chance > 0.99 else percent_words(chance)


def at_least_words(share: float) -> str:
    """A lower bound in whole per cent, rounded down."""
    return f"{math.floor(share * 100 + SLACK)} %"


def day_words(day: date | None) -> str:
    """'7 March 2026'."""
    return f"{day.day} {day:%B %Y}" if day else "no day given"
