"""One pair in one line: the row it has on the first page."""

from __future__ import annotations

from evalkit.domain.amounts import amount_words
from evalkit.domain.grading import Score
from evalkit.domain.rubric import Rubric
from evalkit.domain.standing import Standing
from evalkit.domain.triage import CLASS_WORDS, IntakeClass
from evalkit.domain.verdict import Verdict
from evalkit.progress.results import PairResult
from evalkit.reports.figures import NOTHING, range_words, score_words
from evalkit.reports.rows import ScoreStrip, SummaryRow

NOT_TESTED = "not tested"
LEFT_OPEN = "left open by its cuts"
N_BY_CUTS = len(IntakeClass) - 1
"""Classes that cuts can give: X is stated by a person."""


def summary_row(pair: PairResult, rubric: Rubric) -> SummaryRow:
    """Pairs outside the average have a standing instead of a verdict, and no score."""
    graded = pair.is_graded
    score = pair.returned.score
    return SummaryRow(
        number=pair.number,
        pair=pair.numbered.pair.words,
        came_as=came_as_words(pair),
        decided=pair.assessed.decision.value if pair.assessed and pair.assessed.decision else NOTHING,
        own_verdict=_own_words(pair),
        verdict=pair.returned.verdict.value if graded else pair.standing_words,
        verdict_shape=_verdict_shape(pair),
        remark=_remark(pair),
        score=score_words(score.seen) if graded else NOTHING,
        score_range=_range(score) if graded else "",
        strip=_strip(pair, rubric) if graded else None,
    )


def came_as_words(pair: PairResult) -> str:
    """The class the trainee stated, with what the cuts say where that is another; else what the cuts allow.

    Cuts that leave every class open say no letter, and neither does a pair that was not cut.
    """
    stated = pair.assessed.stated_class if pair.assessed else None
    letters = "" if len(pair.classes) == N_BY_CUTS else "/".join(letter.value for letter in pair.classes)
    if stated is None:
        return letters or ((LEFT_OPEN if pair.classes else NOT_TESTED) if pair.assessed else NOTHING)
    if letters and stated.value not in letters.split("/") and stated is not IntakeClass.X:
        return f"{stated.value} (cuts say {letters})"
    return stated.value


def class_words() -> str:
    """What the letters under 'came as' mean, in one line."""
    letters = "; ".join(f"{letter.value} {words}" for letter, words in CLASS_WORDS.items())
    return f"Came as: {letters}. Several letters: the cuts leave them open."


def _range(score: Score) -> str:
    """What a score of part of the pair is of, and what the rest leaves; '' where all of it was seen."""
    between = range_words(score)
    if not between or score.seen is None:
        return between
    return f"of what was seen; {between} in all"


def _own_words(pair: PairResult) -> str:
    """The verdict the trainee stated, or what their own readings give, told apart.

    Of a pair that was left alone and not read as finished, readings give nothing.
    """
    if pair.assessed is None or not (pair.is_graded or pair.assessed.verdict or pair.finished.is_touched):
        return NOTHING
    verdict = pair.comparison.trainee_verdict.value
    return verdict if pair.assessed.verdict else f"not said; readings: {verdict}"


def _verdict_shape(pair: PairResult) -> str:
    if pair.standing in (Standing.RIGHTLY_LEFT, Standing.RIGHTLY_ADJUSTED):
        return "new"
    if pair.absent:
        return "unseen"
    if not pair.is_graded:
        return "part"
    return {Verdict.ACCEPTED: "new", Verdict.REWORK: "fails", Verdict.NOT_SHOWN: "unseen"}[pair.returned.verdict]


def _remark(pair: PairResult) -> str:
    words = []
    if pair.comparison.would_have_gone_out and pair.is_graded:
        words.append("would have gone out")
    if pair.finding:
        words.append(pair.finding.value)
    if pair.absent and pair.absent != pair.standing_words:
        words.append(pair.absent)
    if pair.marked and pair.marked.transit:
        words.append("knocked in transit")
    if pair.is_graded and pair.returned.needed and pair.marked:
        spoiled = any(need.on.key in pair.marked.transit for need in pair.returned.needed)
        tests = amount_words(len(pair.returned.needed), "test")
        words.append("cannot be shown any more" if spoiled else f"{tests} would settle it")
    return "; ".join(words)


def _strip(pair: PairResult, rubric: Rubric) -> ScoreStrip:
    score, own = pair.returned.score, pair.finished.score.seen
    words = f"score {score_words(score.seen)}"
    if not score.is_settled:
        words += f" {_range(score)}"
    words += f", own {score_words(own)}, mark {rubric.mark}"
    shift = 2.0
    return ScoreStrip(
        lo=score.lo + shift,
        hi=score.hi + shift,
        seen=None if score.seen is None else score.seen + shift,
        own=None if own is None else own + shift,
        mark=rubric.mark + shift,
        words=words,
    )
