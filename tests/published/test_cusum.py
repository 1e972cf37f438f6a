"""Learning-curve CUSUM, normal CUSUM and Wald's test against published and independently computed figures."""

import math

import pytest

from evalkit.maths.cusum import (
    cusum_path,
    first_signal,
    learning_weights,
    normal_cusum_run_length,
    signal_chances,
    sprt_performance,
    sprt_plan,
)


@pytest.mark.parametrize("case", range(4))
def test_learning_curve_signal_chances(load_json, case):
    """The chart of Biau et al. 2008; chances by enumeration, 400,000-run simulation and R surveillance."""
    plan = load_json("lc_cusum")["exact_run_length"][case]
    weights = learning_weights(plan["p_adequate"], plan["p_inadequate"])
    assert weights.success == pytest.approx(plan["w_success"], abs=5.1e-10)
    assert weights.failure == pytest.approx(plan["w_failure"], abs=5.1e-10)
    run = plan["shortest_run_of_successes_to_signal"]
    assert first_signal(cusum_path([False] * 50, weights), plan["h"]) == run
    for true_p, chances in plan["prob_signal_within"].items():
        found = signal_chances(weights, plan["h"], float(true_p.removeprefix("true_p=")), 100)
        assert [found[int(n) - 1] for n in chances] == pytest.approx(list(chances.values()), abs=1e-8)


@pytest.mark.parametrize("case", range(2))
def test_learning_curve_paths(load_json, case):
    """The chart of Biau et al. 2008 over one row of 25 trials; 6 decimals."""
    path = load_json("lc_cusum")["paths"][case]
    weights = learning_weights(path["p_adequate"], path["p_inadequate"])
    found = cusum_path(map(bool, path["failures"]), weights)
    assert found == pytest.approx(path["S"], abs=1e-6)
    assert first_signal(found, path["h"]) == path["first_signal"]


@pytest.mark.parametrize("sides", ["one_sided", "two_sided"])
def test_normal_cusum_run_lengths(load_json, sides):
    """NIST/SEMATECH e-Handbook 6.3.2.3, k = .5, h = 4 (printed, from memory); R spc, integral equation."""
    data = load_json("cusum_normal_arl")
    for shift, length in zip(data["shift_sigma"], data[f"{sides}_h4"], strict=True):
        found = normal_cusum_run_length(shift, data["k"], 4.0, two_sided=sides == "two_sided")
        assert found == pytest.approx(length, rel=1e-6)
        if sides == "two_sided":
            assert float(f"{found:.3g}") == data["printed_h4"]["two_sided"][f"{shift:g}"]


def test_normal_cusum_limit(load_json):
    """R spc: the limit whose one-sided run length in control is 500."""
    data = load_json("cusum_normal_arl")
    found = normal_cusum_run_length(0.0, data["k"], data["h_for_one_sided_arl_500"])
    assert found == pytest.approx(500, rel=1e-6)


def test_wald_lines(load_json):
    """NIST/SEMATECH e-Handbook 6.2.6 (from memory): accept at -0.939 + 0.0397 n, reject at 1.205 + 0.0397 n."""
    data = load_json("sprt_nist")
    plan = sprt_plan(data["p1"], data["p2"], data["alpha"], data["beta"])
    for name in ("h1", "h2", "slope"):
        assert getattr(plan, name) == pytest.approx(data["computed"][name], rel=1e-6)
    assert data["printed"]["accept"] == f"{-plan.h1:.3f}+{plan.slope:.4f}n"
    assert data["printed"]["reject"] == f"{plan.h2:.3f}+{plan.slope:.4f}n"
    for n, line in data["lines"].items():
        assert plan.accept_line(int(n)) == pytest.approx(line["accept"], abs=5.1e-4)
        assert plan.reject_line(int(n)) == pytest.approx(line["reject"], abs=5.1e-4)
    accepting = next(n for n in range(1, 100) if plan.accept_line(n) >= 0)
    rejecting = next(n for n in range(1, 100) if math.ceil(plan.reject_line(n)) <= n)
    assert accepting == data["first_n_accept_with_zero_defectives"]
    assert rejecting == data["first_n_reject_possible"]


def test_wald_exact(load_json):
    """The same plan: exact chance of accepting and mean sample; agrees with a 100,000-run simulation."""
    data = load_json("sprt_nist")
    plan = sprt_plan(data["p1"], data["p2"], data["alpha"], data["beta"])
    for key, row in data["exact"].items():
        found = sprt_performance(plan, float(key.removeprefix("p=")))
        assert found.accept == pytest.approx(row["accept"], rel=1e-6)
        assert found.mean_trials == pytest.approx(row["ASN"], rel=1e-6)
