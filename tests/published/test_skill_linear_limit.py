"""Linear limit: the walk and the block elimination with a Gaussian cell are the local level model of the Nile.

Durbin & Koopman, Time Series Analysis by State Space Methods, chapter 2. Filter, smoother and likelihood by R StructTS
and statsmodels with an approximately diffuse start, level ~ N(0, 1e6) (see data/SOURCES.md).
"""

import csv
import json
import pathlib

import numpy as np
import pytest

from evalkit.maths.skill.blocks import eliminate, selected_inverse, solve
from evalkit.maths.skill.prior import WalkPrior, log_det_precision, precision_times, walk_diagonal, walk_rates

DATA = pathlib.Path(__file__).parent / "data"
EXPECTED = json.loads((DATA / "local_level_nile_expected.json").read_text())
NOISE_VAR, STEP_VAR = EXPECTED["printed"]["sigma2_eps"], EXPECTED["printed"]["sigma2_eta"]
DIFFUSE_VAR = 1e6
NO_EFFECT = np.zeros((1, 0))


@pytest.fixture(scope="module")
def flow():
    with (DATA / "nile.csv").open() as opened:
        return {int(row["year"]): float(row["volume"]) for row in csv.DictReader(opened)}


def smoothed(volumes):
    """Level, its variance and the log-likelihood of all volumes, by the skill model's own walk and elimination."""
    n, one = len(volumes), np.ones(1)
    y = np.array(volumes)
    prior = WalkPrior(
        mean=np.zeros((1, n, 1)),
        rate=walk_rates(np.arange(n, dtype=float)[None], DIFFUSE_VAR**0.5 * one, STEP_VAR**0.5 * one),
        share=0 * one, pair_sd=one, effect_mean=NO_EFFECT, effect_sd=NO_EFFECT,
    )  # fmt: skip
    diagonal = (walk_diagonal(prior.rate) + 1 / NOISE_VAR)[:, :, None, None]
    parts = eliminate(diagonal, np.zeros((1, n, 1, 0)), np.zeros((1, 0, 0)), prior)
    level, _ = solve(parts, (y / NOISE_VAR)[None, :, None], NO_EFFECT)
    residual = y - level[0, :, 0]
    quadratic = (residual**2).sum() / NOISE_VAR + (level * precision_times(level, prior)).sum()
    log_dets = log_det_precision(prior)[0] - parts.log_det()[0] - n * np.log(2 * np.pi * NOISE_VAR)
    return level[0, :, 0], selected_inverse(parts).cov[0, :, 0, 0], 0.5 * (log_dets - quadratic)


def test_smoother_and_its_variance(flow):
    level, variance, _ = smoothed(list(flow.values()))
    expected, years = EXPECTED["at_printed_values"]["approximate_diffuse"], list(flow)
    for year, value in expected["smoothed_level"].items():
        assert level[years.index(int(year))] == pytest.approx(value, rel=1e-8)
    for year, value in expected["smoothed_var"].items():
        assert variance[years.index(int(year))] == pytest.approx(value, rel=1e-8)


def test_filter_is_the_smoother_of_what_was_known(flow):
    expected = EXPECTED["at_printed_values"]["approximate_diffuse"]
    for n, (level, variance) in enumerate(zip(expected["filtered_level"], expected["filtered_var"], strict=True), 1):
        ours, doubt, _ = smoothed(list(flow.values())[:n])
        assert ours[-1] == pytest.approx(level, rel=1e-8)
        assert doubt[-1] == pytest.approx(variance, rel=1e-8)


def test_log_likelihood_without_the_first_year(flow):
    volumes = list(flow.values())
    *_, total = smoothed(volumes)
    first_var = DIFFUSE_VAR + NOISE_VAR
    first = -0.5 * (np.log(2 * np.pi * first_var) + volumes[0] ** 2 / first_var)
    expected = EXPECTED["at_printed_values"]["approximate_diffuse"]["loglik_diffuse"]
    assert total - first == pytest.approx(expected, abs=2e-6)
