"""Nights of the bench that once woke somebody for nothing, or whose parts were missed; each stands for its kind."""

from functools import cache

import pytest

from simulations.studies.scoring import Score, score
from simulations.studies.study import case_named


@cache
def scored(name: str) -> Score:
    return score(case_named(name))


@pytest.mark.parametrize("name", [
    pytest.param("first-clean-5010", id="the anneal swings by 3 K every eight minutes"),
    pytest.param("first-clean-5196", id="it swings by 1 K where the next ramp is slow"),
    pytest.param("first-clean-5074", id="a vent is open until well below the anneal"),
    pytest.param("first-clean-5015", id="the glow comes back after a vent is shut"),
    pytest.param("first-clean-5131", id="the anneal is reached, and reached again after the glow"),
    pytest.param("first-clean-5164", id="two peeks into a short top on a noisy probe"),
    pytest.param("first-clean-5186", id="two wild readings on end in a slow fall"),
    pytest.param("first-clean-5118", id="one wild reading of a logger of minutes"),
    pytest.param("first-clean-5057", id="a weak kiln creeps towards a short top"),
    pytest.param("first-harsh-5019", id="sixty spikes an hour"),
    pytest.param("first-harsh-10011", id="a wild reading while it is still cold"),
    pytest.param("first-clean-9666000014", id="two peeks into a top on a late probe"),
    pytest.param("first-clean-9666000268", id="a top that shoots over and sags"),
    pytest.param("first-clean-9666000554", id="a vent after a long top that was peeked into"),
    pytest.param("first-clean-9666000484", id="a logger of minutes in a fall of 20 an hour"),
    pytest.param("first-clean-9666000211", id="an anneal that swings by 3.5 K beside a fall of 23 an hour"),
])
def test_an_untidy_night_wakes_nobody(name):
    assert scored(name).wakes == ()


@pytest.mark.parametrize("name", [
    pytest.param("first-clean-5010", id="a swinging anneal"),
    pytest.param("first-clean-5059", id="a top that is crept up to"),
    pytest.param("first-clean-5137", id="a casting whose falls differ by six degrees an hour"),
    pytest.param("first-clean-5014", id="a short top with a peek"),
])
def test_every_boundary_is_found_within_three_minutes(name):
    found = scored(name)
    assert (found.within_3, found.missing, found.extra) == (found.boundaries, 0, 0)
    assert found.boundaries > 5


def test_a_kiln_too_weak_for_its_plan_is_no_quiet_firing():
    assert not scored("first-clean-5049").is_as_meant
    assert scored("first-clean-5010").is_as_meant


@pytest.mark.parametrize("name", [
    pytest.param("first-probe-fallen-9666000012", id="out of the anneal"),
    pytest.param("first-probe-fallen-40008", id="from a low top to below the annealing range"),
])
def test_a_probe_that_falls_wakes_though_the_follower_believes_in_a_later_fall(name):
    (told,) = scored(name).answers
    # It stays down, so the alert has become the sensor's by the end.
    assert (told.named, told.woke_min is not None) == ("sensor-fault", True)
