"""What can be counted without any model, the watch over a sign-off, and how counts and model go together; in words."""

from __future__ import annotations

from evalkit.domain.amounts import amount_words
from evalkit.progress.counting import N_LATEST, RUN_CONFIDENCE, LatestPairs
from evalkit.progress.deciding import ReadinessAnswer
from evalkit.progress.learning import (
    ADEQUATE_FAILURES,
    FALSE_SIGNAL_CHANCE,
    INADEQUATE_FAILURES,
    WITHIN_PAIRS,
    DriftWatch,
    Signal,
)
from evalkit.reports.figures import at_least_words, day_words, list_words, percent_words, plain_words, share_words
from evalkit.reports.progress_chances import modelled_words


def latest_words(latest: LatestPairs) -> tuple[str, ...]:
    """The plain counts that stand beside every modelled figure."""
    if latest.n_shown == 0:
        words = ["Counted: no ordinary pair yet on which every must-pass is shown either way."]
    else:
        n = latest.share.n
        of = f"the last {n} ordinary pairs" if latest.n_shown > N_LATEST else amount_words(n, "ordinary pair")
        words = [f"Counted: of {of}, every must-pass was reached on {share_words(latest.share)}."]
        words.append(run_words(latest))
    if latest.last_rounds.n:
        words.append(f"All pairs of the last two rounds, easy and hard ones too: {share_words(latest.last_rounds)}.")
    if latest.n_not_shown:
        are = "is" if latest.n_not_shown == 1 else "are"
        words.append(
            f"{amount_words(latest.n_not_shown, 'ordinary pair')} could not be shown either way and {are} not counted."
        )
    return tuple(words)


def run_words(latest: LatestPairs) -> str:
    """The zero-failure reading of the present row."""
    if latest.run_bound is None:
        return "The newest ordinary pair missed a must-pass, so there is no clean row to read."
    return (
        f"{amount_words(latest.run, 'clean ordinary pair')} in a row: with {percent_words(RUN_CONFIDENCE)} confidence "
        f"at least {at_least_words(latest.run_bound)} would pass."
    )


def apart_words(found: ReadinessAnswer, latest: LatestPairs) -> tuple[str, ...]:
    """Why the modelled chance and the plain count are not the same; only where they are surely apart.

    Surely: the chance lies outside the 95 % interval of the counted share.
    """
    counted = latest.share
    if found.joint is None or counted.interval is None:
        return ()
    if counted.interval.low <= found.joint <= counted.interval.high:
        return ()
    lies = "above" if found.joint > counted.interval.high else "below"
    words = (
        f"The model's {modelled_words(found.joint)} lies {lies} the count of {share_words(counted)}: the model weighs "
        "how hard the pairs were and lets newer pairs say more; the count does neither."
    )
    return (words,)


def learning_words(signal: Signal) -> str:
    """The second opinion; what its limit was set for stands in the method (`learning_method`)."""
    if not signal.trials:
        return "Pair by pair, easy and hard alike: no pair to count yet."
    score, limit = plain_words(signal.score, 1), plain_words(signal.limit, 1)
    points = f"{score} of the {limit} points it takes"
    by = signal.signalled_by
    if by is None:
        return f"Pair by pair, easy and hard alike, 'learnt' is not said so far: {points}."
    said = f"'learnt' was said at pair {by.number} of round {by.round_key}"
    return f"Pair by pair, easy and hard alike, {said}; now {points}."


def learning_method() -> str:
    """What the points of `learning_words` are."""
    return (
        f"The points are a running score over all pairs (a CUSUM): {percent_words(ADEQUATE_FAILURES)} failures counts "
        f"as learnt, {percent_words(INADEQUATE_FAILURES)} as not; its chance to say 'learnt' wrongly within "
        f"{WITHIN_PAIRS} pairs is {percent_words(FALSE_SIGNAL_CHANCE)}. It knows nothing of easy and hard pairs: a "
        "second opinion, never the decision."
    )


def watch_words(watch: DriftWatch) -> str:
    """What happened since a sign-off."""
    edges = list_words([kind.value for kind in watch.sign_off.edge_types])
    head = f"Signed off for {edges} on {day_words(watch.sign_off.signed_on)}"
    signal = watch.signal
    if not signal.trials:
        return f"{head}: no such pair was marked since, so nothing watches over it."
    failed = sum(not trial.has_passed for trial in signal.trials)
    since = f"{failed} of {amount_words(len(signal.trials), 'pair')} since then missed a must-pass"
    if signal.signalled_by is None:
        return f"{head}: {since}; the alarm has not rung."
    by = signal.signalled_by
    return f"{head}: ALARM at pair {by.number} of round {by.round_key}. {since}. Look again before more shears go out."
