"""The drawing of the two blades: which mark stands where. Geometry only; the template draws."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from evalkit.domain.grading import PairGrade
from evalkit.domain.pair import Blade, Station
from evalkit.domain.reading import WHOLE_PAIR, Place

SPOTS: dict[Place, tuple[int, int]] = {
    Place(Blade.THUMB, Station.HEEL): (118, 39),
    Place(Blade.THUMB, Station.MIDDLE): (196, 27),
    Place(Blade.THUMB, Station.TIP): (274, 17),
    Place(None, Station.HEEL): (118, 70),
    Place(None, Station.MIDDLE): (196, 70),
    Place(None, Station.TIP): (274, 70),
    Place(Blade.FINGER, Station.HEEL): (118, 101),
    Place(Blade.FINGER, Station.MIDDLE): (196, 113),
    Place(Blade.FINGER, Station.TIP): (274, 123),
    WHOLE_PAIR: (52, 70),
}
"""Centre of each mark in a drawing 320 wide and 152 high: thumb blade above, cuts between, finger blade below."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark: where, which shape (fails, part, fit, new, unseen), what it says, and the words for it."""

    x: int
    y: int
    shape: str
    sign: str
    title: str


@dataclass(frozen=True, slots=True)
class BladeDrawing:
    """A drawing with its title and its text alternative."""

    key: str
    title: str
    words: str
    marks: tuple[Mark, ...]


def shape_of(level: int | None, *, fit: int, top: int) -> str:
    """Shapes differ as well as colours: diamond, square, ring, disc, dashed ring."""
    if level is None:
        return "unseen"
    if level >= fit:
        return "new" if level == top else "fit"
    return "fails" if level == 0 else "part"


def draw_blades(grade: PairGrade, *, key: str, title: str, fit: int, top: int) -> BladeDrawing:
    """The worst level seen at each place; a place that a counting criterion asks for and nobody saw is marked '?'."""
    worst: dict[Place, tuple[int | None, list[str]]] = {}
    for criterion in grade.criteria:
        if not criterion.counts:
            continue
        for place in criterion.places:
            level, names = worst.get(place.place, (None, []))
            if place.level is not None and (level is None or place.level < level):
                worst[place.place] = (place.level, [criterion.on.name])
            elif place.level is not None and place.level == level:
                worst[place.place] = (level, [*names, criterion.on.name])
            else:
                worst.setdefault(place.place, (None, []))
    marks = tuple(_mark(place, *worst[place], fit=fit, top=top) for place in SPOTS if place in worst)
    said = "; ".join(mark.title for mark in marks)
    return BladeDrawing(
        key, title, f"Worst level seen at each place. {said}." if said else "Nothing is asked for.", marks
    )


def _mark(place: Place, level: int | None, names: list[str], *, fit: int, top: int) -> Mark:
    x, y = SPOTS[place]
    where = f"cut at the {place.station}" if place.blade is None and place.station else str(place)
    words = f"{where}: not tested" if level is None else f"{where}: {level}"
    if level is not None and level < fit:
        words += f" ({', '.join(names)})"
    return Mark(x, y, shape_of(level, fit=fit, top=top), "?" if level is None else str(level), words)


def draw_counts(counts: Mapping[Place, tuple[int, int, str]], *, key: str, title: str) -> BladeDrawing:
    """How many readings fell below fit at each place: (below, made there, which criteria). Places nobody read stay out.

    A ring: none below; a square: some; a diamond: half of them or more.
    """
    marks = tuple(_counted(place, *counts[place]) for place in SPOTS if place in counts)
    said = "; ".join(mark.title for mark in marks)
    words = f"Readings below fit at each place. {said}." if said else "Nothing was read."
    return BladeDrawing(key, title, words, marks)


def _counted(place: Place, below: int, made: int, names: str) -> Mark:
    x, y = SPOTS[place]
    where = place_words(place)
    shape = "unseen" if made == 0 else "fit" if below == 0 else "part" if 2 * below < made else "fails"
    words = f"{where}: {below} of {made} below fit" + (f" ({names})" if names else "")
    return Mark(x, y, shape, str(below), words)


def place_words(place: Place) -> str:
    """'thumb heel', 'tip of both blades', 'whole pair'."""
    return f"{place.station} of both blades" if place.blade is None and place.station else str(place)
