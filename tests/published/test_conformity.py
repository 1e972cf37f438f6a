"""Conformance probability and risks against JCGM 106:2012."""

import math

import pytest

from evalkit.maths.conformity import (
    Prior,
    acceptance_band,
    conformance_probability,
    global_risks,
    guard_band_for_risk,
    guard_band_for_value,
)


@pytest.fixture
def bearings():
    """Radial error motion of ball bearings in micrometres: a gamma prior of shape 4 and rate 4 (clause 9.5.4)."""
    density = lambda x: 4**4 * x**3 * math.exp(-4 * x) / math.gamma(4)  # noqa: E731
    return Prior(density, (0.0, 15.0), (0.25, 0.75, 1.5, 3.0, 6.0))


def test_one_sided_guard(load_json):
    """JCGM 106, clause 7.3: how many standard uncertainties inside one limit; normal quantiles."""
    for chance, z in load_json("conformity_jcgm106")["one_sided_z"].items():
        assert guard_band_for_value(2.0, float(chance)) == pytest.approx(z, rel=1e-9)
        assert conformance_probability(5.0 - z, 2.0, None, 5.0) == pytest.approx(float(chance), rel=1e-9)


def test_specific_values(load_json):
    """Normal arithmetic of clause 7 on four readings; not printed, calculated with scipy."""
    for case in load_json("conformity_jcgm106")["specific"]:
        found = conformance_probability(case["y"], 2 * case["u"], case["TL"], case["TU"])
        assert found == pytest.approx(case["pc"], rel=1e-8)


def test_ball_bearings(load_json, bearings):
    """JCGM 106, clause 9.5.4: .042 do not conform, consumer's risk .008; producer's risks by a metrology library."""
    case = load_json("conformity_jcgm106")["ball_bearing"]
    computed, printed, doubt = case["computed"], case["printed"], 2 * case["measurement_standard_uncertainty_um"]
    band = (None, case["upper_tolerance_um"])
    plain = global_risks(bearings, doubt, band, band)
    assert plain.nonconforming == pytest.approx(computed["prob_nonconforming"], rel=1e-6)
    assert plain.consumer == pytest.approx(computed["consumer_risk_without_guard"], rel=1e-6)
    assert plain.producer == pytest.approx(computed["producer_risk_without_guard"], rel=1e-6)
    assert round(plain.nonconforming, 3) == printed["prob_nonconforming"]
    assert round(plain.consumer, 3) == printed["consumer_risk_without_guard"]
    guarded = global_risks(bearings, doubt, band, (None, printed["acceptance_limit_um"]))
    assert guarded.consumer == pytest.approx(computed["consumer_risk_at_1p67"], rel=1e-6)
    assert guarded.producer == pytest.approx(computed["producer_risk_at_1p67"], rel=1e-6)


def test_ball_bearing_guard_band(load_json, bearings):
    """JCGM 106, clause 9.5.4: an acceptance limit of 1.67 micrometres brings the consumer's risk to .001."""
    case = load_json("conformity_jcgm106")["ball_bearing"]
    band = (None, case["upper_tolerance_um"])
    doubt = 2 * case["measurement_standard_uncertainty_um"]
    guard = guard_band_for_risk(bearings, doubt, band, case["target_consumer_risk"])
    limit = acceptance_band(band, guard)[1]
    assert guard == pytest.approx(case["computed"]["guard_band_um"], rel=1e-6)
    assert limit == pytest.approx(case["computed"]["acceptance_limit_um"], rel=1e-6)
    assert round(limit, 2) == case["printed"]["acceptance_limit_um"]
