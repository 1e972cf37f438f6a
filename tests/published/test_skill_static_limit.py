"""Static limit: one round, one criterion, no pair effect, flat priors. The engine must then be a proportional-odds fit.

Wine (Randall 1989, Biometrical Journal 31:781-793), mental impairment (Agresti, Categorical Data Analysis) and cheese
(McCullagh & Nelder 1989, section 5.6). Fitted values: R 4.2.2 `ordinal`, and statsmodels OrderedModel for the first two
(see data/SOURCES.md); the printed ones are from memory.
"""

import csv
import json
import pathlib

import numpy as np
import pytest
from scipy.optimize import minimize

from evalkit.maths.ordinal import cell_bounds, cell_derivatives, cell_edges, threshold_slopes, thresholds_from_gaps
from evalkit.maths.skill.gaps import gap_jacobian, threshold_gradient
from evalkit.maths.skill.posterior import Cells, posterior, predictor
from evalkit.maths.skill.prior import WalkPrior

DATA = pathlib.Path(__file__).parent / "data"
FLAT_SD = 1e4


def load_json(name):
    return json.loads((DATA / name).read_text())


def load_csv(name):
    with (DATA / name).open() as opened:
        return list(csv.DictReader(opened))


def proportional_odds(level, covariates, n_levels):
    """Thresholds (of P(Y <= j)), coefficients and log-likelihood: gaps by BFGS, the rest by the skill engine."""
    level = np.array(level, dtype=np.int8)[None, None, :, None]
    effect = np.array(covariates, dtype=float)[None, None]
    one, n_effects = np.ones(1), effect.shape[3]
    prior = WalkPrior(
        mean=np.zeros((1, 1, 1)), rate=one[None] / FLAT_SD**2, share=0 * one, pair_sd=1e-5 * one,
        effect_mean=np.zeros((1, n_effects)), effect_sd=np.full((1, n_effects), FLAT_SD),
    )  # fmt: skip

    def at(log_gaps):
        thresholds = thresholds_from_gaps(np.exp(log_gaps)[None], 1)
        bounds = cell_bounds(level, thresholds)
        cells = Cells(cell_edges(*bounds), np.zeros(level.shape), effect)
        fit = posterior(cells, prior, n_nodes=1, tolerance=1e-9)
        eta = predictor(fit.state, cells)
        slopes = threshold_slopes(eta, np.zeros_like(eta), *bounds, 1)
        gradient = threshold_gradient(level, slopes, n_levels) @ gap_jacobian(n_levels, 1) * np.exp(log_gaps)
        return thresholds[0], fit, cell_derivatives(eta, *bounds).loglik.sum(), gradient[0]

    def downhill(log_gaps):
        _, _, loglik, gradient = at(log_gaps)
        return -loglik / level.size, -gradient / level.size

    found = minimize(downhill, np.zeros(n_levels - 2), jac=True, method="BFGS", options={"gtol": 1e-8})
    thresholds, fit, loglik, _ = at(found.x)
    return thresholds - fit.mean.item(), fit.effect_mean[0], loglik


def test_wine():
    rows, expected = load_csv("wine_randall1989.csv"), load_json("ordinal_wine_expected.json")
    level = [int(row["rating"]) - 1 for row in rows]
    covariates = [[row["temp"] == "warm", row["contact"] == "yes"] for row in rows]
    theta, beta, loglik = proportional_odds(level, covariates, 5)
    computed, printed = expected["logit"], expected["printed"]
    assert theta == pytest.approx(computed["theta"], abs=1e-4)
    assert beta == pytest.approx([computed["beta"]["tempwarm"], computed["beta"]["contactyes"]], abs=1e-4)
    assert loglik == pytest.approx(computed["loglik"], abs=1e-6)
    assert [round(float(b), 3) for b in beta] == [printed["tempwarm"], printed["contactyes"]]


def test_wine_fitted_probabilities():
    rows, expected = load_csv("wine_randall1989.csv"), load_json("ordinal_wine_expected.json")
    theta, beta, _ = proportional_odds(
        [int(row["rating"]) - 1 for row in rows],
        [[row["temp"] == "warm", row["contact"] == "yes"] for row in rows],
        5,
    )
    bounds = cell_bounds(np.arange(5, dtype=np.int8)[None], theta[None])
    for name, chances in expected["fitted_probabilities"].items():
        temp, contact = name.split("/")
        eta = np.full((1, 5), beta @ [temp == "warm", contact == "yes"])
        assert np.exp(cell_derivatives(eta, *bounds).loglik)[0] == pytest.approx(chances, abs=2e-5)


def test_mental_impairment():
    rows, expected = load_csv("mental_impairment_agresti.csv"), load_json("ordinal_mental_expected.json")
    level = [expected["order"].index(row["impairment"]) for row in rows]
    covariates = np.array([[float(row["ses"]), float(row["life_events"])] for row in rows])
    theta, beta, loglik = proportional_odds(level, covariates, 4)
    computed, printed = expected["computed"], expected["printed_sas"]
    assert theta == pytest.approx(computed["theta"], abs=1e-4)
    assert beta == pytest.approx([computed["beta"]["ses"], computed["beta"]["life"]], abs=1e-4)
    assert loglik == pytest.approx(computed["loglik"], abs=1e-6)
    assert theta == pytest.approx(printed["intercepts"], abs=1e-4)
    assert -2 * loglik == pytest.approx(printed["minus2loglik"], abs=1e-3)
    crossed = np.column_stack([covariates, covariates.prod(axis=1)])
    theta, beta, _ = proportional_odds(level, crossed, 4)
    wanted = expected["with_interaction"]
    assert theta == pytest.approx(wanted["theta"], abs=1e-3)
    assert beta == pytest.approx([wanted["ses"], wanted["life"], wanted["ses_life"]], abs=1e-3)


def test_cheese():
    expected = load_json("ordinal_cheese_expected.json")
    level, covariates = [], []
    for additive, counts in expected["counts"].items():
        for k, count in enumerate(counts):
            level += [k] * count
            covariates += [[additive == "A", additive == "B", additive == "C"]] * count
    theta, beta, loglik = proportional_odds(level, covariates, 9)
    computed = expected["computed"]
    assert theta == pytest.approx(computed["theta"], abs=2e-4)
    assert beta == pytest.approx([computed["A"], computed["B"], computed["C"]], abs=2e-4)
    assert loglik == pytest.approx(computed["loglik"], abs=1e-6)
    # The printed intercepts belong to the opposite sign of the coefficients, and differ by 1e-4 (see data/SOURCES.md).
    assert theta == pytest.approx(expected["printed"]["intercepts"], abs=3e-4)
    assert beta == pytest.approx([-expected["printed"][name] for name in "ABC"], abs=3e-4)
