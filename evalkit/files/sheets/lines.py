"""The lines of a sheet that hold one plain thing: a day, an angle, a length, a step at the bench; read and written."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from enum import StrEnum
from typing import TypeVar
from urllib.parse import unquote

from pydantic import ValidationError

from evalkit.domain.assessment import Angle, GritScale, Photo, WorkLog, WorkStep
from evalkit.domain.measures import MM_PER_INCH, Unit
from evalkit.domain.pair import Station
from evalkit.files.sheets.numbers import NUMBER, ValueWordsError, impossible, number_of
from evalkit.files.sheets.text import (
    BLANK,
    CONTROL,
    hint,
    literal,
    number_words,
    one_line,
    plain,
    printable,
    quoted,
    referenced,
    said,
    unreferenced,
    written,
)

STEP, ANGLE, PARTS, MINUTES = "Step", "Angle", "Parts", "Minutes"
WIDTH_BEFORE, WIDTH_AFTER = "Width before (mm)", "Width after (mm)"
LENGTH_BEFORE, LENGTH_AFTER = "Length before (mm)", "Length after (mm)"
WORK_LINES = (STEP, ANGLE, PARTS, MINUTES, WIDTH_BEFORE, WIDTH_AFTER, LENGTH_BEFORE, LENGTH_AFTER)
WORK_FIELDS = {
    ANGLE: "angle",
    PARTS: "parts",
    MINUTES: "minutes",
    WIDTH_BEFORE: "width_before_mm",
    WIDTH_AFTER: "width_after_mm",
    LENGTH_BEFORE: "length_before_mm",
    LENGTH_AFTER: "length_after_mm",
}

_MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october",
           "november", "december")  # fmt: skip
_DAY = (
    re.compile(r"(?P<year>[0-9]{4})-(?P<month>[0-9]{1,2})-(?P<day>[0-9]{1,2})"),
    re.compile(r"(?P<day>[0-9]{1,2})(?:st|nd|rd|th|\.)? (?P<month>[a-z]{3,9})\.?,? (?P<year>[0-9]{4})"),
    re.compile(r"(?P<month>[a-z]{3,9})\.? (?P<day>[0-9]{1,2})(?:st|nd|rd|th)?,? (?P<year>[0-9]{4})"),
)
_GRIT = re.compile(
    rf"(?P<what>.*?\S)(?:\s*,\s*|\s+)(?P<grit>{NUMBER}) ?(?P<scale>microns?|[µμu]m?|mesh|stone|belt|other)",
    re.IGNORECASE | re.DOTALL,
)
LONGEST_STEP = 400
"""A longer step is too long in any case, and is not searched for its grit."""
_ANGLE = re.compile(rf"({NUMBER})(?: ?(?:°|deg(?:rees?)?))? ?(?:on the )?(included|incl|dial)?")
_LENGTH = re.compile(rf"({NUMBER}) ?(mm|in|inch|inches|\")?")
_MINUTES = re.compile(
    r"(?:(?P<hours>[0-9]{1,2}) ?h(?:ours?)?\.?)? ?(?:(?P<minutes>[0-9]{1,5}) ?(?:m|min|mins|minutes)?\.?)?"
)
_PIECE = re.compile(r"(?:&#[0-9]{1,7};|[^,;])+")
_PICTURE = re.compile(r"!\[(?P<caption>[^\]]*)\]\((?:<(?P<angled>[^<>]*)>|(?P<bare>[^()<>]*))\)", re.DOTALL)
_PICTURE_NAME = re.compile(r"[^\s\[\]()<>]+\.(?:jpe?g|png|webp|hei[cf])", re.IGNORECASE)

Choice = TypeVar("Choice", bound=StrEnum)


# --- reading ---------------------------------------------------------------------------------------------------------


def choice_of(choices: Iterable[Choice], text: str, *, of: str) -> Choice | None:
    """One of a closed list of words; None for a blank. Raises ValueWordsError with the nearest word."""
    word = plain(said(text)).removeprefix(f"{of} ").replace("-", " ")
    if not word:
        return None
    listed = list(choices)
    for choice in listed:
        if word == choice.value.casefold():
            return choice
    mend = f"{hint(word, listed)}Write one of: {', '.join(listed)}; or leave the ?."
    raise ValueWordsError(f"{quoted(text)} is no {of}.", mend=mend)


def day_of(text: str) -> date | None:
    """A day such as 2026-03-09, 9 March 2026 or March 9, 2026; None for a blank. Raises ValueWordsError."""
    words = plain(said(text))
    if not words:
        return None
    found = next((match for match in (pattern.fullmatch(words) for pattern in _DAY) if match), None)
    month = _month(found["month"]) if found else None
    if found is None or month is None:
        raise ValueWordsError(f"{quoted(text)} is not a day.", mend="Write it like 2026-03-09 or 9 March 2026.")
    try:
        return date(int(found["year"]), month, int(found["day"]))
    except ValueError:
        raise ValueWordsError(f"there is no day {quoted(text)}.", mend="Look into the calendar.") from None


def _month(word: str) -> int | None:
    if word.isdigit():
        return int(word)
    near = [at for at, name in enumerate(_MONTHS, 1) if name.startswith(word) or (word == "sept" and at == 9)]
    return near[0] if len(near) == 1 else None


def angle_of(text: str) -> Angle | None:
    """An edge angle, which must say its convention; None for a blank. Raises ValueWordsError."""
    words = plain(said(text))
    if not words:
        return None
    match = _ANGLE.fullmatch(words)
    if match is None or not match[2]:
        raise ValueWordsError(
            f"{quoted(text)} does not say which angle is meant.",
            mend="Write '45 included', or '45 dial' as the bench dial reads (90 less the included angle).",
        )
    try:
        return Angle(number=number_of(match[1]), unit=Unit.DEG_DIAL if match[2] == "dial" else Unit.DEG_INCLUDED)
    except ValidationError as error:
        raise impossible(words, error) from None


def length_mm(text: str) -> float | None:
    """A length in mm, carried from inches where it says so; None for a blank. Raises ValueWordsError."""
    words = plain(said(text))
    if words in ("", "-"):
        return None
    match = _LENGTH.fullmatch(words)
    if match is None:
        raise ValueWordsError(f"{quoted(text)} is not a length.", mend="Write millimetres, like 8.4, or '0.33 in'.")
    return number_of(match[1]) * (MM_PER_INCH if (match[2] or "mm") != "mm" else 1.0)


def widths_mm(text: str) -> dict[Station, float]:
    """Widths of the blade, each at its station: 'heel 9.8, middle 8.4, tip ?'. Raises ValueWordsError."""
    found: dict[Station, float] = {}
    for part in re.split(r";|(?<![0-9]),|,(?![0-9])", said(text)):
        if not part.strip():
            continue
        word, _, rest = part.strip().partition(" ")
        name = plain(word).rstrip(":=")
        station = next((one for one in Station if name in (one.value, "mid" if one is Station.MIDDLE else "")), None)
        if station is None:
            near = hint(name, list(Station))
            raise ValueWordsError(
                f"{quoted(part)} names no station.", mend=f"{near}Write 'heel 9.8, middle 8.4, tip 5.1'."
            )
        width = length_mm(rest)
        if width is not None and station in found:
            raise ValueWordsError(f"the {station} stands twice.", mend="Leave one of the two.")
        if width is not None:
            found[station] = width
    return found


def minutes_of(text: str) -> int | None:
    """Whole minutes: '45', '45 min', '1 h 20'; None for a blank. Raises ValueWordsError."""
    words = plain(said(text))
    if words in ("", "-"):
        return None
    match = _MINUTES.fullmatch(words)
    if match is None:
        raise ValueWordsError(f"{quoted(text)} are no minutes.", mend="Write whole minutes, like 45.")
    return int(match["hours"] or 0) * 60 + int(match["minutes"] or 0)


def step_of(text: str) -> WorkStep | None:
    """A step at the bench, with its grit where it ends in one: 'raise the edge, 15 micron'; None for a blank."""
    words = said(one_line(text))
    if not words:
        return None
    match = _GRIT.fullmatch(words) if len(words) <= LONGEST_STEP else None
    if match is None:
        return WorkStep(what=one_line(unreferenced(words)))
    scale = match["scale"].lower()
    is_micron = scale.startswith("micron") or scale[0] in "µμu"
    grit = number_of(match["grit"])
    return WorkStep(
        what=one_line(unreferenced(match["what"])), grit=grit, scale=GritScale.MICRON if is_micron else GritScale(scale)
    )


def parts_of(text: str) -> tuple[str, ...]:
    """Parts that were replaced, between commas or semicolons; none for a blank and for 'none'."""
    if plain(said(text)) in ("", "none", "-"):
        return ()
    return tuple(
        one_line(unreferenced(piece.strip())) for piece in _PIECE.findall(said(one_line(text))) if piece.strip()
    )


def photo_of(text: str) -> Photo | None:
    """A picture written `![caption](file)`, or its file name alone. Raises ValueWordsError, ValidationError."""
    text = one_line(text).strip()
    if text in ("", BLANK):
        return None
    match = _PICTURE.fullmatch(text)
    if match is None and not _PICTURE_NAME.fullmatch(text):
        raise ValueWordsError(f"{quoted(text)} is no picture.", mend="Write ![what it shows](file.jpg).")
    if match is None:
        return Photo(file=text)
    file = match["angled"] if match["angled"] is not None else match["bare"]
    return Photo(file=_unquoted(unreferenced(file.strip())), caption=one_line(unreferenced(match["caption"])))


def _unquoted(name: str) -> str:
    """A file's name without the escapes of addresses (`my%20photo.jpg`), which some editors put in."""
    try:
        meant = unquote(name, errors="strict")
    except UnicodeDecodeError:
        return name
    return name if CONTROL.search(meant) else meant


# --- writing ---------------------------------------------------------------------------------------------------------


def work_lines(work: WorkLog) -> list[str]:
    """The work log, a blank line for what was not written."""
    values: Mapping[str, str] = {
        ANGLE: _angle_words(work.angle),
        PARTS: ", ".join(written(part, ",;") if part else "&#32;" for part in work.parts) or BLANK,
        MINUTES: BLANK if work.minutes is None else str(work.minutes),
        WIDTH_BEFORE: _widths_words(work.width_before_mm),
        WIDTH_AFTER: _widths_words(work.width_after_mm),
        LENGTH_BEFORE: _length_words(work.length_before_mm),
        LENGTH_AFTER: _length_words(work.length_after_mm),
    }
    steps = [_step_words(step) for step in work.steps] or [BLANK]
    return [*(f"- {STEP}: {words}" for words in steps), *(f"- {name}: {words}" for name, words in values.items())]


def _step_words(step: WorkStep) -> str:
    words = written(step.what)
    if step.grit is not None:
        return f"{words}, {number_words(step.grit)} {step.scale}"
    if _GRIT.fullmatch(words):
        return written(step.what[:-1]) + referenced(step.what[-1])
    return words


def _angle_words(angle: Angle | None) -> str:
    if angle is None:
        return BLANK
    return f"{number_words(angle.number)} {'dial' if angle.unit is Unit.DEG_DIAL else 'included'}"


def _length_words(length: float | None) -> str:
    return BLANK if length is None else number_words(length)


def _widths_words(widths: Mapping[Station, float]) -> str:
    return ", ".join(f"{station} {_length_words(widths.get(station))}" for station in Station)


def photo_words(photo: Photo) -> str:
    """A picture as CommonMark writes it; signs that would end its caption or its name become references."""
    caption = literal(printable(photo.caption), "[]\\")
    file = literal(printable(photo.file).replace("%", "%25"), "<>\\")
    is_bare = not re.search(r"[\s()]", file)
    return f"![{caption}]({file if is_bare else f'<{file}>'})"
