"""The proposed box in plain words, and as a document for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from evalkit.domain.amounts import amount_words
from evalkit.progress.box_answer import ChosenPair, Narrowing, Proposal, Reason
from evalkit.progress.box_candidates import left_out_words
from evalkit.progress.box_worth import BAND, Why
from evalkit.progress.deciding import NoFigure
from evalkit.reports.figures import chance_words, list_words, percent_words
from evalkit.reports.progress_words import no_figure_words

FORMAT = 1
"""Number of the proposal's JSON format. 1: first."""
WORTH_SAYING = 0.25
"""A second reason is told from this share of the pair's worth on."""
LITTLE_DOUBT = 0.035
"""Below this SD of a chance, 'give or take' would say more than anybody can see at the bench."""
DIFFICULTIES = {1: "easier than ordinary", 2: "ordinary", 3: "a step harder", 4: "two steps harder"}
DIFFICULTIES[5] = "three steps harder"


def why_words(one: ChosenPair, name: str, *, is_ordinary_asked: bool = False) -> str:
    """Why a pair is in the box, in one sentence. `name`: the trainee's; `is_ordinary_asked`: ordinary pairs were."""
    words = []
    if one.is_by_hand:
        words.append("put in by hand" + (f", a repeat from round {one.had_in}" if one.had_in else ""))
    told = [reason for at, reason in enumerate(one.reasons) if at == 0 or reason.share >= WORTH_SAYING][:2]
    words += _both(told) or [_reason(reason, one, name) for reason in told]
    if is_ordinary_asked and one.is_ordinary:
        words.append("an ordinary pair, as readiness asks for")
    text = "; ".join(words) or "fills the box; nothing else tells it from the others"
    return f"{text[0].upper()}{text[1:]}."


def why_all(found: Proposal) -> tuple[str, ...]:
    """The sentence of each pair, in the order of the box."""
    is_asked = found.n_ordinary_lacking > 0 or bool(found.wish.n_ordinary)
    return tuple(why_words(one, found.trainee.name, is_ordinary_asked=is_asked) for one in found.chosen)


def _both(told: Sequence[Reason]) -> list[str]:
    """Practice on a criterion and news of the same one, in one breath; empty for any other reasons."""
    by_why = {reason.why: reason for reason in told}
    practice, news = by_why.get(Why.PRACTICE), by_why.get(Why.TELLS)
    if practice is None or news is None or practice.subjects[0] != news.subjects[0]:
        return []
    return [_practice(practice) + (", and shows more of how it stands" if _is_practice(practice) else "")]


def _is_practice(reason: Reason) -> bool:
    """Is the chance, as it is said, inside the band of good practice?"""
    return reason.chance is None or BAND[0] <= round(reason.chance, 2) <= BAND[1]


def _practice(reason: Reason) -> str:
    """Practice, or what it is where the pair is too easy or too hard for that."""
    subject, chance = reason.subjects[0], reason.chance
    if chance is None:
        return f"practice on {subject}"
    passes = f"passes about {chance_words(chance)}"
    if _is_practice(reason):
        return f"practice on {subject} ({passes})"
    if chance > BAND[1]:
        return f"a check on {subject} more than practice ({passes})"
    return f"a stretch on {subject}, harder than practice asks ({passes})"


def _reason(reason: Reason, one: ChosenPair, name: str) -> str:
    match reason.why:
        case Why.TELLS:
            return f"shows more of how {reason.subjects[0]} stands"
        case Why.PRACTICE:
            return _practice(reason)
        case Why.FAULT:
            kinds = "a fault" if len(reason.subjects) == 1 else "faults"
            return f"{kinds} new to {name}: {list_words(list(reason.subjects))}"
        case Why.EDGE:
            if one.n_of_its_type == 0:
                return f"no {one.pair.edge_type} pair was sent before"
            sent = amount_words(one.n_of_its_type, f"{one.pair.edge_type} pair")
            return f"only {sent} {'was' if one.n_of_its_type == 1 else 'were'} sent before"
        case Why.DIFFICULTY:
            return f"{DIFFICULTIES[one.pair.difficulty]}, to begin with"


def basis_words(found: Proposal) -> tuple[str, ...]:
    """What the proposal rests on, sentence by sentence."""
    name = found.trainee.name
    if found.no_figure is not None:
        much = "no history" if found.no_figure is NoFigure.NO_ROUNDS else "too little history"
        return (
            f"It rests on {much} of {name}. {no_figure_words(found.no_figure)}",
            "So the box is a spread: edge types, difficulties around ordinary, faults.",
        )
    rounds = amount_words(found.n_rounds, "round")
    return (f"It rests on {amount_words(found.n_scored, 'pair')} of {name} in {rounds}.", *narrowing_words(found))


def narrowing_words(found: Proposal) -> tuple[str, ...]:
    """The must-pass in most doubt, now and after the box."""
    if not found.narrowing:
        return ()
    most = max(found.narrowing, key=lambda one: one.sd_now)
    now, then = percent_words(most.sd_now), percent_words(most.sd_after)
    chance = f"about {chance_words(most.chance)} on an ordinary pair"
    if most.sd_now < LITTLE_DOUBT:
        return (f"No must-pass is much in doubt; most of all {most.name}: {chance}.",)
    doubt = f"give or take {now} now and " + (f"about {then} after this box" if then != now else "hardly less after it")
    return (f"Most in doubt is {most.name}: {chance}, {doubt}.",)


def box_lines(found: Proposal) -> tuple[str, ...]:
    """What lies in the box as a whole: ordinary pairs, declared value, what was left out."""
    n_ordinary = sum(one.is_ordinary for one in found.chosen)
    asked = f"; readiness lacked {found.n_ordinary_lacking} before" if found.n_ordinary_lacking else ""
    worth = [f"{amount} {currency}" for currency, amount in sorted(found.values.items())]
    lines = [f"Ordinary pairs: {n_ordinary} of {len(found.chosen)}{asked}."]
    if worth:
        lines.append(f"Declared value: {' and '.join(worth)}.")
    if found.unvalued:
        lines.append(f"Without a declared value, and so not counted: {', '.join(found.unvalued)}.")
    if found.left_out:
        lines.append(f"Left out: {left_out_words(found.left_out)}.")
    return tuple(lines)


def proposal_document(found: Proposal, command: Sequence[str]) -> dict[str, Any]:
    """The proposal for other programs; chances and SDs are not rounded. `command` plans it."""
    return {
        "format": FORMAT,
        "trainee": found.trainee.key,
        "rubric": found.rubric_key,
        "rests_on": {
            "rounds": found.n_rounds,
            "pairs": found.n_scored,
            "no_figure": None if found.no_figure is None else found.no_figure.value,
        },
        "pairs": [
            _pair(number, one, why)
            for number, (one, why) in enumerate(zip(found.chosen, why_all(found), strict=True), 1)
        ],
        "ordinary_lacking": found.n_ordinary_lacking,
        "declared_value": {currency: str(amount) for currency, amount in sorted(found.values.items())},
        "without_declared_value": list(found.unvalued),
        "narrowing": [_narrowing(one) for one in found.narrowing],
        "left_out": {why.value: list(tags) for why, tags in found.left_out.items()},
        "command": list(command),
    }


def _pair(number: int, one: ChosenPair, why: str) -> dict[str, Any]:
    return {
        "number": number,
        "tag": one.pair.tag,
        "pair": one.pair.words,
        "difficulty": one.pair.difficulty,
        "why": why,
        "reasons": [
            {"why": r.why.value, "subjects": list(r.subjects), "share": r.share, "chance": r.chance, "sd": r.sd}
            for r in one.reasons
        ],
        "is_by_hand": one.is_by_hand,
        "had_in": one.had_in,
    }


def _narrowing(one: Narrowing) -> dict[str, Any]:
    return {
        "criterion": one.key, "name": one.name, "chance": one.chance, "sd_now": one.sd_now, "sd_after": one.sd_after,
    }  # fmt: skip
