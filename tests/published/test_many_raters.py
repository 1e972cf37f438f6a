"""Fleiss' kappa and Krippendorff's alpha against published data."""

import pytest

from evalkit.maths.many_raters import fleiss_kappa, krippendorff_alpha


def test_fleiss_1971(load_json, load_csv):
    """Fleiss 1971, 30 patients, 6 psychiatrists: .430; R irr gives z and, to 3 decimals, the categories."""
    expected = load_json("fleiss1971_expected")
    ratings = [[int(row[f"r{rater}"]) for rater in range(1, 7)] for row in load_csv("fleiss1971_diagnoses")]
    found = fleiss_kappa([[row.count(category) for category in range(1, 6)] for row in ratings])
    computed = expected["computed"]
    assert (found.n_subjects, found.n_raters) == (30, 6)
    assert found.value == pytest.approx(computed["kappa"], rel=1e-6)
    assert found.value / found.se_h0 == pytest.approx(computed["z"], rel=1e-6)
    assert round(found.value, 3) == expected["printed"]["kappa"]
    for category, one in enumerate(found.categories, start=1):
        assert one.value == pytest.approx(computed["category_kappa"][str(category)], abs=5.1e-4)
        assert one.value / one.se_h0 == pytest.approx(computed["category_z"][str(category)], abs=5.1e-4)


@pytest.mark.parametrize("metric", ["nominal", "ordinal", "interval", "ratio"])
def test_krippendorff_2011(load_json, metric):
    """Krippendorff 2011, example C, 4 observers, 12 units, gaps: .743 .815 .849 .797; calculated with two programs."""
    data = load_json("krippendorff_alpha_4x12")
    found = krippendorff_alpha(data["coders_by_units"], metric)
    assert found.value == pytest.approx(data["computed"][metric], rel=1e-6)
    assert round(found.value, 3) == data["printed"][metric]
    assert (found.n_units, found.n_values) == (11, 40)


def test_gwet_2014(load_json):
    """Gwet 2014, 4 raters, 12 subjects, gaps: Krippendorff nominal and quadratic, calculated with irrCAC."""
    data = load_json("gwet_4raters")
    observers = [list(rater) for rater in zip(*data["units_by_raters"], strict=True)]
    nominal, quadratic = krippendorff_alpha(observers, "nominal"), krippendorff_alpha(observers, "interval")
    assert nominal.value == pytest.approx(data["computed_nominal"]["krippendorff"]["value"], abs=1e-8)
    assert quadratic.value == pytest.approx(data["computed_quadratic"]["krippendorff"], abs=1e-8)
