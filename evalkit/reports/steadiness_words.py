"""The mentor's steadiness in plain words, and as a document for other programs."""

from __future__ import annotations

from evalkit.domain.amounts import amount_words
from evalkit.progress.severity import NoSeverity, SeverityAnswer
from evalkit.progress.steadiness import Steadiness
from evalkit.reports.figures import list_words, plain_words, share_words, signed_words

FORMAT = 1
"""Number of the steadiness format. 1: first."""
SURE = 1.96


def steadiness_words(found: Steadiness) -> tuple[str, ...]:
    """How two markings of the same pairs agree."""
    who = f"{found.first}, marking twice" if found.is_own else f"{found.first} first, {found.second} second"
    lines = [
        f"{who}: {amount_words(found.n_pairs, 'pair')}, {amount_words(found.n_levels, 'level')} in both.",
        f"Same level: {share_words(found.same)}. Within one level: {share_words(found.within_one)}.",
        f"Same verdict: {share_words(found.same_verdict)}.",
    ]
    kappa = found.kappa
    if kappa is None:
        lines.append("Under 5 pairs no coefficient is given; the counts are all there is.")
    elif kappa.value is None:
        lines.append(f"Agreement beyond chance: not given. {kappa.undefined or ''}".rstrip())
    else:
        ends = ""
        if kappa.low is not None and kappa.high is not None:
            ends = f", likely {plain_words(kappa.low)} to {plain_words(kappa.high)}"
        lines.append(
            f"Agreement beyond chance (weighted kappa; 1 is full, 0 no more than chance): "
            f"{plain_words(kappa.value)}{ends}."
        )
    lines.append(_shift(found))
    return tuple(lines)


def _shift(found: Steadiness) -> str:
    if found.by is None:
        return "Nothing stands in both markings."
    said = f"Second minus first: {signed_words(found.by, 2)} levels on average"
    if found.by_error is None:
        return f"{said}; from so few pairs that says little."
    is_shown = abs(found.by) > SURE * found.by_error
    return f"{said} ± {plain_words(found.by_error)}: " + ("a shift." if is_shown else "no shift is shown.")


def severity_words(found: SeverityAnswer) -> tuple[str, ...]:
    """Who marks more strictly, only where shared trainees tie two mentors together."""
    match found.why_none:
        case NoSeverity.ONE_MENTOR:
            return ("One mentor alone has nobody to differ from: strictness is not a question here.",)
        case NoSeverity.FEW_TRAINEES | NoSeverity.NOT_SETTLED:
            return (f"How strict each mentor is cannot be said: {found.why_none}.", *_untied(found))
        case None:
            pass
    lines = [
        f"{one.one} against {one.other}: {signed_words(one.by, 2)} ± {plain_words(one.error)} on the skill scale; "
        + (f"{one.one if one.by > 0 else one.other} is stricter." if abs(one.by) > SURE * one.error
           else "no difference is shown.")
        for one in found.contrasts
    ]  # fmt: skip
    return (*lines, *_untied(found))


def _untied(found: SeverityAnswer) -> tuple[str, ...]:
    if len(found.parts) < 2:
        return ()
    parts = "; ".join(list_words(list(part)) for part in found.parts)
    words = (
        f"No trainee ties these groups together: {parts}. Between them nothing is said; a box marked by one of each "
        "would tie them best."
    )
    return (words,)


def steadiness_document(found: tuple[Steadiness, ...], severity: SeverityAnswer) -> dict[str, object]:
    """Numbers, not words."""
    return {
        "format": FORMAT,
        "twice_marked": [
            {
                "first": one.first,
                "second": one.second,
                "n_pairs": one.n_pairs,
                "n_levels": one.n_levels,
                "same": {"n": one.same.k, "of": one.same.n},
                "within_one": {"n": one.within_one.k, "of": one.within_one.n},
                "same_verdict": {"n": one.same_verdict.k, "of": one.same_verdict.n},
                "kappa": one.kappa.value if one.kappa else None,
                "second_minus_first": one.by,
                "error": one.by_error,
                "table": one.table,
                "criteria": {row.key: {"n": row.same.k, "of": row.same.n} for row in one.criteria},
            }
            for one in found
        ],
        "mentors": {
            "parts": severity.parts,
            "why_no_severity": severity.why_none,
            "contrasts": [
                {"one": one.one, "other": one.other, "stricter_by": one.by, "error": one.error}
                for one in severity.contrasts
            ],
        },
    }
