"""The readiness answer and the plain counts beside it for other programs."""

from __future__ import annotations

from evalkit.progress.agreeing import Proportion
from evalkit.progress.counting import LatestPairs
from evalkit.progress.deciding import ReadinessAnswer
from evalkit.reports.progress_shapes import LatestDocument, NeedDocument, ReadinessDocument, ShareDocument
from evalkit.reports.round_points import share_ends


def readiness_document(found: ReadinessAnswer) -> ReadinessDocument:
    """The readiness answer alone: what a sign-off keeps of it."""
    return ReadinessDocument(
        answer=found.answer.value,
        n_rounds=found.n_rounds,
        n_marked=found.n_marked,
        n_pairs=found.n_pairs,
        n_ordinary=found.n_ordinary,
        target=found.target,
        confidence=found.confidence,
        joint=found.joint,
        joint_lo80=found.joint_lo,
        joint_hi80=found.joint_hi,
        prob_at_target=found.prob_at_target,
        prior_moved=found.prior_moved,
        settled_against_prior=found.settled_against_prior,
        settled_against_difficulty=found.settled_against_difficulty,
        round_ends_at_limit=found.ends_at_limit,
        round_ends_in_a_row=found.ends_in_a_row,
        lead_in=found.lead_in,
        needs=tuple(
            NeedDocument(lack=one.lack.value, have=one.have, need=one.need, criterion=one.criterion)
            for one in found.needs
        ),
        no_figure=found.no_figure.value if found.no_figure else None,
    )


def latest_document(latest: LatestPairs) -> LatestDocument:
    """The plain reading of the latest ordinary pairs."""
    return LatestDocument(
        latest=share_document(latest.share),
        run=latest.run,
        run_bound90=latest.run_bound,
        n_not_shown=latest.n_not_shown,
        n_passed=latest.n_passed,
        n_shown=latest.n_shown,
        last_two_rounds=share_document(latest.last_rounds),
    )


def share_document(share: Proportion) -> ShareDocument:
    """`k` of `n`, with its interval where there is one."""
    low, high = share_ends(share)
    return ShareDocument(n=share.k, of=share.n, share=share.value, low=low, high=high)
