"""Forecast scores against Wilks, Statistical Methods in the Atmospheric Sciences."""

import pytest

from evalkit.maths.scoring import ForecastGroup, brier_parts, ranked_probability_score


@pytest.fixture
def precipitation(load_json):
    """Wilks, Table 7.3: forecasts of precipitation, how often each was given and came true."""
    data = load_json("brier_rps_wilks")
    columns = (data["forecast"], data["obs_rel_freq"], data["forecast_freq"])
    return [ForecastGroup(*row) for row in zip(*columns, strict=True)]


def test_brier_parts(load_json, precipitation):
    """Wilks, Table 7.3, with Murphy's 1973 parts; calculated with numpy from the printed table."""
    computed = load_json("brier_rps_wilks")["computed"]
    parts = brier_parts(precipitation)
    assert parts.reliability == pytest.approx(computed["reliability"], rel=1e-6)
    assert parts.resolution == pytest.approx(computed["resolution_exact"], rel=1e-6)
    assert parts.uncertainty == pytest.approx(computed["uncertainty_exact"], rel=1e-6)
    assert parts.score == pytest.approx(computed["brier_direct"], rel=1e-6)
    # The file's skill rests on the rounded base rate .162; ours on the base rate of the table itself, .1615.
    assert parts.skill == pytest.approx(computed["skill"], abs=2e-3)


@pytest.mark.parametrize("case", range(2))
def test_ranked_probability_score(load_json, case):
    """Wilks's worked example: .73 and .89 for precipitation that fell in the first of three classes."""
    row = load_json("brier_rps_wilks")["rps"][case]
    level = row["observed"] - 1
    assert ranked_probability_score(row["forecast"], level) == pytest.approx(row["rps_sum"], rel=1e-9)
    assert ranked_probability_score(row["forecast"], level, normalised=True) == pytest.approx(
        row["rps_normalised"], rel=1e-9
    )
