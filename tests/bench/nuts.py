"""The skill model written once more, for NumPyro: a second opinion that shares no code with ours (a dev extra)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evalkit.maths.ordinal import NOT_SEEN
from evalkit.maths.skill.hyper import Hyper
from evalkit.maths.skill.input import Seen


@dataclass(frozen=True)
class NutsAnswer:
    """Draws of the skills (n, R, C), seconds and the largest R-hat."""

    skill: np.ndarray
    seconds: float
    largest_r_hat: float


def sample(seen: Seen, hyper: Hyper, *, n_draws: int, n_warmup: int, n_chains: int = 4, seed: int = 1) -> NutsAnswer:
    """NUTS on the model of one trainee with given hyper-parameters."""
    import time

    import jax
    import numpyro
    from numpyro import distributions as dist
    from numpyro.diagnostics import summary
    from numpyro.infer import MCMC, NUTS

    jax.config.update("jax_enable_x64", True)
    n_rounds, n_pairs, n_criteria = seen.level.shape
    r, i, c = np.nonzero(seen.level != NOT_SEEN)
    y = seen.level[r, i, c].astype(int)
    offset = seen.offset(hyper)[r, i, c]
    thresholds = np.array(hyper.thresholds)
    share = (1 - hyper.general_share) * np.eye(n_criteria) + hyper.general_share
    root = np.linalg.cholesky(share)
    scale = np.concatenate([[hyper.initial_sd], hyper.rw_sd * np.sqrt(np.diff(seen.months))])

    def model():
        z = numpyro.sample("z", dist.Normal(0, 1).expand([n_rounds, n_criteria]).to_event(2))
        u = numpyro.sample("u", dist.Normal(0, 1).expand([n_rounds, n_pairs]).to_event(2))
        steps = scale[:, None] * (z @ root.T)
        theta = numpyro.deterministic("theta", hyper.initial_mean + jax.numpy.cumsum(steps, axis=0))
        eta = theta[r, c] + hyper.pair_sd * u[r, i] - offset
        numpyro.sample("y", dist.OrderedLogistic(eta, thresholds), obs=y)

    run = MCMC(
        NUTS(model), num_warmup=n_warmup, num_samples=n_draws, num_chains=n_chains, chain_method="sequential",
        progress_bar=False,
    )  # fmt: skip
    start = time.perf_counter()
    run.run(jax.random.PRNGKey(seed))
    draws = run.get_samples(group_by_chain=True)
    seconds = time.perf_counter() - start
    r_hat = max(float(np.max(part["r_hat"])) for part in summary({"theta": draws["theta"]}).values())
    return NutsAnswer(np.asarray(draws["theta"]).reshape(-1, n_rounds, n_criteria), seconds, r_hat)
