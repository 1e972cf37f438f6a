"""What may stand in place of a question mark: a level, a measured value, a test cut, or why there is none.

One grammar for sheets and for the terminal. `value_words` and `places_words` write what `parse_value` and
`parse_places` read: the same thing seen comes back.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache

from pydantic import ValidationError

from evalkit.domain.criterion import CriterionOn, Kind
from evalkit.domain.pair import Blade, Station
from evalkit.domain.reading import (
    WHOLE_PAIR,
    CutResult,
    Medium,
    NotSeen,
    Place,
    Reading,
    Seen,
    SeenCut,
    SeenLevel,
    Unseen,
)
from evalkit.files.sheets.numbers import (
    NUMBER,
    ValueWordsError,
    impossible,
    measure_of,
    measure_words,
    number_of,
    with_drop_method,
)
from evalkit.files.sheets.remarks import parts_between, remark_words, split_remarks
from evalkit.files.sheets.text import (
    BLANK,
    hint,
    number_words,
    plain,
    quoted,
    said,
    unreferenced,
)

PlacedValue = tuple[Place, Seen, str]
"""Where, what, and the remark."""


UNSEEN_WORDS = {Unseen.NOT_TESTED: "not tested", Unseen.COULD_NOT: "could not", Unseen.NOT_APPLICABLE: "n/a"}
_UNSEEN = {words: why for why, words in UNSEEN_WORDS.items()} | {
    "untested": Unseen.NOT_TESTED,
    "couldn't": Unseen.COULD_NOT,
    "na": Unseen.NOT_APPLICABLE,
    "n.a.": Unseen.NOT_APPLICABLE,
    "not applicable": Unseen.NOT_APPLICABLE,
}
_CUTS = {result.value: result for result in CutResult} | {
    word: result
    for result, forms in {
        CutResult.CLEAN: "cleanly|clean cut|cuts clean|cut clean",
        CutResult.CATCH: "catches|caught|catching",
        CutResult.FOLD: "folds|folded|folding",
        CutResult.PUSH: "pushes|pushed|pushing",
        CutResult.TEAR: "tears|tore|torn|tearing",
        CutResult.NOT_CUT: "uncut|does not cut|no cut",
    }.items()
    for word in forms.split("|")
}
_LEVEL = re.compile(r"(level )?([0-9]{1,3})")
_CUT = re.compile(
    rf"({'|'.join(sorted(_CUTS, key=len, reverse=True))})(?: ({NUMBER})(?: ?mm)?)?(?: in ({'|'.join(Medium)}))?"
)
_PLACE = re.compile(
    r"(?:(thumb|finger)(?: blade)?\b\s*(?:[:=]|[-–—](?=\s))?)?\s*(?:(heel|middle|mid|tip|all|everywhere|whole pair)\b)?"
    r"\s*(?:[:=]|[-–—](?=\s|$))?\s*(.*)",
    re.IGNORECASE | re.DOTALL,
)
_ALL = ("all", "everywhere")


# --- reading ---------------------------------------------------------------------------------------------------------


def parse_value(on: CriterionOn, text: str) -> tuple[Seen | None, str]:
    """What was seen at one place, and the remark in brackets; None where nothing was written.

    A blank with a remark is 'not tested' with that remark, so that the remark is kept. Raises ValueWordsError.
    """
    words, remarks = split_remarks(text)
    words = plain(said(words))
    seen = None if words in ("", "-") else _seen(on, words)
    if seen is not None and seen.kind == "measure" and remarks:
        seen, remarks = with_drop_method(seen, remarks)
    note = "; ".join(unreferenced(remark.strip()) for remark in remarks)
    return (NotSeen(why=Unseen.NOT_TESTED) if seen is None and note else seen), note


def parse_places(on: CriterionOn, text: str, blade: Blade | None = None) -> list[PlacedValue]:
    """What was seen at each place that `text` names: 'heel clean, tip fold', 'all clean', or a bare value.

    `blade` is the blade that the line is about, if it is about one. Places left blank are left out. Raises
    ValueWordsError for the first fault.
    """
    found, faults = try_places(on, text, blade)
    if faults:
        raise faults[0]
    return found


def try_places(
    on: CriterionOn, text: str, blade: Blade | None = None
) -> tuple[list[PlacedValue], list[ValueWordsError]]:
    """As `parse_places`, with every fault of the line instead of the first."""
    found: list[PlacedValue] = []
    faults: list[ValueWordsError] = []
    taken: set[Place] = set()
    for part in parts_between(text):
        try:
            for place, seen, note in _part(on, part, blade):
                if place in taken:
                    raise ValueWordsError(f"'{on.name}' at {place} stands twice.", mend="Leave one of the two.")  # noqa: TRY301
                taken.add(place)
                found.append((place, seen, note))
        except ValueWordsError as error:
            faults.append(error)
    return found, faults


def _part(on: CriterionOn, part: str, blade: Blade | None) -> Iterator[PlacedValue]:
    match = _PLACE.fullmatch(part.strip())
    if match is None:  # the pattern takes anything; this is for the types
        raise _not_understood(on, part)
    on_blade, where, words = match[1], (match[2] or "").lower(), match[3]
    if on_blade:
        own = Blade(on_blade.lower())
        if blade not in (None, own):
            raise ValueWordsError(
                f"{quoted(part)} stands on the line of the {blade} blade.", mend="Move it to its own."
            )
        blade = own
    seen, note = parse_value(on, words)
    if seen is None:
        return
    for place in _places(on, blade, where, seen, part):
        yield place, seen, note


def _places(on: CriterionOn, blade: Blade | None, where: str, seen: Seen, part: str) -> tuple[Place, ...]:
    if where in _ALL:
        chosen = tuple(place for place in on.places if blade is None or place.blade is blade)
    elif where == "whole pair":
        chosen = (WHOLE_PAIR,)
    elif where:
        chosen = (Place(blade, Station.MIDDLE if where == "mid" else Station(where)),)
    elif blade is not None and Place(blade, None) in on.places:
        chosen = (Place(blade, None),)
    elif blade is None and len(on.places) == 1:
        chosen = on.places
    elif blade is None and seen.kind == "not seen":
        chosen = (WHOLE_PAIR,)
    else:
        raise ValueWordsError(
            f"{quoted(part)} does not say where on the pair.",
            mend=f"'{on.name}' is read at: {_listed(on)}. For all alike write 'all ...'.",
        )
    for place in chosen:
        if place not in on.places and not (place == WHOLE_PAIR and seen.kind == "not seen"):
            raise ValueWordsError(
                f"'{on.name}' is not read at {place} on a {on.edge_type} pair.", mend=f"It is read at: {_listed(on)}."
            )
    return chosen


def _listed(on: CriterionOn) -> str:
    return ", ".join(str(place) for place in on.places)


@lru_cache(maxsize=4096)  # a sheet says 'clean' and '2' a thousand times; a criterion is told by being itself
def _seen(on: CriterionOn, words: str) -> Seen:
    if words in _UNSEEN:
        return NotSeen(why=_UNSEEN[words])
    level = _LEVEL.fullmatch(words)
    if level and (level[1] or on.kind is not Kind.MEASURED):
        top = len(on.levels) - 1
        if int(level[2]) > top:
            raise ValueWordsError(f"level {int(level[2])} is off the ladder.", mend=f"The levels are 0 to {top}.")
        return SeenLevel(level=int(level[2]))
    if on.kind is Kind.MEASURED and (measure := measure_of(on, words)):
        return measure
    if on.kind is Kind.CUT and (cut := _CUT.fullmatch(words)):
        return _cut(on, cut)
    raise _not_understood(on, words)


def _cut(on: CriterionOn, cut: re.Match[str]) -> SeenCut:
    medium = Medium(cut[3]) if cut[3] else on.criterion.media[0]
    if medium not in on.criterion.media:
        media = ", ".join(on.criterion.media)
        raise ValueWordsError(f"'{on.name}' is not cut in {medium}.", mend=f"It is cut in: {media}.")
    push_mm = number_of(cut[2]) if cut[2] else None
    try:
        return SeenCut(medium=medium, result=_CUTS[cut[1]], push_mm=push_mm)
    except ValidationError as error:
        raise impossible(cut[0], error) from None


def _not_understood(on: CriterionOn, words: str) -> ValueWordsError:
    top = len(on.levels) - 1
    if words.rstrip().endswith("?"):
        return ValueWordsError(
            f"{quoted(words)} leaves it open.",
            mend="Write the value with your doubt in brackets, like '2 (not sure)', or leave the ? alone.",
        )
    known = [*UNSEEN_WORDS.values(), *(CutResult if on.kind is Kind.CUT else ())]
    if on.kind is Kind.CUT:
        takes = "clean, catch, fold, push (push 2 mm), tear or not cut"
    elif on.kind is Kind.MEASURED and on.unit is not None:
        takes = f"a number in {on.unit}, or by eye 'level 0' to 'level {top}'"
    else:
        takes = f"a level, 0 to {top}"
    first, _, rest = words.partition(" ")
    near = hint(words, known) or (hint(first, (*Blade, *Station)) if rest else "")
    return ValueWordsError(
        f"{quoted(words)} is not understood for '{on.name}'.",
        mend=f"{near}Write {takes}; or 'could not', 'n/a', or leave the ?.",
    )


# --- writing ---------------------------------------------------------------------------------------------------------


def value_words(on: CriterionOn, seen: Seen | None, note: str = "") -> str:
    """One thing seen in the words that `parse_value` reads back; '?' for nothing."""
    if seen is None:
        words = BLANK
    elif seen.kind == "not seen":
        words = UNSEEN_WORDS[seen.why]
    elif seen.kind == "level":
        words = str(seen.level) if on.kind is Kind.JUDGED else f"level {seen.level}"
    elif seen.kind == "cut":
        push = "" if seen.push_mm is None else f" {number_words(seen.push_mm)} mm"
        words = seen.result + push + ("" if seen.medium is on.criterion.media[0] else f" in {seen.medium}")
    else:
        words = measure_words(on, seen)
    return f"{words} ({remark_words(note)})" if note else words


def places_words(on: CriterionOn, readings: Iterable[Reading] = (), blade: Blade | None = None) -> str:
    """The readings of one criterion on one line, a '?' for each place without; all places, or those of one blade.

    What was said of the whole pair comes first, where it stands beside readings of single places.
    """
    at = {reading.place: reading for reading in readings}
    places = [place for place in on.places if blade is None or place.blade is blade]
    whole = at.get(WHOLE_PAIR) if WHOLE_PAIR not in on.places and blade is None else None
    if whole and len(at) == 1 and len(on.places) > 1:
        return value_words(on, whole.seen, whole.note)
    words = [f"whole pair {value_words(on, whole.seen, whole.note)}"] if whole else []
    for place in places:
        reading = at.get(place)
        value = value_words(on, reading.seen, reading.note) if reading else BLANK
        name = "" if len(on.places) == 1 else f"{place.station or place.blade if blade else place} "
        words.append(name + value)
    return ", ".join(words)
