"""The lines of a sheet on which criteria are read: each into readings, each fault on its line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from pydantic import ValidationError

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.levels import fault_of
from evalkit.domain.pair import Blade, EdgeType
from evalkit.domain.reading import WHOLE_PAIR, Place, Reading, Stage
from evalkit.files.sheets import names
from evalkit.files.sheets.found import FoundPair, Line, Sheet, add_below, add_invalid, add_unknown, lines_of
from evalkit.files.sheets.numbers import ValueWordsError
from evalkit.files.sheets.page import Section
from evalkit.files.sheets.text import BLANK, plain, quoted
from evalkit.files.sheets.values import PlacedValue, try_places

OtherLine = Callable[[Line, str], None]
"""Takes in a line among the readings that is none: the line, and its words after the name."""


@dataclass(slots=True)
class _Stage:
    """The readings of one pair at one stage, by where they were made, each with its line."""

    pair: FoundPair
    stage: Stage
    found: dict[tuple[str, Place], tuple[Reading, int]] = field(default_factory=dict)


class ReadingLines:
    """Reads the criteria of one sheet. What two pairs are asked alike and answer alike is worked out once."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self._names: dict[EdgeType, names.Names[CriterionOn]] = {}
        self._values: dict[tuple[int, Blade | None, str], tuple[list[PlacedValue], list[ValueWordsError]]] = {}

    def read(self, pair: FoundPair, section: Section, stage: Stage, others: Mapping[str, OtherLine]) -> list[Reading]:
        """The readings under one heading, in the rubric's order. `others` takes other lines by their plain name."""
        known = self._known(pair.numbered.pair.edge_type)
        at_stage = _Stage(pair, stage)
        for line in lines_of(self.sheet, section, known=(known.known, others)):
            if line.words in ("", BLANK) and not line.below:
                continue
            on, words, name = known.find(line.words)
            if on is not None:
                self._criterion(at_stage, on, line, words)
            elif (other := others.get(names.plain_name(name))) is not None:
                add_below(self.sheet, line)
                other(line, words)
            elif not self._is_left_out(pair, line, name):
                plain_labels = [names.plain_name(label) for label in known.labels]
                add_unknown(self.sheet, line, name, dict.fromkeys([*plain_labels, *others]))
        places = ((on.key, place) for on in dict.fromkeys(known.known.values()) for place in (WHOLE_PAIR, *on.places))
        return [at_stage.found[at][0] for at in dict.fromkeys(places) if at in at_stage.found]

    def _known(self, edge_type: EdgeType) -> names.Names[CriterionOn]:
        if edge_type not in self._names:
            self._names[edge_type] = names.reading_names(self.sheet.rubric, edge_type)
        return self._names[edge_type]

    def _is_left_out(self, pair: FoundPair, line: Line, name: str) -> bool:
        """True, with a fault, for a criterion of the rubric that is not asked on such a pair."""
        criterion = names.criterion_names(self.sheet.rubric).known.get(names.plain_name(name))
        if criterion is None:
            return False
        what = f"'{criterion.name}' is not asked on a {pair.numbered.pair.edge_type} pair."
        mend = f"Take the line out; what you saw can stand under '{names.NOTES}'."
        self.sheet.faults.add(line.number, what, mend)
        return True

    def _criterion(self, at_stage: _Stage, on: CriterionOn, line: Line, words: str) -> None:
        """The line of a criterion, and the lines of its blades below."""
        self._places(at_stage, on, line.number, words, None)
        for child in line.below:
            text = self.sheet.page.text_of(child)
            name, _, rest = text.partition(":")
            blade = next((blade for blade in Blade if plain(name) in (blade.value, f"{blade} blade")), None)
            if blade is not None:
                self._places(at_stage, on, child.start + 1, rest, blade)
            elif text:
                mend = f"Below a criterion stand the lines '{Blade.THUMB}:' and '{Blade.FINGER}:'."
                self.sheet.faults.add(child.start + 1, f"{quoted(text)} has no place under '{on.name}'.", mend)

    def _places(self, at_stage: _Stage, on: CriterionOn, line: int, words: str, blade: Blade | None) -> None:
        """What one line says, place by place."""
        key = (id(on), blade, words)
        if key not in self._values:
            self._values[key] = try_places(on, words, blade)
        values, errors = self._values[key]
        for error in errors:
            self.sheet.faults.add_error(line, error)
        for value in values:
            before = at_stage.found.get((on.key, value[0]))
            if before is not None:
                what = f"'{on.name}' at {value[0]} stands twice, first on line {before[1]}."
                self.sheet.faults.add(line, what, "Leave one of the two.")
            elif (reading := self._reading(at_stage, on, line, value)) is not None:
                at_stage.found[on.key, value[0]] = reading, line

    def _reading(self, at_stage: _Stage, on: CriterionOn, line: int, value: PlacedValue) -> Reading | None:
        place, seen, note = value
        try:
            reading = Reading(
                number=at_stage.pair.numbered.number,
                stage=at_stage.stage,
                criterion=on.key,
                blade=place.blade,
                station=place.station,
                seen=seen,
                note=note,
            )
        except ValidationError as error:
            add_invalid(self.sheet, error, line)
            return None
        if (fault := fault_of(on, reading, self.sheet.rubric)) is not None:
            self.sheet.faults.add(line, *fault)
        return reading
