"""A shut kiln's fall is a sum of exponentials; where it falls faster than before, a lid was opened.

The falls here are Newton's law of cooling in closed form, u = u0 · exp(−t / τ), and sums of two such bodies.
"""

from math import exp
from random import Random

import pytest

from daemon.kiln.opened import shut_for

TIMES_S = [60.0 * n for n in range(16 * 60)]
TIME_S = 4 * 3600.0


def wandering(sd_k, seed, memory_s=240.0):
    """Return what a probe wanders by at each of TIMES_S [K]: an Ornstein-Uhlenbeck process in its closed form."""
    rng, share = Random(seed), exp(-60.0 / memory_s)
    found = [rng.gauss(0, sd_k)]
    for _ in TIMES_S[1:]:
        found.append(share * found[-1] + rng.gauss(0, sd_k * (1 - share * share) ** 0.5))
    return found


def fall(opened_s=1e9, faster=1.0):
    """Return the distance from the room at TIMES_S [K] of a kiln that from ``opened_s`` on falls so much faster."""
    return [380 * exp(-(min(t_s, opened_s) + faster * max(0.0, t_s - opened_s)) / TIME_S) for t_s in TIMES_S]


@pytest.mark.parametrize("sd_k", [0.0, 0.2, 0.5])
@pytest.mark.parametrize("seed", range(8))
def test_a_kiln_that_stays_shut_is_shut_to_its_end_however_its_probe_wanders(sd_k, seed):
    above_k = [u + off for u, off in zip(fall(), wandering(sd_k, seed), strict=True)]
    assert shut_for(TIMES_S, above_k) == len(TIMES_S)


def test_two_bodies_that_come_together_are_a_shut_kiln():
    above_k = [250 * exp(-t_s / 2400) + 150 * exp(-t_s / 18_000) for t_s in TIMES_S]
    assert shut_for(TIMES_S, above_k) == len(TIMES_S)


@pytest.mark.parametrize(("at_h", "faster"), [(1.5, 1.4), (4.0, 1.5), (6.0, 2.0), (8.0, 4.0)])
@pytest.mark.parametrize("sd_k", [0.0, 0.3])
def test_an_opened_lid_ends_the_fall_within_a_quarter_of_an_hour(at_h, faster, sd_k):
    above_k = [u + off for u, off in zip(fall(at_h * 3600, faster), wandering(sd_k, 3), strict=True)]
    assert shut_for(TIMES_S, above_k) * 60 == pytest.approx(at_h * 3600, abs=16 * 60)


def test_minutes_that_are_missing_are_no_opened_lid():
    kept = [n for n in range(len(TIMES_S)) if not 200 <= n < 240]
    assert shut_for([TIMES_S[n] for n in kept], [fall()[n] for n in kept]) == len(kept)


def test_a_room_that_gets_colder_by_the_hour_is_no_opened_lid():
    # Two kelvin an hour: u' = −(u + 2 h) / τ has the solution below, in hours and kelvin.
    hours = TIME_S / 3600
    above_k = [(380 - 2 * hours) * exp(-t_s / TIME_S) + 2 * hours - 2 * t_s / 3600 for t_s in TIMES_S]
    above_k = [u for u in above_k if u > 20]
    assert shut_for(TIMES_S[:len(above_k)], above_k) == len(above_k)


def test_a_fall_too_short_to_compare_is_kept():
    assert shut_for(TIMES_S[:12], fall()[:12]) == 12
