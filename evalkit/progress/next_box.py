"""The next box of a trainee: from the history and the stock to the pairs that teach and tell most, each with its why.

The objective stands in plain words in `box_worth`, the limits in `box_limits`; both go to an exact integer programme.
The fit takes all edge types together and the same values as the progress page does, the weight of a known fault in what
was seen among them. The faults of a pair to come count through the difficulty that the mentor gave it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from evalkit.domain.pair import Pair
from evalkit.domain.round import Person
from evalkit.domain.rubric import Rubric
from evalkit.domain.school_values import SchoolValues
from evalkit.errors import InputError
from evalkit.maths.choosing import worths_of
from evalkit.maths.errors import NotSettledError, UnusableInputError
from evalkit.maths.skill import skill_mixture
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import read_observations
from evalkit.maths.skill.narrowing import chance_sd, chances_on, narrowed, outlook_of
from evalkit.maths.skill.rounds import rule_of
from evalkit.progress.assuming import hyper_of
from evalkit.progress.box_answer import ChosenPair, Narrowing, Proposal, Reason
from evalkit.progress.box_candidates import Candidates, LeftOut, Past, Wish, candidates_for, left_out_words, past_of
from evalkit.progress.box_choosing import best_items, swapped_items
from evalkit.progress.box_worth import Known, Wanted, Why, must_passes, wanted_with_history, wanted_without_history
from evalkit.progress.deciding import NoFigure
from evalkit.progress.lining_up import line_up, months_between
from evalkit.progress.modelled import too_little
from evalkit.progress.observing import ORDINARY, Observed, observe
from evalkit.progress.results import RoundResult

__all__ = ["LeftOut", "Proposal", "Wish", "propose_box"]


@dataclass(frozen=True, slots=True)
class _Case:
    """Everything that is settled before the choice."""

    candidates: Candidates
    past: Past
    known: Known | None
    wanted: tuple[Wanted, ...]
    names: Mapping[str, str]


def propose_box(
    trainee: Person,
    results: Sequence[RoundResult],
    stock: Sequence[Pair],
    held: Mapping[str, LeftOut],
    rubric: Rubric,
    wish: Wish,
    *,
    today: date,
    values: SchoolValues | None = None,
) -> Proposal:
    """The best box under the wish's limits. `results` hold every round of the trainee, open ones too.

    `held` names pairs that are in no free hand; `values` are what the school has taught. Raises InputError when no box
    keeps the limits, saying which and what would mend it.
    """
    past = past_of([one.round for one in results])
    candidates = candidates_for(stock, held, past, rubric, wish)
    if not candidates.pairs:
        left = left_out_words(candidates.left_out)
        raise InputError(
            f"no pair of the stock can be sent to {trainee.name}" + (f": {left}." if left else "."),
            mend="Add pairs (evalkit pair add), or check boxes in and mark them.",
        )
    observed = observe(line_up(results, trainee.key))
    hyper = hyper_of(observed, values)
    known, why_not = known_of(observed, today, hyper)
    n = wish.n_pairs

    def wanted_of(pairs: Sequence[Pair]) -> tuple[Wanted, ...]:
        if known is None:
            return wanted_without_history(pairs, n, past)
        return wanted_with_history(pairs, n, past, rubric, known)

    wanted = wanted_of(candidates.pairs)
    names = {one.key: one.name for one in observed.criteria} | {one.key: one.name for one in rubric.criteria}
    case = _Case(candidates, past, known, wanted, names)
    n_lacking = _n_lacking(observed, hyper)
    try:
        if not wish.swaps:
            items = best_items(candidates, wanted, wish, n_lacking, trainee.name)
        else:
            # The box before the swaps has to be the one that is proposed without them, or nobody could name its pairs.
            plain = replace(wish, swaps=())
            before = candidates_for(stock, held, past, rubric, plain)
            first = best_items(before, wanted_of(before.pairs), plain, n_lacking, trainee.name)
            tags = [before.pairs[at].tag for at in first]
            items = swapped_items(candidates, wanted, wish, tags, trainee.name)
    except NotSettledError:
        raise InputError(
            "the choice took too long and was given up.", mend="Ask for fewer pairs, or ease the value limit."
        ) from None
    return Proposal(
        trainee=trainee,
        rubric_key=rubric.key,
        wish=wish,
        n_ordinary_lacking=n_lacking,
        n_rounds=len(observed.rounds),
        n_scored=len(observed.scored),
        no_figure=why_not,
        chosen=tuple(_explained(case, wish, items, at) for at in items),
        narrowing=_narrowing(case, [candidates.pairs[at] for at in items], rubric),
        left_out=candidates.left_out,
    )


def known_of(observed: Observed, today: date, hyper: Hyper) -> tuple[Known | None, NoFigure | None]:
    """The outlook on that day, or why there is none."""
    why_not = too_little(observed)
    if why_not is not None:
        return None, why_not
    months = max(months_between(observed.rounds[-1].on, today), 0.0)
    try:
        seen = read_observations(observed.observations)
        ahead = replace(hyper, horizon_months=months)
        outlook = outlook_of(seen, ahead, skill_mixture(seen, ahead))
    except UnusableInputError:
        return None, NoFigure.NO_LEVELS
    except NotSettledError:
        return None, NoFigure.NOT_SETTLED
    return Known(outlook, seen.criteria), None


def _n_lacking(observed: Observed, hyper: Hyper) -> int:
    """Ordinary pairs that the readiness rule still lacks."""
    have = sum(bool(pair["difficulty"] == 0) for pair in observed.scored)
    return max(0, rule_of(hyper).min_ordinary_pairs - have)


def _explained(case: _Case, wish: Wish, items: Sequence[int], at: int) -> ChosenPair:
    """What the box would lose without the pair, gain by gain."""
    pair = case.candidates.pairs[at]
    gains = [one.gain for one in case.wanted]
    with_it, without = worths_of(gains, items), worths_of(gains, [one for one in items if one != at])
    lost = [(max(a - b, 0.0), one) for a, b, one in zip(with_it, without, case.wanted, strict=True)]
    whole = sum(loss for loss, _ in lost)
    reasons = []
    for why in Why:
        own = sorted(((loss, one) for loss, one in lost if one.why is why and loss > 0), key=lambda row: -row[0])
        if own:
            subjects = tuple(case.names.get(one.subject, one.subject) for _, one in own)
            share = sum(loss for loss, _ in own) / whole
            reasons.append(Reason(why, subjects, share, *_chance(case.known, why, own[0][1].subject, pair)))
    return ChosenPair(
        pair,
        tuple(sorted(reasons, key=lambda one: -one.share)),
        is_by_hand=pair.tag in wish.by_hand,
        had_in=case.past.round_of.get(pair.tag),
        n_of_its_type=case.past.n_by_edge.get(pair.edge_type, 0),
    )


def _chance(known: Known | None, why: Why, key: str, pair: Pair) -> tuple[float | None, float | None]:
    """Chance of a criterion as the reason needs it, and for what a pair tells its SD."""
    if known is None or why not in (Why.TELLS, Why.PRACTICE):
        return None, None
    at = known.keys.index(key)
    if why is Why.PRACTICE:
        return float(chances_on(known.outlook, float(pair.difficulty - ORDINARY))[at]), None
    sd = chance_sd(known.outlook, known.outlook.whole())[at]
    return float(chances_on(known.outlook, 0.0)[at]), float(sd)


def _narrowing(case: _Case, box: Sequence[Pair], rubric: Rubric) -> tuple[Narrowing, ...]:
    if case.known is None:
        return ()
    known, asked = case.known, must_passes(box, rubric)
    now, then = narrowed(known.outlook, [known.kind_of(pair, rubric) for pair in box])
    chances = chances_on(known.outlook, 0.0)
    return tuple(
        Narrowing(key, case.names[key], float(chances[at]), float(now[at]), float(then[at]))
        for at, key in enumerate(known.keys)
        if key in asked
    )
