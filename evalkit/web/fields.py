"""A marked pair as the fields of a form, and back. What one writes the other reads.

For each place there are two fields: `s.KEY.PLACE`, one choice out of few, and `v.KEY.PLACE`, words as on a sheet, which
win when they are filled. `c.KEY` is the comment on a criterion. Everything else bears its own name.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from evalkit.actions.marking import by_criterion, reading_at
from evalkit.domain.criterion import CriterionOn, Kind
from evalkit.domain.marking import MarkedPair
from evalkit.domain.pair import Blade, Station
from evalkit.domain.reading import WHOLE_PAIR, CutResult, Place, Reading, Seen
from evalkit.domain.round import NumberedPair
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from evalkit.errors import InputError
from evalkit.files.field_words import made_of
from evalkit.files.sheets.values import parse_value, value_words

WHOLE = "pair"
CHOSEN, WORDS, COMMENT = "s", "v", "c"
LINES = ("keep", "change")
NOTES = ("transit_note", "notes")
LABELS = {
    "keep": "One thing to keep",
    "change": "One thing to change",
    "transit": "Damaged in transit",
    "transit_note": "What happened in transit",
    "called_for": "What it called for",
    "notes": "Notes",
}
MAX_WORDS = 2_200
"""Words for one place: a value and a remark as long as a note."""


@dataclass(frozen=True, slots=True)
class FieldFault:
    """One field that could not be read.

    A reading of before is dropped with it: the mentor wrote over it, so nobody vouches for it, and its place is
    untested until it is mended. Words (a comment, a note) stay as they were in the book.
    """

    name: str
    label: str
    text: str
    what: str
    mend: str


@dataclass(frozen=True, slots=True)
class ReadForm:
    """A pair read from a form, and the fields that could not be."""

    pair: MarkedPair
    faults: tuple[FieldFault, ...] = ()


@dataclass
class _Reader:
    """Reads field after field and remembers the faults."""

    form: Mapping[str, str]
    numbered: NumberedPair
    rubric: Rubric
    faults: list[FieldFault] = field(default_factory=list)

    def reading(self, on: CriterionOn, place: Place, before: Reading | None) -> Reading | None:
        """What is seen at a place now; None where it says nothing that can be read."""
        name = f"{on.key}.{slug_of(place)}"
        words = self.form.get(f"{WORDS}.{name}", "").strip()
        chosen = self.form.get(f"{CHOSEN}.{name}")
        if not words and chosen is None and f"{WORDS}.{name}" not in self.form:
            return before  # a field that is not on the page changes nothing
        try:
            seen, note = _seen_in(on, words or chosen or "")
            if seen is None:
                return None
            return reading_at(on, place, seen, note, numbered=self.numbered, rubric=self.rubric)
        except InputError as error:
            self._tell(f"{WORDS}.{name}", f"{on.name}, {place}", words, error.what, error.mend)
            return None

    def takes(self, name: str, **fields: object) -> bool:
        """Whether the field can stand in a marked pair; told as a fault where it cannot."""
        try:
            made_of(MarkedPair, {"number": self.numbered.number, **fields}, where="")
        except InputError as error:
            text, what = self.form.get(name, ""), error.what.partition(": ")[2] or error.what
            self._tell(name, LABELS.get(name, "A comment"), text, what, error.mend)
            return False
        return True

    def _tell(self, *words: str) -> None:
        self.faults.append(FieldFault(*words))


def _seen_in(on: CriterionOn, words: str) -> tuple[Seen | None, str]:
    if len(words) > MAX_WORDS:
        raise InputError("that is too long for one place.", mend="Put long remarks under the comment.")
    return parse_value(on, words)


def read_form(
    form: Mapping[str, str],
    transit: Sequence[str],
    *,
    numbered: NumberedPair,
    rubric: Rubric,
    lines: Sequence[CriterionOn],
    before: MarkedPair | None,
) -> ReadForm:
    """The pair as the form says it. Photos and answers are not on this form and stay."""
    before = before or MarkedPair(number=numbered.number)
    reader = _Reader(form, numbered, rubric)
    kept = by_criterion(before.readings)
    readings = [
        reading
        for on in lines
        for place in places_of(on, kept.get(on.key, ()))
        if (reading := reader.reading(on, place, _at(kept.get(on.key, ()), place))) is not None
    ]
    rest = _rest(reader, lines, transit, before)
    fields: dict[str, object] = {**before.model_dump(exclude={"readings"}), "readings": readings, **rest}
    return ReadForm(made_of(MarkedPair, fields, where=f"pair {numbered.number}"), tuple(reader.faults))


def _rest(
    reader: _Reader, lines: Sequence[CriterionOn], transit: Sequence[str], before: MarkedPair
) -> dict[str, object]:
    """Everything but the readings, field by field: a faulty one stays as it stood."""
    form = reader.form
    found: dict[str, object] = {}
    for name in (*LINES, *NOTES):
        text = form.get(name)
        if text is not None and reader.takes(name, **{name: text}):
            found[name] = text
    if "called_for" in form:
        found["called_for"] = _decision(form["called_for"])
    if "has_transit" in form:
        known = {on.key for on in lines}
        found["transit"] = [key for key in dict.fromkeys(transit) if key in known]
    found["comments"] = _comments(reader, lines, before)
    return found


def _decision(text: str) -> Decision | None:
    return Decision(text) if text in set(Decision) else None


def _comments(reader: _Reader, lines: Sequence[CriterionOn], before: MarkedPair) -> list[dict[str, object]]:
    """One remark for each criterion of the form; those on anything else stay."""
    keys = {on.key for on in lines}
    stood: dict[str, list[str]] = {}
    for one in before.comments:
        stood.setdefault(one.criterion, []).append(one.text)
    found: list[dict[str, object]] = [
        {"criterion": key, "text": text} for key, texts in stood.items() if key not in keys for text in texts
    ]
    for on in lines:
        name = f"{COMMENT}.{on.key}"
        text = reader.form.get(name)
        joined = "\n".join(stood.get(on.key, ()))
        if text is None or text == joined:
            texts: list[str] = stood.get(on.key, [])
        else:
            is_well = reader.takes(name, comments=[{"criterion": on.key, "text": text}])
            texts = ([text] if text.strip() else []) if is_well else stood.get(on.key, [])
        found += [{"criterion": on.key, "text": text} for text in texts]
    return found


def fields_of(pair: MarkedPair | None, lines: Sequence[CriterionOn]) -> dict[str, str]:
    """Every field of the form as `read_form` would read it back; `transit` joined by spaces."""
    pair = pair or MarkedPair(number=1)
    kept = by_criterion(pair.readings)
    found: dict[str, str] = {}
    for on in lines:
        readings = kept.get(on.key, ())
        for place in places_of(on, readings):
            reading = _at(readings, place)
            words = "" if reading is None else value_words(on, reading.seen, reading.note)
            found[f"{WORDS}.{on.key}.{slug_of(place)}"] = words
        found[f"{COMMENT}.{on.key}"] = "\n".join(one.text for one in pair.comments if one.criterion == on.key)
    found |= {name: getattr(pair, name) for name in (*LINES, *NOTES)}
    return found | {"called_for": pair.called_for or "", "transit": " ".join(pair.transit)}


def places_of(on: CriterionOn, readings: Sequence[Reading]) -> tuple[Place, ...]:
    """The places of the form: those of the criterion, and the whole pair first where something was said of it."""
    is_said = any(reading.place == WHOLE_PAIR for reading in readings)
    return (WHOLE_PAIR, *on.places) if is_said and WHOLE_PAIR not in on.places else on.places


def _at(readings: Sequence[Reading], place: Place) -> Reading | None:
    return next((reading for reading in readings if reading.place == place), None)


def slug_of(place: Place) -> str:
    """'thumb-heel', 'tip', 'finger', 'pair'."""
    return "-".join(part for part in place if part) or WHOLE


def place_of(slug: str) -> Place | None:
    """The place of a slug; None for another word."""
    if slug == WHOLE:
        return WHOLE_PAIR
    blade, _, station = slug.partition("-")
    try:
        if station:
            return Place(Blade(blade), Station(station))
        return Place(Blade(blade), None) if blade in set(Blade) else Place(None, Station(blade))
    except ValueError:
        return None


def choices_of(on: CriterionOn) -> tuple[str, ...]:
    """The words that a press of a button says at one place, the cuts before the levels."""
    levels = tuple(str(level) if on.kind is Kind.JUDGED else f"level {level}" for level in range(len(on.levels)))
    cuts = tuple(cut for cut in CutResult if cut in on.cuts) if on.kind is Kind.CUT else ()
    aside = () if on.must_pass is not None else ("n/a",)
    return (*cuts, *levels, "could not", *aside)
