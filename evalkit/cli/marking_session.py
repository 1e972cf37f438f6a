"""A marking at the terminal: the assessment of a pair stays closed until that pair is marked."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from evalkit.actions.gradable import level_on_pair
from evalkit.actions.marking import (
    Readings,
    answer_alone,
    by_criterion,
    lines_on,
    marked_numbers,
    reading_at,
)
from evalkit.cli.frame import choice, made, say
from evalkit.cli.marking_words import (
    EVERYTHING,
    HOW,
    at_terminal,
    is_yes,
    prompt_words,
    understood_words,
    untested_words,
    where_words,
)
from evalkit.domain.amounts import amount_words
from evalkit.domain.arriving import losses_on
from evalkit.domain.criterion import CriterionOn
from evalkit.domain.marking import MarkedPair
from evalkit.domain.reading import Place, Reading
from evalkit.domain.round import LegKind, span_words
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import Decision
from evalkit.errors import EvalkitError
from evalkit.files.sheets.values import parse_places

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.domain.assessment import AssessedPair
    from evalkit.domain.round import NumberedPair, Round

Ask = Callable[[str], str]


class Enough(Exception):  # noqa: N818 - a way out, not a fault
    """The mentor has had enough for now."""


def ask_terminal(prompt: str) -> str:
    """One answered line; the end of input, or Ctrl-C, means enough for now."""
    try:
        return input(prompt).strip()
    except (EOFError, KeyboardInterrupt):
        say("")
        raise Enough from None


@dataclass(frozen=True)
class MarkingSession:
    """One mentor, one round, one sitting."""

    book: Book
    round_: Round
    rubric: Rubric
    who: str
    today: date
    ask: Ask

    def go(self, number: int | None, *, again: bool) -> None:
        """Mark what is not marked yet, or only `number`; with `again`, every pair once more."""
        if number is not None:
            self.round_.get_pair(number)
        done = self._drafted()
        marked = self._marked(done)
        wanted = [
            one for one in self.round_.pairs if (one.number == number if number else again or one.number not in marked)
        ]
        say(f"Round {self.round_.key}, {self.round_.trainee.name}: {amount_words(len(wanted), 'pair')} to mark.", HOW)
        self._say_not_blind([one.number for one in wanted])
        try:
            for numbered in wanted:
                self._mark_pair(numbered, done.get(numbered.number))
            self._finish()
        except Enough:
            say(f"What was read is kept. Go on with: evalkit mark {self.round_.key}")

    def _say_not_blind(self, numbers: Sequence[int]) -> None:
        opened = tuple(one for one in numbers if self.book.was_opened(self.round_.key, one, self.who))
        if opened:
            say(f"Not blind any more, because you have read the assessment: pair {span_words(opened)}.")

    def _marked(self, done: Mapping[int, MarkedPair]) -> set[int]:
        return marked_numbers(done, is_amended=self.book.find_marking(self.round_.key, self.who) is not None)

    def _drafted(self) -> dict[int, MarkedPair]:
        draft = self.book.find_draft(self.round_.key, self.who)
        return {pair.number: pair for pair in draft.pairs} if draft else {}

    def _lines(self, numbered: NumberedPair) -> list[CriterionOn]:
        return lines_on(self.rubric, numbered.pair)

    def _mark_pair(self, numbered: NumberedPair, before: MarkedPair | None) -> None:
        say("", f"Pair {numbered.number}: {numbered.pair.words}, tag {numbered.pair.tag}")
        if damage := self._damage_words(numbered.number, before):
            say(f"  {damage}")
        lines = self._lines(numbered)
        readings = by_criterion(before.readings if before else ())
        fields: dict[str, object] = before.model_dump() if before else {"number": numbered.number}
        blank = dict(fields)
        try:
            at = 0
            while at < len(lines):
                at = self._ask_line(lines, at, numbered, readings)
            say(f"  {untested_words(lines, readings)}")
            self._ask_transit(lines, fields, is_damaged=bool(damage))
            self._ask_remarks(fields)
        except Enough:
            if readings or fields != blank:
                self._keep(fields, readings)
            raise
        if readings:
            self._show_both(numbered, self._keep(fields, readings))
            return
        if fields != blank:
            self._keep(fields, readings)
        say("  Nothing was read: the pair stays not marked, and the assessment of it closed.")

    def _keep(self, fields: dict[str, object], readings: Readings) -> MarkedPair:
        marked = MarkedPair.model_validate(
            {**fields, "readings": [one for found in readings.values() for one in found]}
        )
        return self.book.save_marked_pair(self.round_.key, self.who, marked, self.round_.rubric_digest, self.who)

    def _ask_line(self, lines: Sequence[CriterionOn], at: int, numbered: NumberedPair, readings: Readings) -> int:
        """Ask for one criterion; answers the line to go on with."""
        on = lines[at]
        match self._ask_on(f"  {prompt_words(on, readings.get(on.key, ()))}: "):
            case "":
                return at + 1
            case "<":
                return max(at - 1, 0)
            case "?":
                say(*(f"      {level}  {words}" for level, words in enumerate(on.levels)))
                return at
            case "open":
                self._open_early(numbered.number)
                return at
            case answer:
                return at + 1 if self._take(on, answer, numbered, readings) else at

    def _take(self, on: CriterionOn, answer: str, numbered: NumberedPair, readings: Readings) -> bool:
        try:
            readings[on.key] = self._read(on, answer, numbered)
        except EvalkitError as error:
            say(f"      {error.what} {at_terminal(error.mend)}")
            return False
        if readings[on.key]:
            say(f"      = {self._understood(on, readings[on.key], numbered)}")
        return True

    def _understood(self, on: CriterionOn, found: Sequence[Reading], numbered: NumberedPair) -> str:
        """'all 2 mm: level 0': what was taken, place by place, with the level it earns."""
        places: dict[str, list[Place]] = {}
        for reading in found:
            level = level_on_pair(on, reading, self.rubric, numbered.pair)
            places.setdefault(understood_words(on, reading, level), []).append(reading.place)
        return "; ".join(f"{where_words(on, at)}{words}" for words, at in places.items())

    def _read(self, on: CriterionOn, answer: str, numbered: NumberedPair) -> tuple[Reading, ...]:
        """What was answered, every place of it fit to be graded. Raises InputError."""
        return tuple(
            reading_at(on, place, seen, note, numbered=numbered, rubric=self.rubric)
            for place, seen, note in parse_places(on, answer)
        )

    def _open_early(self, number: int) -> None:
        if not is_yes(self.ask("      This pair is then not marked blind, and the report says so. Read it? yes/no: ")):
            return
        assessed = self._assessed(number)
        if assessed is None:
            say("      There is no assessment of this pair.")
            return
        self.book.record_opening(self.round_.key, number, self.who)
        say(f"      {assessed.decision or 'no decision'}; own verdict: {assessed.verdict or 'none'}")
        say(*(f"      {line}" for line in assessed.notes.splitlines()))

    def _assessed(self, number: int) -> AssessedPair | None:
        sealed = self.book.find_assessment(self.round_.key)
        return sealed.assessment.find_pair(number) if sealed else None

    def _damage_words(self, number: int, before: MarkedPair | None) -> str:
        """'Came back damaged: tip chipped.'; '' where the check-in says nothing of it."""
        note = before.transit_note.strip() if before else ""
        if note:
            return f"Came back damaged: {note.rstrip('.')}."
        return "Came back damaged." if number in losses_on(self.round_, LegKind.RECEIVED_BACK).damaged else ""

    def _ask_transit(self, lines: Sequence[CriterionOn], fields: dict[str, object], *, is_damaged: bool) -> None:
        """Puts the criteria that the journey spoiled into `fields`; of a damaged pair an answer is insisted on."""
        keys = {on.key: on.key for on in lines} | {on.name.lower(): on.key for on in lines}
        must_say = is_damaged and not fields.get("transit")
        prompt = f"  Damaged in transit (criteria{', or none' if must_say else ''}): "
        while (answer := self._ask_on(prompt)) or must_say:
            names = [name.strip().lower() for name in answer.split(",")]
            if names == ["none"]:
                fields["transit"] = []
                return
            if all(name in keys for name in names):
                fields["transit"] = [keys[name] for name in names]
                return
            say(f"      Name criteria of this pair, or 'none': {', '.join(on.name for on in lines)}.")

    def _ask_remarks(self, fields: dict[str, object]) -> None:
        """Puts what was answered into `fields`; an empty answer leaves what stood."""
        while answer := self._ask_on("  It called for (sharpen / adjust only / leave): "):
            try:
                fields["called_for"] = choice(Decision, answer, of="decision")
                break
            except EvalkitError as error:
                say(f"      {error.what} {error.mend}")
        for name in ("keep", "change"):
            while answer := self._ask_on(f"  One thing to {name}: "):
                try:
                    made(MarkedPair, {"number": fields["number"], name: answer}, where="")
                except EvalkitError:
                    say("      Say it in at most 200 signs of plain text.")
                    continue
                fields[name] = answer
                break

    def _ask_on(self, prompt: str) -> str:
        if (answer := self.ask(prompt)) == ".":
            raise Enough
        return answer

    def _show_both(self, numbered: NumberedPair, marked: MarkedPair) -> None:
        sealed = self.book.find_assessment(self.round_.key)
        assessment = sealed.assessment if sealed else None
        alone = answer_alone(
            self.round_, self.rubric, numbered.number, assessment=assessment, marked=marked, who=self.who
        )
        pair = alone.pairs[0]
        theirs = pair.comparison.trainee_verdict if pair.assessed else "no assessment"
        say(f"  Kept. Yours: {pair.returned.verdict}. {self.round_.trainee.name}: {theirs}.")
        for one in pair.comparison.criteria:
            apart = [f"{place.place} yours {place.mentor}, theirs {place.trainee}" for place in one.places if place.by]
            if apart:
                say(f"    {one.on.name}: {'; '.join(apart)}")
        for at, question in enumerate(pair.assessed.questions if pair.assessed else (), start=1):
            say(f"    asks ({at}): {question}")
        if pair.assessed:  # from here on the mentor knows it: whatever is changed later is not blind
            self.book.record_opening(self.round_.key, numbered.number, self.who)

    def _finish(self) -> None:
        done = self._drafted()
        marked = self._marked(done)
        left = [str(number) for number in self.round_.numbers if number not in marked]
        for numbered in self.round_.pairs:
            if numbered.number in marked:
                words = untested_words(self._lines(numbered), by_criterion(done[numbered.number].readings))
                if words != EVERYTHING:
                    say(f"Pair {numbered.number}: {words}")
        if left:
            say(f"Not marked yet: {', '.join(left)}. Go on with: evalkit mark {self.round_.key}")
            return
        if not is_yes(self.ask("All pairs are marked. Finish the marking? yes/no: ")):
            say(f"Kept as it is. Take a pair again with: evalkit mark {self.round_.key} --pair NUMBER")
            return
        try:
            letter = self.ask("A word to the trainee: ")
        except Enough:  # the yes stands, with no word
            letter = ""
        version = self.book.finish_marking(self.round_.key, self.who, self.who, self.today, letter)
        say(f"Finished, version {version}. Next: evalkit report {self.round_.key}")
