"""A round sheet written: the trainee's to assess by, or the mentor's to mark by; blank, or filled in."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from evalkit.domain.assessment import AssessedPair, Assessment, Photo
from evalkit.domain.criterion import CriterionOn
from evalkit.domain.intake import Intake, IntakePair
from evalkit.domain.levels import fault_of
from evalkit.domain.marking import Answer, Comment, MarkedPair, Marking
from evalkit.domain.reading import Reading, Stage
from evalkit.domain.round import NumberedPair, Round
from evalkit.domain.rubric import Rubric
from evalkit.errors import InputError
from evalkit.files.sheets import names
from evalkit.files.sheets.header import SheetKind, header_lines
from evalkit.files.sheets.lines import photo_words, work_lines
from evalkit.files.sheets.own_words import introduction, pair_words, question_line, title
from evalkit.files.sheets.page import prose_lines
from evalkit.files.sheets.text import BLANK, printable, written
from evalkit.files.sheets.values import places_words

NOTHING = "none"


def write_assessment_sheet(round_: Round, rubric: Rubric, assessment: Assessment | None = None) -> str:
    """The trainee's sheet for a round: blank, or holding `assessment`, which `read_assessment_sheet` gives back.

    What a sheet cannot carry is written as near as can be: line ends as newlines, control signs as their pictures.
    Readings stand in the rubric's order. Raises InputError when the assessment holds a pair that the round lacks or a
    reading that the sheet has no line for.
    """
    _check_numbers(round_, assessment.pairs if assessment else ())
    lines = _top(SheetKind.ASSESSMENT, round_, rubric)
    written_on = assessment.written_on if assessment else None
    lines += [
        "",
        f"- {names.WRITTEN_ON}: {written_on or BLANK}",
        _line(names.DISINFECTED, assessment.disinfected_with if assessment else ""),
    ]
    for numbered in _in_order(round_):
        found = assessment.find_pair(numbered.number) if assessment else None
        lines += _assessed(numbered, rubric, found or AssessedPair(number=numbered.number))
    return _ended(lines, assessment.letter if assessment else "")


def write_marking_sheet(
    round_: Round,
    rubric: Rubric,
    marking: Marking | None = None,
    questions: Mapping[int, tuple[str, ...]] | None = None,
) -> str:
    """The mentor's sheet for a round: blank, or holding `marking`, which `read_marking_sheet` gives back.

    Nothing of the trainee's stands in it, but for the questions when they are handed over: by the pair's number, to be
    answered below each. Whether a pair was marked blind is no part of the sheet. Raises as `write_assessment_sheet`.
    """
    _check_numbers(round_, marking.pairs if marking else ())
    mentor_key = marking.mentor_key if marking else round_.mentor.key
    lines = _top(SheetKind.MARKING, round_, rubric, mentor_key)
    lines += ["", f"- {names.MARKED_ON}: {(marking.marked_on if marking else None) or BLANK}"]
    for numbered in _in_order(round_):
        found = marking.find_pair(numbered.number) if marking else None
        asked = (questions or {}).get(numbered.number, ())
        lines += _marked(numbered, rubric, found or MarkedPair(number=numbered.number), asked)
    return _ended(lines, marking.letter if marking else "")


def write_intake_sheet(round_: Round, rubric: Rubric, intake: Intake | None = None) -> str:
    """The mentor's sheet for a box before it goes: blank, or holding `intake`, which `read_intake_sheet` gives back.

    Raises as `write_assessment_sheet`.
    """
    _check_numbers(round_, intake.pairs if intake else ())
    lines = _top(SheetKind.INTAKE, round_, rubric, intake.mentor_key if intake else round_.mentor.key)
    lines += ["", f"- {names.READ_ON}: {(intake.read_on if intake else None) or BLANK}"]
    for numbered in _in_order(round_):
        found = (intake.find_pair(numbered.number) if intake else None) or IntakePair(number=numbered.number)
        lines += [
            *_pair_top(numbered),
            *_list(names.AS_RECEIVED, _readings(numbered, rubric, found.readings)),
            *_photos(found.photos),
            *_prose(names.NOTES, found.notes),
        ]
    return "\n".join(lines) + "\n"


def _check_numbers(round_: Round, pairs: Iterable[AssessedPair | MarkedPair | IntakePair]) -> None:
    for pair in pairs:
        round_.get_pair(pair.number)


def _in_order(round_: Round) -> list[NumberedPair]:
    return sorted(round_.pairs, key=lambda numbered: numbered.number)


def _top(kind: SheetKind, round_: Round, rubric: Rubric, mentor_key: str | None = None) -> list[str]:
    quote = [f"> {line}".rstrip() for line in introduction(kind, rubric)]
    return [*header_lines(kind, round_, mentor_key), "", f"# {title(kind, round_, mentor_key)}", "", *quote]


def _ended(lines: list[str], letter: str) -> str:
    lines += _prose(names.LETTER, letter, level=2)
    return "\n".join(lines) + "\n"


# --- pairs -----------------------------------------------------------------------------------------------------------


def _assessed(numbered: NumberedPair, rubric: Rubric, pair: AssessedPair) -> list[str]:
    stated_class = f"- {names.CLASS}: {pair.stated_class or BLANK}"
    verdict = f"- {names.VERDICT}: {pair.verdict or BLANK}"
    return [
        *_pair_top(numbered),
        *_list(names.AS_RECEIVED, [*_readings(numbered, rubric, pair.at_stage(Stage.AS_RECEIVED)), stated_class]),
        *_list(
            names.DECISION,
            [f"- {names.DECISION}: {pair.decision or BLANK}", _line(names.REASON, pair.reason)],
        ),
        *_list(names.WORK, work_lines(pair.work)),
        *_list(names.AS_FINISHED, [*_readings(numbered, rubric, pair.at_stage(Stage.AS_FINISHED)), verdict]),
        *_photos(pair.photos),
        *_prose(names.NOTES, pair.notes),
        *_list(names.QUESTIONS, [_item("- ", question or " ") for question in pair.questions]),
        *_prose(names.LESSONS, pair.lessons),
    ]


def _marked(numbered: NumberedPair, rubric: Rubric, pair: MarkedPair, questions: Sequence[str]) -> list[str]:
    shown = names.criterion_names(rubric)
    labels = dict(zip((criterion.key for criterion in rubric.criteria), shown.labels, strict=True))
    _check_keys(numbered, labels, [*pair.transit, *(comment.criterion for comment in pair.comments)])
    transit = "; ".join(labels[key] for key in pair.transit) or NOTHING
    return [
        *_pair_top(numbered),
        *_list(names.ON_THE_WAY, [f"- {names.TRANSIT}: {transit}", _line(names.TRANSIT_NOTE, pair.transit_note)]),
        *_list(names.AS_RETURNED, _readings(numbered, rubric, pair.readings)),
        *_list(
            names.IN_SHORT,
            [
                f"- {names.CALLED_FOR}: {pair.called_for or BLANK}",
                _line(names.KEEP, pair.keep),
                _line(names.CHANGE, pair.change),
            ],
        ),
        *_list(names.COMMENTS, [_comment(labels, comment) for comment in pair.comments]),
        *_answers(pair.answers, questions),
        *_photos(pair.photos),
        *_prose(names.NOTES, pair.notes),
    ]


def _check_keys(numbered: NumberedPair, known: Collection[str], keys: Iterable[str]) -> None:
    for key in keys:
        if key not in known:
            raise _no_line(numbered, key)


def _no_line(numbered: NumberedPair, key: str) -> InputError:
    return InputError(
        f"pair {numbered.number} holds something on '{key}', for which the sheet has no line.",
        mend="Check that the rubric is the round's own.",
    )


def _pair_top(numbered: NumberedPair) -> list[str]:
    return ["", f"## {names.PAIR} {numbered.number}", "", pair_words(numbered)]


def _readings(numbered: NumberedPair, rubric: Rubric, readings: Iterable[Reading]) -> list[str]:
    by_key: dict[str, list[Reading]] = {}
    for reading in readings:
        by_key.setdefault(reading.criterion, []).append(reading)
    edge_type = numbered.pair.edge_type
    asked = names.applicable(rubric, edge_type)
    _check_keys(numbered, [on.key for on in asked], sorted(by_key))
    lines: list[str] = []
    for on, label in zip(asked, names.reading_names(rubric, edge_type).labels, strict=True):
        found = by_key.get(on.key, ())
        for reading in found:
            if (fault := fault_of(on, reading, rubric)) is not None:
                raise InputError(fault[0], mend=fault[1], where=f"pair {numbered.number}, {reading.stage}")
        lines += _criterion(on, label, found)
    return lines


def _criterion(on: CriterionOn, label: str, readings: Sequence[Reading]) -> list[str]:
    """One line, or one for each blade below its name where both blades are read at several stations."""
    blades = list(dict.fromkeys(place.blade for place in on.places if place.blade))
    if len(blades) < 2 or len(blades) == len(on.places):
        return [f"- {label}: {places_words(on, readings)}"]
    whole = [reading for reading in readings if reading.blade is None]
    head = f"- {label}: {places_words(on, whole)}" if whole else f"- {label}:"
    return [
        head,
        *(
            f"  - {blade}: {places_words(on, [one for one in readings if one.blade is blade], blade)}"
            for blade in blades
        ),
    ]


# --- pieces ----------------------------------------------------------------------------------------------------------


def _list(heading: str, items: Iterable[str]) -> list[str]:
    items = list(items)
    return ["", f"### {heading}", *(["", *items] if items else [])]


def _prose(heading: str, text: str, level: int = 3) -> list[str]:
    return ["", f"{'#' * level} {heading}", *(["", *prose_lines(printable(text))] if text else [])]


def _line(name: str, text: str) -> str:
    return _item(f"- {name}: ", text, indent=2)


def _item(marker: str, text: str, indent: int | None = None) -> str:
    """Free text behind a marker; its later lines stand indented, so that all of it belongs to the item."""
    first, *rest = written(text).split("\n")
    blanks = " " * (len(marker) if indent is None else indent)
    return "\n".join([marker + first, *(blanks + line if line else "" for line in rest)])


def _comment(labels: Mapping[str, str], comment: Comment) -> str:
    return _line(labels[comment.criterion], comment.text)


def _answers(answers: Sequence[Answer], questions: Sequence[str]) -> list[str]:
    """Each question, quoted, over its answer; answers to questions that were not handed over come as they are."""
    said = {answer.question: answer.text for answer in answers}
    lines = ["", f"### {names.ANSWERS}"]
    for number in sorted(said.keys() | set(range(1, len(questions) + 1))):
        if number <= len(questions):
            lines += ["", f"> {number}. {question_line(questions[number - 1])}".rstrip()]
        lines += ["", _item(f"{number}. ", said.get(number, ""))]
    return lines


def _photos(photos: Iterable[Photo]) -> list[str]:
    return _list(names.PHOTOS, [f"- {photo_words(photo)}" for photo in photos])
