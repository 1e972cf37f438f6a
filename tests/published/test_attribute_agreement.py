"""Bad-or-good judgements against the worked example of the AIAG manual on measurement systems."""

import pytest

from evalkit.maths.agreement import bad_good_rates, cohen_kappa, effectiveness

COUPLES = ["A_by_B", "B_by_C", "A_by_C", "A_by_reference", "B_by_reference", "C_by_reference"]


@pytest.mark.parametrize("couple", COUPLES)
def test_kappas(load_json, couple):
    """AIAG MSA manual, 50 parts, 3 appraisers, 3 trials: kappas between appraisers and with the reference."""
    data = load_json("attribute_agreement_aiag")
    for weights in ("none", "linear", "quadratic"):  # on two levels all weightings are one
        kappa = cohen_kappa(data["crosstabs"][couple], weights)
        assert kappa.n == 150
        assert kappa.value == pytest.approx(data["computed_kappa"][couple], rel=1e-6)
        assert round(kappa.value, 2) == data["printed_kappa"][couple]


@pytest.mark.parametrize("appraiser", ["A", "B", "C"])
def test_miss_and_false_alarm_rates(load_json, appraiser):
    """AIAG MSA manual: miss and false-alarm rates in percent, one decimal."""
    data = load_json("attribute_agreement_aiag")
    rates, printed = bad_good_rates(data["crosstabs"][f"{appraiser}_by_reference"]), data["printed_rates"][appraiser]
    # 6.25 is printed as 6.3: the manual rounds halves up.
    assert 100 * rates.miss.value == pytest.approx(printed["miss_pct"], abs=0.0501)
    assert 100 * rates.false_alarm.value == pytest.approx(printed["false_alarm_pct"], abs=0.0501)
    assert (rates.miss.n, rates.false_alarm.n) == (48, 102)


@pytest.mark.parametrize("who", ["A", "B", "C", "all_agree_with_reference"])
def test_effectiveness(load_json, who):
    """AIAG MSA manual: parts judged right in all three trials, with exact intervals in whole percent."""
    data = load_json("attribute_agreement_aiag")
    printed = data["printed_effectiveness"][who]
    matched, of = printed["matched"], printed["of"]
    # The raw decisions are not public; one wrong trial spoils a part, whichever trial it is.
    trials = [["ok"] * 3] * matched + [["ok", "bad", "ok"]] * (of - matched)
    found = effectiveness(trials, ["ok"] * of)
    ends = [found.interval.low, found.interval.high]
    assert (found.k, found.n, round(100 * found.value)) == (matched, of, printed["pct"])
    assert ends == pytest.approx(data["computed_clopper_pearson"][f"{matched}/{of}"], rel=1e-6)
    # .885 is printed as 89 and .884734 rounds to 88: allow the manual one unit of its last digit.
    assert [100 * end for end in ends] == pytest.approx(printed["ci95_pct"], abs=0.6)
