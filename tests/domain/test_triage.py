"""The class of a pair as it came, from its test cuts."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from evalkit.domain.reading import Medium
from evalkit.domain.triage import CALLED_FOR, CLASS_WORDS, Decision, IntakeClass, possible_classes

DRY, WET, HAIR = Medium.DRY_TISSUE, Medium.WET_TISSUE, Medium.HAIR
FIT, TOP = 2, 3


def classes(**levels: int) -> str:
    """Settled levels by medium, as the letters they allow."""
    media = {"dry": DRY, "wet": WET, "hair": HAIR}
    found = possible_classes({media[name]: (level, level) for name, level in levels.items()}, fit=FIT, top=TOP)
    return "".join(found)


def test_each_class_with_a_pencil():
    """Common practice, no source. A pair that cuts dry but not wet tissue classes as B."""
    assert classes(dry=0, wet=0, hair=0) == "A"
    assert classes(dry=1, wet=3, hair=3) == "B"  # dry tissue, but not all along: it cuts something, so it is no A
    assert classes(dry=2, wet=1, hair=0) == "B"
    assert classes(dry=3, wet=0, hair=3) == "B"
    assert classes(dry=3, wet=2, hair=1) == "C"
    assert classes(dry=3, wet=3, hair=2) == "D"  # everything, with a light push
    assert classes(dry=3, wet=3, hair=3) == "E"  # right as it is, once cleaned and tensioned


def test_what_was_not_cut_leaves_the_classes_it_could_still_be():
    whole = (0, TOP)
    assert possible_classes({DRY: whole, WET: whole, HAIR: whole}, fit=FIT, top=TOP) == tuple("ABCDE")
    assert possible_classes({DRY: (3, 3), WET: whole, HAIR: (2, 2)}, fit=FIT, top=TOP) == tuple("BD")
    assert possible_classes({DRY: (0, 1), WET: whole, HAIR: whole}, fit=FIT, top=TOP) == tuple("AB")


def test_a_medium_that_does_not_apply_is_not_asked_for():
    """Wet tissue is no test of a micro-serrated edge."""
    assert classes(dry=3, hair=1) == "C"
    assert classes(dry=3, hair=3) == "E"


def class_by_words(levels: dict[Medium, int], fit: int, top: int) -> str:
    """Read off CLASS_WORDS: cuts nothing dry; not dry all along, or dry only; hair fails; a light push."""
    if levels.get(DRY) == 0:
        return "A"
    for letter, medium in (("B", DRY), ("B", WET), ("C", HAIR)):
        if medium in levels and levels[medium] < fit:
            return letter
    return "D" if HAIR in levels and levels[HAIR] != top else "E"


@given(
    st.dictionaries(st.sampled_from((DRY, WET, HAIR)), st.tuples(st.integers(0, 4), st.integers(0, 4)).map(sorted)),
    st.integers(1, 4),
)
def test_the_classes_are_those_of_every_completion(levels, fit):
    ways = product(*(range(low, high + 1) for low, high in levels.values()))
    expected = {class_by_words(dict(zip(levels, way, strict=True)), fit, 4) for way in ways}
    assert possible_classes(levels, fit=fit, top=4) == tuple(sorted(expected))


def test_beyond_repair_is_stated_by_a_person_and_every_class_has_its_words():
    every = dict.fromkeys((DRY, WET, HAIR), (0, TOP))
    assert IntakeClass.X not in possible_classes(every, fit=FIT, top=TOP)
    assert set(CLASS_WORDS) == set(CALLED_FOR) == set(IntakeClass)


def test_what_each_class_calls_for():
    """Common practice, no source: right after tightening is adjusted only; beyond repair is left alone."""
    assert CALLED_FOR[IntakeClass.E] is Decision.ADJUST_ONLY
    assert CALLED_FOR[IntakeClass.X] is Decision.LEAVE
    assert {CALLED_FOR[IntakeClass(letter)] for letter in "ABCD"} == {Decision.SHARPEN}
