"""What the school has taught, and which known faults weigh, in plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from evalkit.domain.amounts import amount_words
from evalkit.progress.assuming import Assumed, compare
from evalkit.progress.known_faults import WornFault
from evalkit.reports.figures import day_words, list_words, percent_words, plain_words

if TYPE_CHECKING:
    from evalkit.domain.school_values import SchoolValues

FORMAT = 1
"""Number of the format of what was learnt. 1: first."""


def rests_on_words(values: SchoolValues) -> str:
    """'7 trainees, 21 rounds, 210 marked pairs and 600 levels'."""
    return list_words([
        amount_words(values.n_trainees, "trainee"),
        amount_words(values.n_rounds, "round"),
        amount_words(values.n_pairs, "marked pair"),
        amount_words(values.n_levels, "level"),
    ])  # fmt: skip


def learnt_words(values: SchoolValues | None) -> tuple[str, ...]:
    """For a page: that it reckons with what the school has taught, and what that rests on; nothing with defaults."""
    if values is None:
        return ()
    words = (
        "How much a step of difficulty, a known fault and a pair by itself move the levels was learnt from this school "
        f"on {day_words(values.learnt_on)}, from {rests_on_words(values)}; it takes the place of the defaults."
    )
    if values.strictness:
        return (words, f"How strict each mentor is was learnt with it: {list_words(list(values.strictness))}.")
    return (words,)


def learnt_rows(values: SchoolValues) -> list[tuple[str, str, str]]:
    """(what, learnt, default) on the skill scale, one line for each value."""
    return [
        (_what(one.what, one.of), _said(one.what, one.learnt, values), _said(one.what, one.default))
        for one in compare(values)
    ]


def _what(what: Assumed, of: Sequence[str]) -> str:
    match what:
        case Assumed.WIDTH:
            return f"how wide level {of[0]} is"
        case Assumed.FAULT:
            return f"what {of[0]} costs on {of[1]}"
        case _:
            return what.value


def _said(what: Assumed, number: float, values: SchoolValues | None = None) -> str:
    if what is Assumed.SHARED:
        return percent_words(number)
    doubt = f" ± {plain_words(values.step_error)}" if values is not None and what is Assumed.STEP else ""
    return plain_words(number) + doubt


def known_fault_words(faults: Sequence[WornFault], names: Mapping[str, str]) -> tuple[str, ...]:
    """Which known faults weigh, on which criteria, and which do not; nothing where no pair has any."""
    weighing = [
        f"{one.tag} ({amount_words(one.n_pairs, 'pair')}: {', '.join(names[key] for key in one.criteria)})"
        for one in faults
        if one.criteria
    ]
    others = [f"{one.tag} ({amount_words(one.n_pairs, 'pair')})" for one in faults if not one.criteria]
    lines = []
    if weighing:
        lines.append(f"Known faults reckoned to make a pair harder, as the rubric says: {'; '.join(weighing)}.")
    if others:
        lines.append(f"Known faults to which the rubric gives no weight: {list_words(others)}.")
    return tuple(lines)


def school_values_document(values: SchoolValues) -> dict[str, object]:
    """Numbers, not words."""
    return {"format": FORMAT, **values.model_dump(mode="json")}
