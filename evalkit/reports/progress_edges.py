"""The answers by edge type: a row each, and how they stand to the answer that takes all edge types together."""

from __future__ import annotations

from dataclasses import dataclass

from evalkit.progress.deciding import Answer
from evalkit.progress.history import EdgeHistory, History
from evalkit.reports.figures import list_words, share_words
from evalkit.reports.progress_chances import modelled_words
from evalkit.reports.progress_words import HEADLINES, joint_words, need_words

SHAPES = {Answer.READY: "new", Answer.UNDECIDED: "part", Answer.NOT_YET: "fails", Answer.NOT_ENOUGH_EVIDENCE: "unseen"}


@dataclass(frozen=True, slots=True)
class EdgeRow:
    """One edge type with its own answer."""

    name: str
    answer: str
    shape: str
    n_pairs: str
    chance: str
    counted: str
    needs: str


def pooled_words(history: History) -> tuple[str, ...]:
    """What an answer over several edge types is not; and whether the answers by edge type gainsay it."""
    if not history.is_pooled:
        return ()
    n_types, together = len(history.observed.edge_types), history.edges_together
    words = (
        f"This takes {n_types} edge types together, as if they were alike. It is no ground to sign off any of them: a "
        "sign-off is by edge type, on that type's own pairs."
    )
    if together is None or not together.is_apart:
        return (words,)
    return (
        words,
        (
            f"Type by type, weighted by the pairs sent, the chance comes to {modelled_words(together.chance)}, outside "
            "the band above: the two ways of reckoning disagree, so trust neither alone."
        ),
    )


def edge_row(one: EdgeHistory) -> EdgeRow:
    """One edge type by its own pairs."""
    found = one.readiness
    needs = need_words(found)
    return EdgeRow(
        name=one.edge_type.value,
        answer=HEADLINES[found.answer],
        shape=SHAPES[found.answer],
        n_pairs=f"{one.n_pairs} ({found.n_ordinary} ordinary)",
        chance=joint_words(found),
        counted=share_words(one.latest.last_rounds) if one.latest.last_rounds.n else "nothing shown either way",
        needs=needs[0] if needs else "",
    )


def edges_remark(history: History) -> str:
    """How the answers by edge type stand to the one over all of them; empty with one edge type."""
    if not history.by_edge_type:
        return ""
    mix = list_words([f"{one.n_pairs} {one.edge_type}" for one in history.by_edge_type])
    words = (
        f"The answer above takes all pairs sent ({mix}) together, as if edge types were alike. Each answer below rests "
        "on the pairs of that edge type alone, and a sign-off is by edge type. A type with few pairs is pulled toward "
        "what was assumed at the start: its figure says little yet."
    )
    return words + _together(history)


def _together(history: History) -> str:
    """Both answers side by side, and whether they agree."""
    found = history.edges_together
    if found is None:
        return ""
    lies = "outside" if found.is_apart else "inside"
    of = (
        "" if found.n_pairs == history.observed.n_pairs else f" (over the {found.n_pairs} pairs of types with a figure)"
    )
    return (
        f" Weighted by the pairs sent{of}, the chances below come to {modelled_words(found.chance)}, {lies} the band "
        f"of the answer above, {joint_words(history.readiness)}."
    )
