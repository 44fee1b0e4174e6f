"""What is wrong with what was said of a scenario, told in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from simulations.cases import Expected
from simulations.studies.scenario_check import mistakes
from simulations.studies.scenarios import SCENARIOS
from simulations.studies.scoring import Answer, Score

FAULTY, CLEAN = SCENARIOS["lid-opened"], SCENARIOS["crash-cooled"]
GOOD = Answer(("sudden-drop",), "look", 1.0, None, "sudden-drop", True, True, 5.0)
SCORE = Score("lid-opened", "scenario", (GOOD,), True, (), (), 6, 6, 6, 0, 0, 0.1, 0.1, 5000)


def test_all_well_is_no_mistake():
    assert list(mistakes(FAULTY, SCORE)) == []


@pytest.mark.parametrize(("change", "told"), [
    ({"is_as_meant": False}, "what was to go wrong never did"),
    ({"answers": (replace(GOOD, raised_min=None, named=None),)}, "missed sudden-drop (look)"),
    ({"answers": (replace(GOOD, rank="wake", is_ranked_right=False),)}, "sudden-drop (wake) did not wake"),
    ({"answers": (replace(GOOD, woke_min=1.0, is_ranked_right=False),)}, "sudden-drop (look) woke"),
    ({"answers": (replace(GOOD, named="firing-stopped", is_named_right=False),)},
     "sudden-drop (look) was called firing-stopped"),
    ({"wakes": (("restarted", 60.0),)}, "needless wake: restarted at 60 s"),
])
def test_each_mistake_has_its_words(change, told):
    assert list(mistakes(FAULTY, replace(SCORE, **change))) == [told]


def test_a_look_is_needless_only_where_nothing_is_wrong_and_nothing_allows_it():
    looks = (("sudden-drop", 60.0), ("hold-overrun", 90.0))
    assert list(mistakes(CLEAN, replace(SCORE, answers=(), looks=looks))) == ["needless look: hold-overrun at 90 s"]
    assert list(mistakes(FAULTY, replace(SCORE, looks=looks))) == []
    assert isinstance(FAULTY.case.expected[0], Expected)
