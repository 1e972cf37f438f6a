"""Rasch limit: one round, two levels, criteria without a shared part, a person in place of a pair (LSAT section 6).

Bock & Lieberman 1970; fits in Rizopoulos 2006, Journal of Statistical Software 17(5), recomputed by R lme4 with
21-point quadrature (see data/SOURCES.md).
"""

import csv
import json
import pathlib

import numpy as np
import pytest

from evalkit.maths.ordinal import cell_bounds, cell_derivatives, cell_edges, hermite_nodes
from evalkit.maths.skill.posterior import Cells, posterior
from evalkit.maths.skill.prior import WalkPrior

DATA = pathlib.Path(__file__).parent / "data"
EXPECTED = json.loads((DATA / "rasch_lsat6_expected.json").read_text())
EASINESS = np.array(EXPECTED["easiness_random_intercept"])
PERSON_SD = EXPECTED["mml_common_slope"]["discrimination"]


@pytest.fixture(scope="module")
def answers():
    with (DATA / "lsat6_patterns.csv").open() as opened:
        rows = [[row["pattern"]] * int(row["count"]) for row in csv.DictReader(opened)]
    return np.array([[int(x) for x in pattern] for same in rows for pattern in same], dtype=np.int8)


def _fit(answers, person_sd, n_nodes):
    level = answers[None, None]
    one = np.ones(1)
    prior = WalkPrior(
        mean=np.zeros((1, 1, 5)), rate=one[None] / 1e8, share=0 * one, pair_sd=person_sd * one,
        effect_mean=np.zeros((1, 0)), effect_sd=np.ones((1, 0)),
    )  # fmt: skip
    cells = Cells(
        cell_edges(*cell_bounds(level, np.zeros((1, 1)))), np.zeros(level.shape), np.zeros((*level.shape[:3], 0))
    )
    return posterior(cells, prior, n_nodes=n_nodes)


def test_the_data_are_those_of_the_source(answers):
    assert answers.shape == (1000, 5)
    assert answers.mean(axis=0) == pytest.approx(EXPECTED["item_p"], abs=5e-4)


def test_easiness_by_the_engine(answers):
    """The variational fit at the published person SD: within a tenth of a standard error (about 0.13 to 0.07)."""
    fit = _fit(answers, PERSON_SD, 21)
    assert fit.mean[0, 0] == pytest.approx(EASINESS, abs=0.012)
    difficulty = -fit.mean[0, 0] / PERSON_SD
    assert difficulty == pytest.approx(EXPECTED["printed_ltm"]["difficulty"], abs=0.015)


def test_the_plain_mode_is_worse(answers):
    """Laplace at the mode shrinks easy items; the averaging of the variational fit is what brings them back."""
    plain, averaged = (_fit(answers, PERSON_SD, n).mean[0, 0] for n in (1, 21))
    assert np.abs(plain - EASINESS).max() > 2 * np.abs(averaged - EASINESS).max()


def test_marginal_likelihood_of_the_cells_at_the_published_estimates(answers):
    z, w = hermite_nodes(41)
    bounds = cell_bounds(answers, np.zeros((len(answers), 1)))
    likelihood = np.zeros(len(answers))
    for point, share in zip(z, w, strict=True):
        eta = np.broadcast_to(EASINESS + PERSON_SD * point, answers.shape)
        likelihood += share * np.exp(cell_derivatives(eta, *bounds).loglik.sum(axis=1))
    assert np.log(likelihood).sum() == pytest.approx(EXPECTED["mml_common_slope"]["loglik"], abs=1e-3)
