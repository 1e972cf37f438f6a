"""The frozen case: one round of ten pairs against a long NUTS run (4 x 10,000 draws, R-hat 1.0000, no divergence)."""

import json
import pathlib

import numpy as np
import pytest

from evalkit.maths import skill

CASE = json.loads((pathlib.Path(__file__).parent / "data" / "skill_case_one_round.json").read_text())
REFERENCE = CASE["reference"]


@pytest.fixture(scope="module", params=["laplace2", "gvb"])
def answer(request):
    found = skill.fit(CASE["observations"], CASE["hyper"] | {"method": request.param})
    return json.loads(json.dumps(found))


def _within(answer_mean, answer_sd, mean, sd):
    mean, sd = np.array(mean), np.array(sd)
    assert np.abs((np.array(answer_mean) - mean) / sd).max() < 0.03
    assert np.abs(np.array(answer_sd) / sd - 1).max() < 0.03


def test_skill_means_within_0_03_sd_and_sds_within_3_percent(answer):
    _within(answer["mean"], answer["sd"], REFERENCE["mean"], REFERENCE["sd"])


def test_bias_means_within_0_03_sd_and_sds_within_3_percent(answer):
    _within(answer["self_bias"]["mean"], answer["self_bias"]["sd"], REFERENCE["bias_mean"], REFERENCE["bias_sd"])


def test_chances_within_0_005(answer):
    ahead = answer["next_pair"]
    assert np.abs(np.array(ahead["per_criterion"]) - REFERENCE["pass_mean"]).max() < 0.005
    assert ahead["joint"] == pytest.approx(REFERENCE["joint_mean"], abs=0.005)
    assert ahead["joint_lo80"] == pytest.approx(REFERENCE["joint_lo80"], abs=0.005)
    assert ahead["joint_hi80"] == pytest.approx(REFERENCE["joint_hi80"], abs=0.005)
    assert ahead["prob_joint_at_least_target"] == pytest.approx(REFERENCE["prob_joint_at_least_target"], abs=0.005)


def test_the_plain_mode_would_not_pass():
    """So the tolerance above is one that a lesser method fails: the mode is 0.09 SD off in this case."""
    from evalkit.maths.skill.hyper import read_hyper
    from evalkit.maths.skill.input import read_observations
    from evalkit.maths.skill.model import batch_of, cells_of, prior_of
    from evalkit.maths.skill.posterior import posterior

    hyper, seen = read_hyper(CASE["hyper"]), read_observations(CASE["observations"])
    batch = batch_of([seen], hyper)
    mode = posterior(cells_of(batch, np.array([hyper.thresholds])), prior_of(batch, hyper), n_nodes=1)
    off = np.abs((mode.mean[0] - np.array(REFERENCE["mean"])) / np.array(REFERENCE["sd"])).max()
    assert off > 0.05
