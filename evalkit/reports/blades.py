"""The drawing of the two blades: which mark stands where. Geometry only; the template draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
    """One mark: where, which shape (fails, part, fit, new, unseen), what it says, and the words for it.

    `is_partial`: something was asked for there that nobody tested, so the sign is not all there is to know.
    """

    x: int
    y: int
    shape: str
    sign: str
    title: str
    is_partial: bool = False


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
    """The worst level seen at each place by the criteria that count.

    Where nothing was seen the mark is '?'; where only part was, a level that is fit is drawn as unseen all the same.
    """
    found: dict[Place, list[tuple[int | None, str]]] = {}
    for criterion in grade.criteria:
        for place in criterion.places if criterion.counts else ():
            found.setdefault(place.place, []).append((place.level, criterion.on.name))
    marks = tuple(_mark(place, found[place], fit=fit, top=top) for place in SPOTS if place in found)
    said = "; ".join(mark.title for mark in marks)
    return BladeDrawing(
        key, title, f"Worst level seen at each place. {said}." if said else "Nothing is asked for.", marks
    )


def _mark(place: Place, found: Sequence[tuple[int | None, str]], *, fit: int, top: int) -> Mark:
    x, y = SPOTS[place]
    where = f"cut at the {place.station}" if place.blade is None and place.station else str(place)
    seen = [(level, name) for level, name in found if level is not None]
    untested = [name for level, name in found if level is None]
    if not seen:
        return Mark(x, y, "unseen", "?", f"{where}: not tested")
    worst = min(level for level, _ in seen)
    words = f"{where}: {worst}"
    if worst < fit:
        words += f" ({', '.join(name for level, name in seen if level == worst)})"
    if untested:
        words += f", not tested: {', '.join(untested)}"
    shape = "unseen" if untested and worst >= fit else shape_of(worst, fit=fit, top=top)
    return Mark(x, y, shape, str(worst), words, bool(untested))


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
