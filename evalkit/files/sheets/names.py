"""The sheet's own words: how its headings and lines are called, and what it says of itself."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from evalkit.domain.criterion import Criterion, CriterionOn, Use
from evalkit.domain.measures import Unit
from evalkit.domain.pair import EdgeType
from evalkit.domain.rubric import Rubric
from evalkit.files.sheets.header import SheetKind
from evalkit.files.sheets.text import plain, printable

AS_RECEIVED, DECISION, WORK, AS_FINISHED = "As received", "Decision", "Work", "As finished"
AS_RETURNED, ON_THE_WAY, IN_SHORT, COMMENTS, ANSWERS = (
    "As returned", "On the way back", "In short", "Comments", "Answers",
)  # fmt: skip
PHOTOS, NOTES, QUESTIONS, LESSONS, LETTER = "Photos", "Notes", "Questions", "Lessons", "Letter"

SECTIONS = {
    SheetKind.ASSESSMENT: (AS_RECEIVED, DECISION, WORK, AS_FINISHED, PHOTOS, NOTES, QUESTIONS, LESSONS),
    SheetKind.MARKING: (ON_THE_WAY, AS_RETURNED, IN_SHORT, COMMENTS, ANSWERS, PHOTOS, NOTES),
    SheetKind.INTAKE: (AS_RECEIVED, PHOTOS, NOTES),
}
"""Headings of a pair, in the order in which they are written; they may be read in any."""

PAIR = "Pair"
WRITTEN_ON, DISINFECTED, MARKED_ON, READ_ON = "Written on", "Disinfected with", "Marked on", "Read on"
CLASS, VERDICT, REASON = "Class", "Own verdict", "Reason"
TRANSIT, TRANSIT_NOTE = "Damaged in transit", "What happened"
CALLED_FOR, KEEP, CHANGE = "Called for", "Keep", "Change"
RESERVED = (CLASS.lower(), VERDICT.lower())
"""Lines that stand among those of the criteria."""

T = TypeVar("T")
MOST_COLONS = 12
"""A name may hold colons itself; so many are tried."""
ADVISORY = "advisory"
_HINT = re.compile(rf"\s*\((?:{'|'.join((ADVISORY, *Unit))}|,|\s)*\)\s*$")


@dataclass(frozen=True, slots=True)
class Names(Generic[T]):
    """What the lines of one list are called. `known` takes a name in any spelling `plain` levels, to what it means."""

    known: Mapping[str, T]
    labels: tuple[str, ...] = ()

    def find(self, text: str) -> tuple[T | None, str, str]:
        """What a line 'name: words' is about (None when no name is known), the words, and the name as it stands.

        A name counts without the hint in brackets behind it, too (unit, advisory), or with another.
        """
        at = text.find(":")
        if at < 0:
            return None, "", text.strip()
        ends = [at]
        while (at := text.find(":", at + 1)) >= 0 and len(ends) < MOST_COLONS:
            ends.append(at)
        for spelling in (str, plain, plain_name):
            for end in ends:
                found = self.known.get(spelling(text[:end]))
                if found is not None:
                    return found, text[end + 1 :].strip(), text[:end]
        return None, text[ends[0] + 1 :].strip(), text[: ends[0]].strip()


def plain_name(text: str) -> str:
    """A name in plain words, without the hint in brackets behind it."""
    return plain(_HINT.sub("", text))


@dataclass(slots=True)
class _Naming:
    """Finds a name for each criterion that no other line could be taken for."""

    reserved: tuple[str, ...]
    """Names that are given away already, in plain words."""
    taken: dict[str, Criterion] = field(default_factory=dict)

    def labels(self, criteria: Sequence[Criterion], hints: Mapping[str, str]) -> list[str]:
        names = [plain(printable(criterion.name)) for criterion in criteria]
        counts = Counter(names)
        others = {*names, *self.reserved} - {""}
        labels = []
        for name, criterion in zip(names, criteria, strict=True):
            is_clear = (
                name
                and counts[name] == 1
                and name not in self.reserved
                and not name.startswith("[")
                and not any(
                    other and (name.startswith(f"{other}:") or other.startswith(f"{name}:")) for other in others
                )
            )
            shown = printable(criterion.name)
            label = shown if is_clear else f"[{criterion.key}] {shown}".rstrip()
            if hints.get(criterion.key):
                label += f" ({hints[criterion.key]})"
            labels.append(label)
            self.taken[label] = self.taken[plain(label)] = criterion
        for name, criterion in zip(names, criteria, strict=True):
            if counts[name] == 1:
                self._alias(name, criterion)
        for criterion in criteria:
            self._alias(plain(criterion.key), criterion)
        return labels

    def _alias(self, name: str, criterion: Criterion) -> None:
        is_free = name and name not in self.taken and name not in self.reserved
        if is_free and not any(other.startswith(f"{name}:") or name.startswith(f"{other}:") for other in self.taken):
            self.taken[name] = criterion


def reading_names(rubric: Rubric, edge_type: EdgeType) -> Names[CriterionOn]:
    """The lines of readings on a pair of that edge type; `labels` as they are written, in the rubric's order."""
    lines = applicable(rubric, edge_type)
    naming = _Naming(RESERVED)
    labels = naming.labels([on.criterion for on in lines], {on.key: _hint(on) for on in lines})
    by_key = {on.key: on for on in lines}
    return Names({name: by_key[criterion.key] for name, criterion in naming.taken.items()}, tuple(labels))


def criterion_names(rubric: Rubric) -> Names[Criterion]:
    """All criteria by name, without hints: for comments and transit."""
    naming = _Naming(())
    labels = naming.labels(rubric.criteria, {})
    return Names(naming.taken, tuple(labels))


def applicable(rubric: Rubric, edge_type: EdgeType) -> list[CriterionOn]:
    """The criteria that are asked on a pair of that edge type."""
    return [on for on in rubric.on(edge_type) if on.use is not Use.NOT_APPLICABLE]


def _hint(on: CriterionOn) -> str:
    return ", ".join(word for word in (ADVISORY if on.use is Use.ADVISORY else "", on.unit or "") if word)


def fixed_names(words: Iterable[str]) -> Names[str]:
    """Lines that every sheet has, by their own words, with or without the unit in brackets."""
    listed = tuple(words)
    spellings = {plain(word.partition(" (")[0]): word for word in listed}
    return Names({**spellings, **{spelling: word for word in listed for spelling in (word, plain(word))}}, listed)
