"""What the trainee's eyes see, over the months, in sentences that need no statistics."""

from __future__ import annotations

from typing import assert_never

from evalkit.progress.judging import JudgementAnswer
from evalkit.progress.moves import Move, Step
from evalkit.reports.figures import list_words
from evalkit.reports.progress_chances import band_words


def judgement_words(found: JudgementAnswer | None) -> tuple[str, ...]:
    """What the eyes see, in sentences that need no statistics."""
    if found is None:
        return ("The trainee's own levels and the mentor's never stand on the same criterion of a pair: not known.",)
    last = next((one for one in reversed(found.rounds) if one.n_both), None)
    words = []
    if last is not None:
        words.append(
            "Of ten near misses (the mentor one level below fit), the trainee would let "
            f"{_in_ten(last.let_through)} pass (80 % band "
            f"{band_words(last.let_through_lo, last.let_through_hi)})."
        )
    words.append(_drift_words(found.drift))
    if found.too_kind:
        words.append(f"Surely kinder than the mentor on: {_some(found.too_kind)}.")
    if found.too_strict:
        words.append(f"Surely stricter than the mentor on: {_some(found.too_strict)}.")
    return tuple(words)


def _drift_words(drift: Step | None) -> str:
    if drift is None:
        return "One round is no course: whether the eye has changed cannot be told."
    match drift.move:
        case Move.UP:
            return "The eye has grown kinder than it was in the first round."
        case Move.DOWN:
            return "The eye has grown stricter than it was in the first round."
        case Move.NOT_SHOWN:
            return "No change of the eye since the first round is shown."
        case _:
            assert_never(drift.move)


def _in_ten(share: float) -> str:
    return f"about {round(share * 10)}" if 0.05 <= share <= 0.95 else ("fewer than 1" if share < 0.5 else "nearly all")


def _some(names: tuple[str, ...]) -> str:
    more = len(names) - N_NAMES
    return list_words([*names[:N_NAMES], *([f"{more} more"] if more > 0 else [])])


N_NAMES = 3
