"""The class of a pair as it came, computed from its test cuts, and what was decided to do with it."""

from __future__ import annotations

from enum import StrEnum
from itertools import product

from evalkit.domain.reading import Medium


class IntakeClass(StrEnum):
    """Once cleaned and tensioned. Common practice, no source; the letters are a proposal."""

    A = "A"
    B = "B"
    C = "C"
    D = "D"
    E = "E"
    X = "X"


CLASS_WORDS = {
    IntakeClass.A: "cuts nothing, or catches along the whole edge",
    IntakeClass.B: "dry tissue only, or not all along it",
    IntakeClass.C: "dry and wet tissue, but hair folds or is pushed",
    IntakeClass.D: "everything, hair with a light push",
    IntakeClass.E: "right once cleaned, oiled and tensioned",
    IntakeClass.X: "beyond repair",
}


class Decision(StrEnum):
    """What is done with a pair."""

    SHARPEN = "sharpen"
    ADJUST_ONLY = "adjust only"
    LEAVE = "leave"


CALLED_FOR = {
    IntakeClass.A: Decision.SHARPEN,
    IntakeClass.B: Decision.SHARPEN,
    IntakeClass.C: Decision.SHARPEN,
    IntakeClass.D: Decision.SHARPEN,
    IntakeClass.E: Decision.ADJUST_ONLY,
    IntakeClass.X: Decision.LEAVE,
}
"""What each class calls for."""

LevelRange = tuple[int, int]


def possible_classes(levels: dict[Medium, LevelRange], *, fit: int, top: int) -> tuple[IntakeClass, ...]:
    """Every class that the test cuts allow, A first; one class when they settle it.

    `levels` gives the level range of each medium that applies to the pair; a medium left out is not asked for
    (wet tissue on a micro-serrated pair). X is never computed: beyond repair is stated by a person.
    """
    media = (Medium.DRY_TISSUE, Medium.WET_TISSUE, Medium.HAIR)
    spans = [range(levels[m][0], levels[m][1] + 1) if m in levels else (None,) for m in media]
    found = {_class_of(*cut, fit=fit, top=top) for cut in product(*spans)}
    return tuple(letter for letter in IntakeClass if letter in found)


def _class_of(dry: int | None, wet: int | None, hair: int | None, *, fit: int, top: int) -> IntakeClass:
    if dry == 0:
        return IntakeClass.A
    if (dry is not None and dry < fit) or (wet is not None and wet < fit):
        return IntakeClass.B
    if hair is not None and hair < fit:
        return IntakeClass.C
    return IntakeClass.D if hair is not None and hair < top else IntakeClass.E
