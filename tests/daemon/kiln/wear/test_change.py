"""The change-point test against scipy's t test, and how often chance alone is taken for a change."""

from random import Random

import pytest
from scipy import stats

from daemon.kiln.wear.change import Believed, at_place, likeliest, normal_deviate
from daemon.kiln.wear.judged import BELIEVED, TOLD


@pytest.mark.parametrize("freedom", [5, 8, 14, 22])
@pytest.mark.parametrize("t", [-4.5, -2.0, 0.5, 3.0, 6.0])
def test_a_t_is_as_rare_as_its_normal_deviate(t, freedom):
    reference = stats.norm.isf(stats.t.sf(abs(t), freedom))
    assert abs(normal_deviate(t, freedom)) == pytest.approx(reference, abs=0.04)
    assert (normal_deviate(t, freedom) < 0) == (t < 0)


def test_without_belief_and_outliers_it_is_students_t_test():
    """[reference: scipy.stats.ttest_ind, equal variances]."""
    before, later = [0.0, 1.0, 0.4, 0.9, 0.2], [1.5, 2.0, 2.4, 1.9]
    found = at_place([*before, *later], 5, Believed(1.0, 0.0))
    reference = stats.ttest_ind(later, before)
    assert found.by / found.off == pytest.approx(reference.statistic)
    assert found.deviations == pytest.approx(stats.norm.isf(reference.pvalue / 2), abs=0.04)


def test_the_place_of_a_change_is_found():
    rng = Random(3)
    values = [rng.gauss(0, 1) for _ in range(7)] + [rng.gauss(6, 1) for _ in range(4)]
    found = likeliest(values, Believed(1.0, 6.0))
    assert (found.since, found.by) == (7, pytest.approx(6, abs=1.2))


def test_one_night_far_off_is_no_change():
    values = [0.1, -0.2, 0.0, 0.3, -0.1, 0.2, 0.0, 9.0, 0.1]
    assert abs(likeliest(values, Believed(0.3, 6.0)).deviations) < TOLD


def test_too_few_firings_show_nothing():
    assert likeliest([0.0] * 5, Believed(1.0, 6.0)) is None


def test_chance_alone_is_rarely_taken_for_a_change():
    """A dozen firings that differ by chance alone, asked after each: fewer than one kiln in 200."""
    rng, false, believed = Random(11), 0, BELIEVED["power"]
    for _ in range(1500):
        values = [rng.gauss(0, believed.spread) for _ in range(12)]
        false += any(abs(likeliest(values[:count], believed).deviations) > TOLD for count in range(6, 13))
    assert false / 1500 < 1 / 200
