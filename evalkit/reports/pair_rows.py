"""The section of one pair."""

from __future__ import annotations

from collections.abc import Sequence

from evalkit.domain.arriving import losses_on
from evalkit.domain.assessment import WorkStep
from evalkit.domain.grading import CriterionGrade, PairGrade, TestNeeded
from evalkit.domain.harm import Change
from evalkit.domain.measures import SHORT
from evalkit.domain.reading import WHOLE_PAIR
from evalkit.domain.round import LegKind, Round
from evalkit.domain.rubric import Rubric
from evalkit.domain.standing import Standing
from evalkit.domain.triage import CLASS_WORDS
from evalkit.domain.verdict import Verdict
from evalkit.progress.results import PairResult, RoundResult
from evalkit.reports.blades import BladeDrawing, draw_blades
from evalkit.reports.criterion_rows import criterion_rows
from evalkit.reports.figures import list_words, number_words, range_words, score_words
from evalkit.reports.found_words import eyes_words, pair_found_lines
from evalkit.reports.rows import CauseRow, Fact, PairRow, PhotoRow, PictureOf, SummaryRow

N_CAUSES = 3


def pair_row(
    pair: PairResult, result: RoundResult, summary: SummaryRow, picture_of: PictureOf, *, with_causes: bool
) -> PairRow:
    """Everything said of one pair. Likely causes are for the mentor's eyes, and only where the pair is graded."""
    rubric = result.rubric
    assessed, marked = pair.assessed, pair.marked
    answers = {answer.question: answer.text for answer in marked.answers} if marked else {}
    questions = assessed.questions if assessed else ()
    return PairRow(
        summary=summary,
        tag=pair.numbered.pair.tag,
        drawings=_drawings(pair, result),
        criteria=criterion_rows(pair, rubric, result.round.mentor.name),
        sum_words=_sum_words(pair.returned, rubric) if pair.is_graded and marked else "",
        why=_why(pair, rubric),
        findings=_findings(pair, result),
        causes=tuple(
            CauseRow(
                observed=one.cause.observed,
                causes=", then ".join(one.cause.causes),
                say=one.cause.say,
                weight=f"explains {one.n_explained} of {one.n_failed} failed readings"
                + (f", {one.n_against} speak against it" if one.n_against else ""),
                source=one.cause.source,
            )
            for one in (pair.causes[:N_CAUSES] if pair.is_graded and with_causes else ())
        ),
        work=_work(pair),
        steps=tuple(_step_words(step) for step in (assessed.work.steps if assessed else ())),
        keep=marked.keep if marked else "",
        change=marked.change if marked else "",
        notes=assessed.notes if assessed else "",
        lessons=assessed.lessons if assessed else "",
        mentor_notes=marked.notes if marked else "",
        questions=tuple((question, answers.get(at, "")) for at, question in enumerate(questions, start=1)),
        photos=tuple(
            PhotoRow(picture_of(photo.file), photo.caption, whose)
            for whose, photos in (
                (result.round.trainee.name, assessed.photos if assessed else ()),
                (result.round.mentor.name, marked.photos if marked else ()),
            )
            for photo in photos
        ),
    )


def _drawings(pair: PairResult, result: RoundResult) -> tuple[BladeDrawing, ...]:
    views = [
        ("received", f"As received, seen by {result.round.trainee.name}", pair.received),
        ("finished", f"As finished, seen by {result.round.trainee.name}", pair.finished),
        ("returned", f"As returned, seen by {result.round.mentor.name}", pair.returned),
    ]
    shown = [view for view in views if view[2].is_touched]
    return tuple(
        draw_blades(grade, key=f"p{pair.number}-{key}", title=title, fit=result.rubric.fit, top=result.rubric.top)
        for key, title, grade in shown
    )


def _sum_words(grade: PairGrade, rubric: Rubric) -> str:
    """The score written out, so that a person with a pencil can follow it."""
    seen = [(one.on.weight, one.seen) for one in grade.criteria if one.counts and one.seen is not None]
    if not seen:
        return ""
    total = sum(weight * level for weight, level in seen)
    best = sum(weight for weight, _ in seen)
    products = " + ".join(f"{weight}×{level}" for weight, level in seen)
    line = f"Score {score_words(grade.score.seen)} = 100 × ({products}) / ({rubric.top} × {best})"
    line += f" = 100 × {total} / {rubric.top * best}."
    if not grade.score.is_settled:
        line += f" With what is untested taken at 0 and at {rubric.top}: {range_words(grade.score)}."
    return line


def _why(pair: PairResult, rubric: Rubric) -> str:
    """Why the verdict is what it is."""
    if not pair.is_graded or pair.marked is None:
        return ""
    grade = pair.returned
    match grade.verdict:
        case Verdict.ACCEPTED:
            return f"Every must-pass reached, nothing at 0, score at least {rubric.mark}."
        case Verdict.REWORK:
            lines = [f"{one.on.name} is at {_at_most(one)} and needs {one.need}." for one in grade.missed]
            if grade.score.hi < rubric.mark:
                lines.append(f"The score stays below {rubric.mark}.")
            return " ".join(lines)
        case Verdict.NOT_SHOWN:
            return f"Not shown. {_open_words(pair)}"


def _at_most(grade: CriterionGrade) -> str:
    return str(grade.lo) if grade.lo == grade.hi else f"most {grade.hi}"


def _open_words(pair: PairResult) -> str:
    """What would settle it; or that nothing can, where the post spoiled what was to be seen."""
    transit = pair.marked.transit if pair.marked else ()
    spoiled = {need.on.name: None for need in pair.returned.needed if need.on.key in transit}
    still_open = [need for need in pair.returned.needed if need.on.key not in transit]
    if not spoiled:
        return f"These tests would settle it: {_tests_words(still_open)}."
    lost = f"Damaged in transit, it cannot be shown on this pair any more: {list_words(list(spoiled))}."
    return lost + (f" Not tested besides: {_tests_words(still_open)}." if still_open else "")


def _tests_words(needed: Sequence[TestNeeded]) -> str:
    places: dict[str, list[str]] = {}
    for need in needed:
        name = need.on.name + (" (could not be done)" if need.could_not else "")
        places.setdefault(name, []).append(str(need.place))
    return "; ".join(
        name if found == [str(WHOLE_PAIR)] else f"{name} at {list_words(found)}" for name, found in places.items()
    )


def _findings(pair: PairResult, result: RoundResult) -> tuple[str, ...]:
    lines = []
    if pair.finding:
        lines.append(f"{pair.finding.value.capitalize()}: the pair called for '{pair.called_for}'.")
    if pair.standing in (Standing.RIGHTLY_LEFT, Standing.RIGHTLY_ADJUSTED):
        lines.append(f"{pair.standing.value.capitalize()}; it stands outside the average.")
    if pair.absent:
        lines.append(
            f"{pair.absent.capitalize()}: nothing of it could be marked, so there is neither verdict nor score."
        )
    lines += _transit_lines(pair, result.round)
    if pair.assessed and pair.assessed.reason:
        lines.append(f"Reason given: {pair.assessed.reason}")
    lines += pair_found_lines(pair, result)
    if pair.assessed and not pair.was_tested_first:
        untold = "" if pair.is_change_by_mentor else ", so it cannot be told what the work did"
        lines.append(f"Not tested as received{untold}.")
    harmed = [one.on.name for one in pair.changes if one.change is Change.HARMED]
    if harmed:
        eyes = "As received by the trainee's eyes, as returned by the mentor's"
        if pair.is_change_by_mentor:
            words = eyes_words(is_by_mentor=True, mentor=result.round.mentor.name)
            eyes = words[0].upper() + words[1:]
        lines.append(f"Worse than it came: {list_words(harmed)}. {eyes}.")
    return tuple(lines)


def _transit_lines(pair: PairResult, round_: Round) -> tuple[str, ...]:
    """Damage on the way back in the mentor's words, with the criteria it excused; nothing where none was told."""
    marked = pair.marked
    is_damaged = pair.number in losses_on(round_, LegKind.RECEIVED_BACK).damaged
    if not is_damaged and not (marked and (marked.transit or marked.transit_note)):
        return ()
    note = marked.transit_note.strip().rstrip(".") if marked else ""
    names = [one.on.name for one in pair.returned.criteria if marked and one.key in marked.transit]
    excused = f"Not held against the work: {list_words(names)}." if names else "No criterion was put down to it."
    return (f"Damaged in transit on the way back{': ' if note else ''}{note}. {excused}",)


def _work(pair: PairResult) -> tuple[Fact, ...]:
    if pair.assessed is None:
        return ()
    work = pair.assessed.work
    facts = []
    if pair.assessed.stated_class is not None:
        stated = pair.assessed.stated_class
        facts.append(Fact("Class, as stated", f"{stated.value}, {CLASS_WORDS[stated]}"))
    if len(pair.classes) == 1:
        facts.append(Fact("Class by its cuts", f"{pair.classes[0].value}, {CLASS_WORDS[pair.classes[0]]}"))
    elif pair.classes:
        letters = [letter.value for letter in pair.classes]
        facts.append(Fact("Class by its cuts", f"{', '.join(letters[:-1])} or {letters[-1]}", "not every cut was made"))
    if work.minutes is not None:
        facts.append(Fact("Minutes", str(work.minutes)))
    if work.angle is not None:
        facts.append(Fact("Angle", f"{number_words(work.angle.number)}{SHORT[work.angle.unit]}"))
    if work.parts:
        facts.append(Fact("Parts", ", ".join(work.parts)))
    if work.most_removed_mm is not None:
        where = ", ".join(f"{station} {number_words(mm)}" for station, mm in work.removed_mm.items())
        facts.append(Fact("Metal removed", f"{where} mm", "blade width, before less after"))
    return tuple(facts)


def _step_words(step: WorkStep) -> str:
    return step.what if step.grit is None else f"{step.what}, {number_words(step.grit)} {step.scale}"
