"""Tags of known faults that nobody knows: a slip of the pen, or the mentor's own word."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from evalkit.domain.causes import CauseMap
from evalkit.domain.pair import Pair
from evalkit.domain.rubric import Rubric


@dataclass(frozen=True, slots=True)
class StrangeTag:
    """A tag that is not known, the pairs that wear it, and the known tag it looks like; '' where it looks like none."""

    tag: str
    pairs: tuple[str, ...]
    near: str


def known_tags(rubrics: Iterable[Rubric], causes: CauseMap | None) -> tuple[str, ...]:
    """What `[harder_with]` of any rubric weighs, in their order, and then the rows of the cause map."""
    weighed = [tag for rubric in rubrics for tag in rubric.harder_with]
    return tuple(dict.fromkeys([*weighed, *(row.key for row in (causes.causes if causes else ()))]))


def strange_tags(pairs: Iterable[Pair], known: Collection[str]) -> tuple[StrangeTag, ...]:
    """Each tag of the pairs that is not known, in the order met."""
    worn: dict[str, list[str]] = {}
    for pair in pairs:
        for tag in dict.fromkeys(fault.tag for fault in pair.faults):
            if tag not in known:
                worn.setdefault(tag, []).append(pair.tag)
    return tuple(StrangeTag(tag, tuple(tags), _near(tag, known)) for tag, tags in worn.items())


def _near(tag: str, known: Collection[str]) -> str:
    return next(iter(get_close_matches(tag, list(known), n=1)), "")
