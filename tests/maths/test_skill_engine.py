"""The engine by two roads that must meet: block elimination against dense matrices, Gaussians against quadrature."""

from dataclasses import replace

import numpy as np
import pytest

from evalkit.maths.errors import NotSettledError, UnusableInputError
from evalkit.maths.ordinal import cell_bounds, cell_derivatives, cell_edges, hermite_nodes
from evalkit.maths.skill.blocks import eliminate, selected_inverse, solve
from evalkit.maths.skill.moments import prior_slopes
from evalkit.maths.skill.posterior import Cells, Start, posterior, predictor
from evalkit.maths.skill.prior import (
    WalkPrior,
    dense_precision,
    inverse_share,
    inverse_share_parts,
    log_det_precision,
    precision_times,
    share_matrix,
    walk_diagonal,
    walk_rates,
)
from evalkit.maths.skill.second_order import dense_covariance, second_order

R, N, C, P = 4, 3, 5, 2


def _prior(n_rounds=R, n_criteria=C, n_effects=P, months=(0.0, 1.0, 1.5, 4.0), share=0.6):
    one = np.ones(1)
    return WalkPrior(
        mean=np.full((1, n_rounds, n_criteria), -0.5),
        rate=walk_rates(np.array([months[:n_rounds]]), 1.5 * one, 0.6 * one),
        share=share * one,
        pair_sd=0.6 * one,
        effect_mean=np.full((1, n_effects), 0.1),
        effect_sd=np.full((1, n_effects), 0.4),
    )


def _cells(seed, n_rounds=R, n_pairs=N, n_criteria=C, n_effects=P):
    rng = np.random.default_rng(seed)
    level = rng.integers(-1, 4, size=(1, n_rounds, n_pairs, n_criteria)).astype(np.int8)
    bounds = cell_bounds(level, np.array([[-1.8, 0.0, 1.8]]))
    offset = rng.normal(0, 0.5, level.shape)
    return Cells(cell_edges(*bounds), offset, rng.normal(0, 1, (1, n_rounds, n_pairs, n_effects))), bounds


def test_precision_and_covariance_form_of_the_walk_agree():
    prior, months = _prior(), np.array([0.0, 1.0, 1.5, 4.0])
    walk = 1.5**2 + 0.6**2 * np.minimum(months[:, None], months[None, :])
    covariance = np.kron(walk, share_matrix(prior.share, C)[0])
    assert np.linalg.inv(dense_precision(prior)[0]) == pytest.approx(covariance, abs=1e-10)
    assert log_det_precision(prior)[0] == pytest.approx(-np.linalg.slogdet(covariance)[1], rel=1e-10)
    x = np.random.default_rng(1).standard_normal((1, R, C))
    assert precision_times(x, prior).ravel() == pytest.approx(dense_precision(prior)[0] @ x.ravel(), abs=1e-10)


def test_block_elimination_meets_a_dense_solver():
    rng = np.random.default_rng(4)
    prior = _prior()
    a, b = inverse_share_parts(prior.share, C)
    extra = np.einsum("rci,rdi->rcd", *(rng.standard_normal((R, C, 3)),) * 2)
    diagonal = (walk_diagonal(prior.rate)[:, :, None, None] * inverse_share(a, b, C)[:, None]) + extra
    border = rng.standard_normal((1, R, C, P))
    corner = np.eye(P)[None] * 50.0
    full = dense_precision(prior)[0].reshape(R, C, R, C).copy()
    for r in range(R):
        full[r, :, r] += extra[r]
    flat_border = border.reshape(R * C, P)
    whole = np.block([[full.reshape(R * C, R * C), flat_border], [flat_border.T, corner[0]]])
    parts = eliminate(diagonal, border, corner, prior)
    assert parts.log_det()[0] == pytest.approx(np.linalg.slogdet(whole)[1], rel=1e-10)
    right, right_effect = rng.standard_normal((1, R, C)), rng.standard_normal((1, P))
    skill, effect = solve(parts, right, right_effect)
    dense = np.linalg.solve(whole, np.concatenate([right.ravel(), right_effect.ravel()]))
    assert np.concatenate([skill.ravel(), effect.ravel()]) == pytest.approx(dense, abs=1e-9)
    inverse, ours = np.linalg.inv(whole), selected_inverse(parts)
    blocks = inverse[: R * C, : R * C].reshape(R, C, R, C)
    for r in range(R):
        assert ours.cov[0, r] == pytest.approx(blocks[r, :, r], abs=1e-9)
        if r:
            assert ours.cross[0, r - 1] == pytest.approx(blocks[r - 1, :, r], abs=1e-9)
    assert ours.effect_cov[0] == pytest.approx(inverse[R * C :, R * C :], abs=1e-9)
    assert ours.skill_effect_cov[0].reshape(R * C, P) == pytest.approx(inverse[: R * C, R * C :], abs=1e-9)


def test_the_mode_is_where_the_dense_gradient_vanishes():
    cells, bounds = _cells(5)
    prior = _prior()
    fit = posterior(cells, prior, n_nodes=1, tolerance=1e-10)
    slope = cell_derivatives(predictor(fit.state, cells), *bounds).first
    pull = slope.sum(axis=2) - precision_times(fit.mean - prior.mean, prior)
    assert np.abs(pull).max() < 1e-8
    assert np.abs(slope.sum(axis=3) - fit.pair_mean / 0.36).max() < 1e-8
    effect_pull = np.einsum("brnp,brn->bp", cells.effect, slope.sum(axis=3))
    assert np.abs(effect_pull - (fit.effect_mean - prior.effect_mean) / 0.16).max() < 1e-8


def test_variances_of_pairs_and_predictors_meet_the_dense_covariance():
    cells, _ = _cells(6)
    prior = _prior()
    fit = posterior(cells, prior, n_nodes=1, tolerance=1e-10)
    dense = dense_covariance(fit.weight[0], cells.effect[0], prior)
    skill, pair = np.arange(R * C).reshape(R, C), R * C + P + np.arange(R * N).reshape(R, N)
    assert np.diagonal(dense)[pair] == pytest.approx(fit.pair_var[0], abs=1e-9)
    for r in range(R):
        for i in range(N):
            for c in range(C):
                row = np.zeros(len(dense))
                row[skill[r, c]] = row[pair[r, i]] = 1.0
                row[R * C : R * C + P] = cells.effect[0, r, i]
                assert row @ dense @ row == pytest.approx(fit.eta_var[0, r, i, c], abs=1e-9)


def test_second_order_meets_the_formula_written_with_full_matrices():
    cells, bounds = _cells(7)
    prior = _prior()
    mode = posterior(cells, prior, n_nodes=1, tolerance=1e-10)
    ours = second_order(mode, cells, prior)
    sg = dense_covariance(mode.weight[0], cells.effect[0], prior)
    design = np.zeros((R, N, C, len(sg)))
    for r in range(R):
        for i in range(N):
            for c in range(C):
                design[r, i, c, r * C + c] = design[r, i, c, R * C + P + r * N + i] = 1.0
                design[r, i, c, R * C : R * C + P] = cells.effect[0, r, i]
    a = design.reshape(-1, len(sg))
    each = cell_derivatives(predictor(mode.state, cells), *bounds)
    l3, l4 = each.third.ravel(), each.fourth.ravel()
    q = a @ sg @ a.T
    v = np.diagonal(q)
    b = 0.5 * np.outer(l3, l3) * q**2 + np.diag(0.5 * l4 * v + 0.5 * l3 * (q @ (l3 * v)))
    shift = 0.5 * sg @ a.T @ (l3 * v)
    cov = sg + sg @ a.T @ b @ a @ sg
    assert ours.mean.ravel() == pytest.approx(mode.mean.ravel() + shift[: R * C], abs=1e-9)
    assert ours.effect_mean[0] == pytest.approx(mode.effect_mean[0] + shift[R * C : R * C + P], abs=1e-9)
    blocks = cov[: R * C, : R * C].reshape(R, C, R, C)
    for r in range(R):
        assert ours.cov[0, r] == pytest.approx(blocks[r, :, r], abs=1e-9)
        if r:
            assert ours.cross[0, r - 1] == pytest.approx(blocks[r - 1, :, r], abs=1e-9)
    assert ours.effect_cov[0] == pytest.approx(cov[R * C : R * C + P, R * C : R * C + P], abs=1e-9)


def _by_quadrature(bounds, offset, prior):
    """One round, one criterion: skill and pair effects integrated by 81-point Gauss-Hermite each."""
    z, w = hermite_nodes(81)
    skill = prior.mean[0, 0, 0] + z / np.sqrt(prior.rate[0, 0])
    lower, upper = (x[0, 0, :, 0] for x in bounds)
    per_pair = np.zeros((len(lower), len(z)))
    for i in range(len(lower)):
        eta = skill[:, None] + prior.pair_sd[0] * z[None, :] - offset[i]
        per_pair[i] = np.exp(cell_derivatives(eta, lower[i], upper[i]).loglik) @ w
    likelihood = per_pair.prod(axis=0) * w
    total = likelihood.sum()
    mean = likelihood @ skill / total
    return np.log(total), mean, np.sqrt(likelihood @ (skill - mean) ** 2 / total)


@pytest.mark.parametrize("levels", [(2, 1, 3), (0, 0, 1), (2, 2, 2, 2, 2), (3, -1, 0)])
def test_posterior_and_log_marginal_meet_brute_force_in_a_tiny_case(levels):
    level = np.array(levels, dtype=np.int8)[None, None, :, None]
    bounds = cell_bounds(level, np.array([[-1.8, 0.0, 1.8]]))
    prior = _prior(1, 1, 0)
    cells = Cells(cell_edges(*bounds), np.zeros(level.shape), np.zeros((1, 1, len(levels), 0)))
    exact, mean, sd = _by_quadrature(bounds, np.zeros(len(levels)), prior)
    mode = posterior(cells, prior, n_nodes=1)
    averaged = posterior(cells, prior)
    corrected = second_order(mode, cells, prior)
    assert mode.log_marginal[0] == pytest.approx(exact, abs=0.06)
    assert averaged.log_marginal[0] == pytest.approx(exact, abs=0.06)
    assert averaged.log_marginal[0] < exact  # it is a lower bound
    assert averaged.mean.item() == pytest.approx(mean, abs=0.03 * sd)
    assert corrected.mean.item() == pytest.approx(mean, abs=0.05 * sd)
    assert np.sqrt(averaged.cov.item()) == pytest.approx(sd, rel=0.04)
    assert np.sqrt(corrected.cov.item()) == pytest.approx(sd, rel=0.06)


def test_gvb_and_second_order_meet():
    cells, _ = _cells(8, n_pairs=8)
    prior = _prior()
    one, other = posterior(cells, prior), second_order(posterior(cells, prior, n_nodes=1), cells, prior)
    sd = np.sqrt(np.diagonal(one.cov, axis1=2, axis2=3))
    assert np.abs((one.mean - other.mean) / sd).max() < 0.03
    assert np.diagonal(other.cov, axis1=2, axis2=3) == pytest.approx(sd**2, rel=0.06)


def test_gradients_of_the_prior_are_finite_differences_of_the_log_marginal():
    cells, _ = _cells(9)
    base = _prior()
    slopes = prior_slopes(posterior(cells, base, tolerance=1e-9), base)
    h = 1e-4
    rho = np.log(0.6 / 0.4)
    rate_first = np.array([[1.0, 0, 0, 0]])
    moved = {
        "initial_mean": lambda x: replace(base, mean=base.mean + x),
        "log_initial_sd": lambda x: replace(base, rate=base.rate * np.exp(-2 * x * rate_first)),
        "log_rw_sd": lambda x: replace(base, rate=base.rate * np.exp(-2 * x * (1 - rate_first))),
        "logit_share": lambda x: replace(base, share=1 / (1 + np.exp(-np.array([rho + x])))),
        "log_pair_sd": lambda x: replace(base, pair_sd=base.pair_sd * np.exp(x)),
    }
    for name, at in moved.items():
        up, down = (posterior(cells, at(x), tolerance=1e-9).log_marginal[0] for x in (h, -h))
        assert getattr(slopes, name)[0] == pytest.approx((up - down) / (2 * h), abs=1e-4), name


def test_a_later_start_ends_in_the_same_place():
    cells, _ = _cells(10)
    first = posterior(cells, _prior(), tolerance=1e-8)
    again = posterior(cells, _prior(), tolerance=1e-8, start=Start(first.state, first.eta_var))
    assert again.rounds < first.rounds
    assert again.mean == pytest.approx(first.mean, abs=1e-7)


def test_a_fit_that_does_not_settle_raises():
    cells, _ = _cells(11)
    with pytest.raises(NotSettledError, match="did not settle") as caught:
        posterior(cells, _prior(), tolerance=0.0)
    assert caught.value.rounds > 0


def test_two_rounds_of_one_day_and_a_walk_that_stands_still_are_fine():
    cells, _ = _cells(12)
    fit = posterior(cells, _prior(months=(0.0, 0.0, 0.0, 0.0)))
    assert np.ptp(fit.mean, axis=1).max() < 1e-5
    with pytest.raises(UnusableInputError, match="out of order"):
        walk_rates(np.array([[1.0, 0.5]]), np.ones(1), np.ones(1))
