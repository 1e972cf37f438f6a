"""Cohen's kappa against published tables."""

import pytest

from evalkit.maths.agreement import cohen_kappa, marginal_homogeneity_test, symmetry_test

WEIGHTS = {"": "none", "_linear": "linear", "_quadratic": "quadratic"}


@pytest.mark.parametrize("who", ["women", "men"])
@pytest.mark.parametrize("suffix", WEIGHTS)
def test_vision_kappa_and_its_error(load_json, who, suffix):
    """Stuart 1953, unaided distance vision; calculated with R vcd and statsmodels."""
    data = load_json("kappa_vision_stuart1953")
    kappa = cohen_kappa(data[who], WEIGHTS[suffix])
    computed = data["computed"][who]
    assert kappa.value == pytest.approx(computed[f"kappa{suffix}"], rel=1e-6)
    assert kappa.se == pytest.approx(computed[f"kappa{suffix}_ase"], rel=1e-6)
    if who == "women":
        assert kappa.n == data["printed"]["women"]["n"]
        assert kappa.value / kappa.se_h0 == pytest.approx(data["z_for_H0_women"][f"kappa{suffix}"], rel=1e-6)


def test_vision_interval(load_json):
    """Stuart 1953, women: 95 % interval of unweighted kappa as R vcd gives it."""
    data = load_json("kappa_vision_stuart1953")
    kappa = cohen_kappa(data["women"], "none")
    assert [kappa.low, kappa.high] == pytest.approx(data["computed"]["women"]["kappa_ci95"], rel=1e-6)


@pytest.mark.parametrize("who", ["women", "men"])
def test_vision_symmetry_and_margins(load_json, who):
    """Stuart 1953: Bowker 19.11 on 6 and Stuart-Maxwell 11.96 on 3 degrees of freedom (women), calculated with R."""
    data = load_json("kappa_vision_stuart1953")
    tests = {"bowker": symmetry_test(data[who]), "stuart_maxwell": marginal_homogeneity_test(data[who])}
    for name, found in tests.items():
        assert found.statistic == pytest.approx(data["computed"][who][f"{name}_chi2"], rel=1e-6)
        assert found.p_value == pytest.approx(data["computed"][who][f"{name}_p"], rel=1e-6)
        if who == "women":
            assert round(found.statistic, 2) == data["printed"][who][f"{name}_chi2"]
            assert found.df == data["printed"][who][f"{name}_df"]


def test_unequal_disagreement_weights(load_json):
    """Cohen 1968, Psychological Bulletin 70:213-220: kappa .492, weighted kappa .348 (n = 200)."""
    data = load_json("kappa_weighted_cohen1968")
    counts = [[round(share * data["n"]) for share in row] for row in data["proportions"]]
    assert counts == data["also_cells"]
    weighted = cohen_kappa(counts, data["disagreement_weights"])
    assert weighted.n == data["n"]
    assert round(weighted.value, 3) == data["printed"]["weighted_kappa"]
    assert round(cohen_kappa(counts, "none").value, 3) == data["printed"]["kappa"]


@pytest.mark.parametrize("suffix", WEIGHTS)
def test_pathologists(load_json, suffix):
    """Landis & Koch 1977 (in Agresti): kappa .493, standard error .057; calculated with R vcd and statsmodels."""
    data = load_json("kappa_pathologists_landis_koch1977")
    kappa = cohen_kappa(data["rows_A_cols_B"], WEIGHTS[suffix])
    ase = "ase" if not suffix else f"kappa{suffix}_ase"
    assert kappa.n == data["n"]
    assert kappa.value == pytest.approx(data["computed"][f"kappa{suffix}"], rel=1e-6)
    assert kappa.se == pytest.approx(data["computed"][ase], rel=1e-6)
    if not suffix:
        assert (round(kappa.value, 3), round(kappa.se, 3)) == (data["printed"]["kappa"], data["printed"]["se"])
        assert (round(kappa.low, 2), round(kappa.high, 2)) == (0.38, 0.60)


@pytest.mark.parametrize("suffix", ["", "_linear"])
def test_diagnosis(load_json, suffix):
    """Fleiss 1981, psychotic, neurotic, organic: kappa .68; calculated with R vcd and statsmodels."""
    data = load_json("kappa_diagnosis_fleiss1981")
    kappa = cohen_kappa(data["table"], WEIGHTS[suffix])
    ase = "ase" if not suffix else f"kappa{suffix}_ase"
    assert kappa.value == pytest.approx(data["computed"][f"kappa{suffix}"], rel=1e-6)
    assert kappa.se == pytest.approx(data["computed"][ase], rel=1e-6)
    if not suffix:
        assert round(kappa.value, 2) == data["printed"]["kappa"]
