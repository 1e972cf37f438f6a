"""Many observers: statsmodels and krippendorff as independent roads to the same figures; order, and the undefined."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evalkit.maths.many_raters import Metric, fleiss_kappa, krippendorff_alpha


def gappy_values(values):
    return st.tuples(st.integers(2, 5), st.integers(1, 10)).flatmap(
        lambda shape: st.lists(
            st.lists(st.none() | values, min_size=shape[1], max_size=shape[1]), min_size=shape[0], max_size=shape[0]
        )
    )


@settings(max_examples=60, deadline=None)
@given(
    rows=st.tuples(st.integers(2, 6), st.integers(2, 5)).flatmap(
        lambda shape: st.lists(
            st.lists(st.integers(0, shape[1] - 1), min_size=shape[0], max_size=shape[0]), min_size=1, max_size=15
        ).map(lambda ratings: [[row.count(j) for j in range(shape[1])] for row in ratings])
    )
)
def test_fleiss_equals_statsmodels(rows):
    from statsmodels.stats.inter_rater import fleiss_kappa as theirs

    ours = fleiss_kappa(rows)
    if ours.value is None:
        assert sum(any(column) for column in zip(*rows, strict=True)) == 1
        assert ours.undefined
    else:
        assert ours.value == pytest.approx(theirs(np.array(rows)), abs=1e-10)
        # Two roads: the whole is the mean of its categories, each weighted by p (1 - p).
        used = [c for c in ours.categories if c.value is not None]
        weight = [c.share * (1 - c.share) for c in used]
        assert ours.value == pytest.approx(np.average([c.value for c in used], weights=weight), abs=1e-10)
        assert all(c.undefined for c in ours.categories if c.value is None)


@pytest.mark.parametrize("rows", [[], [[1, 0]], [[0, 0]], [[3, 0], [3, 0]]])
def test_undefined_fleiss_says_so(rows):
    found = fleiss_kappa(rows)
    assert found.value is None
    assert found.undefined


@pytest.mark.parametrize("rows", [[[2, 0], [1, 0]], [[2, 0], [2]]])
def test_fleiss_refuses_uneven_rows(rows):
    with pytest.raises(ValueError, match="Krippendorff"):
        fleiss_kappa(rows)


@pytest.mark.parametrize("metric", Metric)
@settings(max_examples=60, deadline=None)
@given(values=gappy_values(st.integers(0, 4)))
def test_alpha_equals_krippendorff(metric, values):
    import krippendorff

    ours = krippendorff_alpha(values, metric)
    if ours.value is None:
        assert ours.undefined
        return
    data = np.array([[math.nan if x is None else x for x in row] for row in values], dtype=float)
    theirs = krippendorff.alpha(reliability_data=data, level_of_measurement=metric.value)
    assert ours.value == pytest.approx(theirs, abs=1e-9)


@pytest.mark.parametrize("metric", Metric)
@given(values=gappy_values(st.integers(0, 3)), seed=st.integers(0, 99))
def test_alpha_does_not_care_about_order(metric, values, seed):
    rng = np.random.default_rng(seed)
    shuffled = [values[i] for i in rng.permutation(len(values))]
    columns = list(zip(*shuffled, strict=True))
    columns = [columns[i] for i in rng.permutation(len(columns))]
    first, second = krippendorff_alpha(values, metric), krippendorff_alpha(list(zip(*columns, strict=True)), metric)
    assert first.value == (None if second.value is None else pytest.approx(second.value, abs=1e-9))


@given(values=gappy_values(st.integers(0, 3)))
def test_ordinal_alpha_knows_only_the_order(values):
    stretched = [[None if x is None else x**3 + 1 for x in row] for row in values]
    assert krippendorff_alpha(values).value == krippendorff_alpha(stretched).value


@pytest.mark.parametrize("values", [[], [[1, 2]], [[1, None], [None, 2]], [[2, 2], [2, 2]]])
def test_undefined_alpha_says_so(values):
    found = krippendorff_alpha(values)
    assert found.value is None
    assert found.undefined


def test_alpha_refuses_uneven_rows_and_negative_ratios():
    with pytest.raises(ValueError, match="shorter"):
        krippendorff_alpha([[1, 2], [1]])
    with pytest.raises(ValueError, match="interval"):
        krippendorff_alpha([[-1, 2], [1, 2]], "ratio")
