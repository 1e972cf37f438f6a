"""What a marking at the terminal asks and says back."""

from __future__ import annotations

from collections.abc import Sequence

from evalkit.actions.marking import Readings, n_could_not, untested_names
from evalkit.domain.amounts import amount_words
from evalkit.domain.criterion import CriterionOn, Kind
from evalkit.domain.reading import WHOLE_PAIR, Place, Reading
from evalkit.files.sheets.values import places_words, value_words

HOW = """Each line asks for one criterion. Answer with what you see:
  all clean | heel clean, tip fold | 2 | all 0.4 mm | level 2 | could not
Where a line names a unit, a bare number is a measured value in it; by eye say 'level 2'. What was understood is said
back with its level.
An empty line leaves it as it is; what is untested is never a pass.
  ?  the words of the ladder        <  back to the line before
  .  enough for now; this pair is kept as far as it goes
  open  read the assessment now (this is recorded: the pair is then not marked blind)"""


EVERYTHING = "Everything is tested."


def is_yes(answer: str) -> bool:
    """Only a yes is one; everything else leaves it as it is."""
    return answer.strip().lower() in ("y", "yes")


def prompt_words(on: CriterionOn, readings: Sequence[Reading]) -> str:
    """'Ride line, mm or level N (heel, tip) [heel 0.4]': the criterion, its unit, its places, what is kept so far."""
    unit = f", {on.unit} or level N" if on.kind is Kind.MEASURED and on.unit is not None else ""
    places = ", ".join(str(place) for place in on.places)
    advisory = "" if on.weight else ", advisory"
    held = f" [{places_words(on, readings)}]" if readings else ""
    return f"{on.name}{unit} ({places}{advisory}){held}"


def at_terminal(mend: str) -> str:
    """How to mend a slip in an answer: the same grammar as on a sheet, but no question mark stands here to be left."""
    return mend.replace("leave the ? alone", NO_ANSWER).replace("leave the ?", NO_ANSWER)


NO_ANSWER = "press Enter alone to leave it"


def understood_words(on: CriterionOn, reading: Reading, level: int | None) -> str:
    """'2 mm: level 0', 'fold: level 1', 'level 2', 'could not: no level'."""
    seen = reading.seen
    if seen.kind == "level":
        note = f" ({reading.note})" if reading.note else ""
        return f"level {seen.level}{note}"
    words = value_words(on, seen, reading.note)
    if seen.kind == "measure" and seen.unit is on.unit:
        number, _, rest = words.partition(" (")
        words = f"{number} {seen.unit}" + (f" ({rest}" if rest else "")
    return f"{words}: no level" if level is None else f"{words}: level {level}"


def where_words(on: CriterionOn, places: Sequence[Place]) -> str:
    """'all ', 'heel, tip '; '' where there is but one place."""
    if len(on.places) == 1 or list(places) == [WHOLE_PAIR]:
        return ""
    return "all " if set(places) == set(on.places) else ", ".join(map(str, places)) + " "


def untested_words(lines: Sequence[CriterionOn], readings: Readings) -> str:
    """What nobody looked at yet, or what could not be looked at."""
    if words := untested_names(lines, readings):
        return f"Still untested: {'; '.join(words)}."
    n = n_could_not(lines, readings)
    return f"Could not be tested, so not passed: {amount_words(n, 'criterion', 'criteria')}." if n else EVERYTHING
