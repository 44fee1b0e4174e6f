"""Counts of cleared hazes: where they are cut, and how much so few leave open."""

from itertools import permutations

import pytest

from daemon.kiln.haze_record import Refire, share_between, thirds, tonight


@pytest.mark.parametrize(("cleared", "of", "low", "high"), [
    (4, 4, 0.025 ** (1 / 4), 1.0), (0, 3, 0.0, 1 - 0.025 ** (1 / 3)),  # in closed form
    (5, 10, 0.187, 0.813), (1, 10, 0.0025, 0.445), (8, 20, 0.191, 0.639),
    # [source: tables of the exact interval of a binomial share, 95 %; from memory]
])
def test_the_interval_is_that_of_clopper_and_pearson(cleared, of, low, high):
    assert share_between(cleared, of) == pytest.approx((low, high), abs=6e-4)


def fired(*peaks, cleared=()):
    return [Refire(peak, 10.0, peak in cleared) for peak in peaks]


def test_each_third_has_a_third_where_all_peaks_differ():
    cut = thirds(fired(*range(770, 782)))
    assert [len(group) for group in cut] == [4, 4, 4]
    assert cut.cooler[-1].peak < cut.middle[0].peak <= cut.middle[-1].peak < cut.hotter[0].peak


def test_what_came_of_them_and_their_order_do_not_move_the_cuts():
    peaks = (770, 775, 780, 785)
    found = {tuple(tuple(one.peak for one in group) for group in thirds(fired(*order, cleared=order[:2])))
             for order in permutations(peaks)}
    assert len(found) == 1


def test_firings_with_the_same_peak_are_never_parted():
    cut = thirds(fired(770, 770, 770, 770, 770, 770, 780, 780, 790, 790))
    for group in cut:
        assert len({one.peak for other in cut if other is not group for one in other} & {o.peak for o in group}) == 0
    assert [len(group) for group in cut] == [6, 0, 4]
    assert thirds(fired(770, 770)) is None


def test_between_two_groups_where_nothing_was_fired_that_is_said():
    found = fired(*([770] * 5 + [800] * 5), cleared=(800,))
    said = tonight(found, 785, 12.0, 760.0, "C")
    assert "between the cooler and the hotter ones, where nothing was fired yet" in said
    assert tonight([], 785, 12.0, 760.0, "C") == ""
