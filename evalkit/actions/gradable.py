"""The level of a reading of a pair at hand; where none can be reckoned, which command mends it."""

from __future__ import annotations

from evalkit.domain.criterion import CriterionOn
from evalkit.domain.levels import level_of
from evalkit.domain.measures import Unit
from evalkit.domain.pair import Pair
from evalkit.domain.reading import Reading
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError


def level_on_pair(on: CriterionOn, reading: Reading, rubric: Rubric, pair: Pair) -> int | None:
    """The level as `level_of` gives it. Raises InputError where the value cannot be carried into the rubric's unit."""
    try:
        return level_of(on, reading, rubric, pair.blade_length_mm)
    except InputError as error:
        seen = reading.seen
        if seen.kind == "measure" and seen.unit is Unit.MM_TIP_GAP and on.unit is Unit.DEG_OPEN:
            act = "Give the pair its" if pair.blade_length_mm is None else "Measure the gap again, or mend the"
            mend = f"{act} blade length: evalkit pair change {pair.tag} --blade-length MM."
            raise InputError(error.what, mend=mend) from None
        raise
