"""Limits of agreement and repeatability against published measurements."""

import pytest

from evalkit.maths.differences import limits_of_agreement, repeatability


@pytest.fixture
def flow(load_csv):
    """Peak expiratory flow, litres a minute: wright1, wright2, mini1, mini2."""
    rows = load_csv("bland_altman1986_pefr")
    return {name: [float(row[name]) for row in rows] for name in ("wright1", "wright2", "mini1", "mini2")}


def test_limits_of_bland_and_altman(load_json, flow):
    """Bland & Altman 1986, Lancet i:307-310: bias -2.1, SD 38.8, limits at 2 SD and their intervals."""
    expected = load_json("bland_altman1986_expected")
    computed, printed = expected["computed"], expected["printed"]
    found = limits_of_agreement(flow["wright1"], flow["mini1"], k=2)
    assert found.bias == pytest.approx(computed["mean_diff"], rel=1e-6)
    assert found.sd == pytest.approx(computed["sd_diff"], rel=1e-6)
    assert [found.low, found.high] == pytest.approx(computed["limits_mean_pm_2sd"], rel=1e-6)
    assert found.bias_interval == pytest.approx(computed["ci95_bias"], rel=1e-6)
    assert found.low_interval == pytest.approx(computed["ci95_lower_limit"], rel=1e-6)
    assert found.high_interval == pytest.approx(computed["ci95_upper_limit"], rel=1e-6)
    assert round(found.bias, 1) == printed["mean_diff"]
    assert round(found.sd, 1) == printed["sd_diff"]
    # The paper carries its rounded bias and SD on, hence a tenth or two of a litre.
    assert [found.low, found.high] == pytest.approx(printed["limits_mean_pm_2sd"], abs=0.1)
    assert found.bias_interval == pytest.approx(printed["ci95_bias"], abs=0.06)
    assert found.low_interval == pytest.approx(printed["ci95_lower_limit"], abs=0.2)
    assert found.high_interval == pytest.approx(printed["ci95_upper_limit"], abs=0.2)


def test_limits_at_the_usual_factor(load_json, flow):
    """The same data with 1.96 SD, the factor of later software."""
    computed = load_json("bland_altman1986_expected")["computed"]
    found = limits_of_agreement(flow["wright1"], flow["mini1"])
    assert [found.low, found.high] == pytest.approx(computed["limits_mean_pm_1p96sd"], rel=1e-6)


@pytest.mark.parametrize("meter", ["wright", "mini"])
def test_repeatability_of_bland_and_altman(load_json, flow, meter):
    """Bland & Altman 1986: coefficient of repeatability 43.2 and 56.4, twice the root mean square of differences."""
    expected = load_json("bland_altman1986_expected")
    root_mean_square = expected["computed"][f"rms_diff_{meter}"]
    found = repeatability(zip(flow[f"{meter}1"], flow[f"{meter}2"], strict=True), k=2)
    assert found.df == found.n_things == 17
    assert found.coefficient == pytest.approx(2 * root_mean_square, rel=1e-6)
    # The paper doubles the rounded root mean square.
    assert 2 * round(found.coefficient / 2, 1) == pytest.approx(
        expected["printed"][f"repeatability_{meter}_2sd"], abs=0.21
    )


def test_repeatability_of_the_aiag_study(load_json, load_csv):
    """AIAG manual, 4th ed.: mean square of repeats within part and appraiser, 60 degrees of freedom."""
    cells: dict[tuple[str, str], list[float]] = {}
    for row in load_csv("gauge_rr_aiag"):
        cells.setdefault((row["part"], row["appraiser"]), []).append(float(row["value"]))
    expected = load_json("gauge_rr_aiag_expected")["anova_with_interaction"]["repeatability"]
    found = repeatability(cells.values())
    assert (found.n_things, found.df) == (30, expected["df"])
    # The mean square stands there with 6 digits, the sum of squares with 6 decimals.
    assert found.sd**2 == pytest.approx(expected["MS"], abs=5.1e-8)
    assert found.sd**2 * found.df == pytest.approx(expected["SS"], abs=5.1e-7)
