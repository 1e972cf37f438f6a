"""What is said of one finished pair, and the reasoning that never turns 'not tested' into 'passed'."""

from __future__ import annotations

from enum import StrEnum


class Verdict(StrEnum):
    """Kleene's strong three values: true, false, and not shown either way."""

    ACCEPTED = "accepted"
    REWORK = "rework"
    NOT_SHOWN = "not shown"


def verdict_of(*, lowest_accepted: bool, highest_accepted: bool) -> Verdict:
    """The verdict over every way the unknowns could turn out.

    The rules are monotone: raising a level never turns acceptance into rework. So the completion with every unknown
    at its lowest and the one with every unknown at its highest decide for all those between.
    """
    if lowest_accepted:
        return Verdict.ACCEPTED
    return Verdict.NOT_SHOWN if highest_accepted else Verdict.REWORK
