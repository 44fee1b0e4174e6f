"""Kilns whose elements glow in the probe's sight, fired whole: what each mended rule was found on, and its fault."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from simulations.studies.scoring import score
from simulations.studies.study import case_named


@pytest.fixture
def scored(made_once):
    """Return a function: the score of a firing by its name, worked out once."""
    return lambda name: made_once(("scored", name), lambda: score(case_named(name)))


@pytest.mark.parametrize("name", [
    "glow-clean-1159000010",  # the fall to the anneal dies out 16 K below it: "anneal was skipped"
    "glow-clean-1159000063",  # the same, in a probe that drops by 155 K at the top: "lid open", and cold
    "glow-clean-1159000097",  # it falls past the anneal before the controller has caught it: "cooling too fast"
    "glow-clean-1159000112",  # the same: "power off?"
    "glow-clean-1159000115",  # at the start of the ramp the reading sinks for 20 min: "cooling too fast"
])
def test_a_probe_that_sees_the_elements_wakes_nobody_at_the_anneal(scored, name):
    found = scored(name)
    assert found.is_as_meant
    assert found.wakes == ()


def test_a_fall_of_two_and_a_half_times_the_planned_wakes_there_too(scored):
    answer, = scored("glow-cooling-2.5-1159000001").answers
    assert (answer.rank, answer.is_ranked_right) == (str(Rank.WAKE), True)
    assert answer.woke_min < 12.0


def test_an_anneal_that_is_skipped_wakes_there_too(scored):
    answer, = scored("glow-anneal-skipped-1159000001").answers
    assert answer.is_ranked_right
    assert answer.woke_min < 25.0
