"""Where a pair of the stock is and what it has been through, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from evalkit.domain.amounts import amount_words
from evalkit.domain.life import Life, Size
from evalkit.domain.reading import Stage
from evalkit.domain.round import Round
from evalkit.progress.box_candidates import LeftOut
from evalkit.progress.pair_file import LastSeen, PairFile
from evalkit.reports.figures import NOTHING, day_words, level_words, number_words

ON_THE_SHELF = "on the shelf"


def place_words(held: tuple[LeftOut, Round | None] | None) -> str:
    """'on the shelf', 'retired', 'teo-3, with the trainee', 'back with teo-3, not marked yet', 'lost with teo-2'."""
    if held is None:
        return ON_THE_SHELF
    why, round_ = held
    if round_ is None:
        return why.value
    match why:
        case LeftOut.LOST:
            return f"lost with {round_.key}"
        case LeftOut.MISSING:
            return f"missing since {round_.key} came back"
        case LeftOut.UNMARKED:
            return f"back with {round_.key}, not marked yet"
        case _:
            return f"{round_.key}, {round_.state}"


def place_fields(held: tuple[LeftOut, Round | None] | None) -> dict[str, Any]:
    """The same for other programs."""
    round_ = held[1] if held else None
    return {
        "place": place_words(held),
        "round": round_.key if round_ else None,
        "is_retired": held is not None and held[0] is LeftOut.RETIRED,
    }


def life_lines(life: Life) -> tuple[str, ...]:
    """Rounds, grinding, minutes, parts, width and length; what nobody measured is said to be unknown."""
    if not life.stays:
        return ("It was never in a box.",)
    lines = [f"It was in {amount_words(len(life.stays), 'box', 'boxes')}: {_stays_words(life)}."]
    unsaid = f"; in {life.n_unsaid} more work was written down, but not what was decided" if life.n_unsaid else ""
    lines.append(f"{_times(life.n_ground)}{unsaid}.")
    if life.n_timed:
        lines.append(f"Work on it: {life.minutes} minutes, over {amount_words(life.n_timed, 'round')} that say so.")
    if life.parts:
        lines.append("Parts replaced: " + ", ".join(f"{part} ({key})" for key, part in life.parts) + ".")
    return tuple(lines)


def size_rows(life: Life) -> list[tuple[str, str, str, str]]:
    """(what, first known, last known, used), in mm."""
    sizes: list[tuple[str, Size | None]] = [(f"width at the {station}", size) for station, size in life.widths.items()]
    return [(name, *_size_words(size)) for name, size in (*sizes, ("length", life.length)) if size is not None]


def seen_line(seen: LastSeen | None) -> str:
    """In which round the latest levels were seen, and when in it."""
    if seen is None:
        return "No mentor has read it yet."
    when = "as returned" if seen.grade.stage is Stage.AS_RETURNED else "before posting"
    return f"Last seen {when}, in {seen.round.key}:"


def seen_rows(seen: LastSeen | None) -> list[tuple[str, str]]:
    """(criterion, level) of all that was seen."""
    grades = seen.grade.criteria if seen else ()
    return [(grade.on.name, level_words(grade)) for grade in grades if grade.seen is not None]


def retired_lines(found: PairFile) -> tuple[str, ...]:
    """Each time it was retired, and brought back."""
    lines = []
    for one in found.retirements:
        line = f"Retired on {day_words(one.retired_on)}: {one.reason}"
        if one.back_on is not None:
            line += f"; brought back on {day_words(one.back_on)}" + (f": {one.back_reason}" if one.back_reason else "")
        lines.append(line)
    return tuple(lines)


def file_document(found: PairFile) -> dict[str, Any]:
    """One pair for other programs."""
    life, seen = found.life, found.last_seen
    return {
        "format": 1,
        "pair": found.pair.model_dump(mode="json"),
        **place_fields(found.held),
        "rounds": [
            {"round": stay.round.key, "number": stay.number, "trainee": stay.round.trainee.key, "box": stay.round.state}
            for stay in life.stays
        ],
        "n_sharpened": life.n_ground,
        "n_not_said": life.n_unsaid,
        "minutes": life.minutes if life.n_timed else None,
        "n_rounds_timed": life.n_timed,
        "parts": [{"round": key, "part": part} for key, part in life.parts],
        "width_mm": {station.value: _size_fields(size) for station, size in life.widths.items()},
        "length_mm": _size_fields(life.length) if life.length else None,
        "last_seen": None if seen is None else _seen_fields(seen),
        "photos": [{"sha256": photo.file, "caption": photo.caption} for photo in found.photos],
        "retired": [
            {"on": one.retired_on, "reason": one.reason, "back_on": one.back_on, "back_reason": one.back_reason}
            for one in found.retirements
        ],
    }


def _stays_words(life: Life) -> str:
    return ", ".join(f"{stay.round.key} (number {stay.number}, {stay.round.trainee.name})" for stay in life.stays)


def _times(n: int) -> str:
    return {0: "Never sharpened", 1: "Sharpened once", 2: "Sharpened twice"}.get(n, f"Sharpened {n} times")


def _size_words(size: Size) -> tuple[str, str, str]:
    used = NOTHING if size.used is None else number_words(size.used)
    return number_words(size.first), number_words(size.last), used


def _size_fields(size: Size) -> dict[str, float | int | None]:
    return {"first": size.first, "last": size.last, "used": size.used, "n": size.n}


def _seen_fields(seen: LastSeen) -> dict[str, Any]:
    grades: Sequence[Any] = [grade for grade in seen.grade.criteria if grade.seen is not None]
    return {
        "round": seen.round.key,
        "stage": "before posting" if seen.grade.stage is Stage.AS_RECEIVED else seen.grade.stage.value,
        "levels": {grade.key: {"lo": grade.lo, "hi": grade.hi} for grade in grades},
    }
