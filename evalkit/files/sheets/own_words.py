"""What a sheet says of itself: its title, each pair in one line, and how to fill it in. Checked, never read."""

from __future__ import annotations

from textwrap import wrap
from typing import assert_never

from evalkit.domain.measures import Unit
from evalkit.domain.round import NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.triage import CLASS_WORDS
from evalkit.files.sheets.header import SheetKind
from evalkit.files.sheets.text import printable


def title(kind: SheetKind, round_: Round, mentor_key: str | None) -> str:
    """The first heading; a mentor who is not the round's own is named by her key."""
    match kind:
        case SheetKind.ASSESSMENT:
            name = round_.trainee.name
        case SheetKind.MARKING | SheetKind.INTAKE:
            name = mentor_key if mentor_key and mentor_key != round_.mentor.key else round_.mentor.name
        case _:
            assert_never(kind)
    return f"Round {round_.key}: {kind} by {printable(name)}"


def pair_words(numbered: NumberedPair) -> str:
    """What the pair is, for whoever holds it."""
    pair = numbered.pair
    teeth = f", {pair.teeth} teeth" if pair.teeth else ""
    return f"{pair.edge_type}, {pair.size_in} in{teeth}, {pair.hand} hand, tag {pair.tag}"


def question_line(question: str) -> str:
    """A trainee's question as it stands quoted over its answer."""
    return " ".join(printable(question).split())


PAIR_WORDS = r"([a-z-]+), [0-9.]+ in(?:, [0-9]+ teeth)?, (?:right|left) hand, tag ([A-Za-z0-9-]+)"
"""Pattern of `pair_words`: edge type and tag."""


WIDTH = 110
"""Signs on a line of the introduction."""

_FOR_TRAINEES = (
    "Disinfect first, by the product's label. Make every reading under 'As received' BEFORE any work. Never close",
    "blades on a burr. No test cut on a living person.",
)
_FOR_MENTORS = ("Mark what you see, before you read the assessment. Never close blades on a burr.",)
_BEFORE_POSTING = (
    "Read each pair before the box goes. 'As received' is how it leaves you, and how the trainee will get it. Of this",
    "sheet the trainee learns nothing before the report, and of your notes and photos never. Never close blades on a",
    "burr.",
)
_VALUES = (
    "Put what you see in place of each ?. Leave the ? where nothing was tested: that is never a pass, and never a",
    "nought. Or say why there is nothing: could not, n/a.",
    "",
    "- A test cut: clean, catch, fold, push 2 mm, tear, not cut. Another medium: clean in synthetic hair.",
    "- A level: 2. A level by eye where a measure is asked: level 2.",
    "- A measure: 0.4, 1/64 in, 0.40 ± 0.05 mm, 45 dial, 45 included, 32 open (finger ring, from 90).",
    "- Every place alike: all clean. A remark stands in brackets after its value: fold (closed slowly).",
    "",
)
_IN_MARKINGS = (
    "A comment begins with the name of its criterion: '- Tips: the last 3 mm fold'. An answer begins with the number",
    "of its question. What the post spoiled is named under 'On the way back': it counts neither for nor against.",
)
_CLASSES = "; ".join(f"{letter} {words}" for letter, words in CLASS_WORDS.items())
_DECISIONS = "sharpen, adjust only or leave"
_WORDS = {
    SheetKind.ASSESSMENT: f"Decision: {_DECISIONS} (say the reason). Own verdict: accepted or rework.",
    SheetKind.MARKING: f"Called for: {_DECISIONS}.",
    SheetKind.INTAKE: "",
}
_FIRST = {
    SheetKind.ASSESSMENT: _FOR_TRAINEES,
    SheetKind.MARKING: _FOR_MENTORS,
    SheetKind.INTAKE: _BEFORE_POSTING,
}
_OWN_PLACES = {
    SheetKind.ASSESSMENT: "Notes, Questions, Lessons and Letter",
    SheetKind.MARKING: "Notes and Letter",
    SheetKind.INTAKE: "Notes",
}
_OWN_TEXT = (
    "Photos lie beside this file and are named under Photos: - ![the heel](heel.jpg). Under {} write as you like; "
    "headings of your own begin with ####."
)


def introduction(kind: SheetKind, rubric: Rubric) -> list[str]:
    """How to fill the sheet in; it stands quoted under the title."""
    ladder = "; ".join(f"{level} {words}" for level, words in enumerate(rubric.levels))
    return [
        *_FIRST[kind],
        "",
        *_VALUES,
        *wrap(printable(f"Levels: {ladder}."), WIDTH),
        *_drop_words(rubric),
        *(_IN_MARKINGS if kind is SheetKind.MARKING else ()),
        *(wrap(f"Classes, once cleaned and tensioned: {_CLASSES}.", WIDTH) if kind is SheetKind.ASSESSMENT else ()),
        *wrap(_WORDS[kind], WIDTH),
        "",
        *wrap(_OWN_TEXT.format(_OWN_PLACES[kind]), WIDTH),
    ]


def _drop_words(rubric: Rubric) -> list[str]:
    method = rubric.drop_test
    if method is None or not any(one.unit in (Unit.DEG_OPEN, Unit.MM_TIP_GAP) for one in rubric.criteria):
        return []
    return [f"Drop test: hold the {method.ring} ring, let go from {method.start_deg:g} degrees, read what stays open."]
