"""Which planned fall governs, on readings made by hand in the plan of conftest: anneal at 516 °C, then 60 °C/h."""

from __future__ import annotations

import pytest

from daemon.firing.detection.governing_fall import fall_from_s, governing_fall
from daemon.firing.events import Part

CLIMB, SQUEEZE, TO_TOP, TOP, FALL, ANNEAL, COOLING = range(7)


@pytest.fixture
def now_in(view_of, along):
    """Return a function: the view in a part that began at 600 s, the kiln at ``to_c`` at 1800 s."""
    def view(index, from_c, to_c, mean_c=None):
        found = (Part(index - 1, index - 1, "ramp", 0.0, 600.0),
                 Part(index, index, "hold" if index in (SQUEEZE, TOP, ANNEAL) else "ramp", 600.0, mean_c=mean_c))
        return view_of(along((0.0, from_c), (600.0, from_c), (1800.0, to_c)), index + 1, found=found)
    return view


@pytest.mark.parametrize(("index", "from_c", "to_c", "governs"), [
    (CLIMB, 400.0, 500.0, None),
    (FALL, 800.0, 560.0, None),  # the free fall to the anneal
    (FALL, 800.0, 480.0, COOLING),  # it went past the anneal
    (COOLING, 516.0, 470.0, COOLING),
])
def test_the_fall_after_the_anneal_governs_once_the_kiln_is_below_it(now_in, index, from_c, to_c, governs):
    found = governing_fall(now_in(index, from_c, to_c))
    assert (None if found is None else found.index) == governs


@pytest.mark.parametrize(("below_k", "governs"), [(9.0, None), (30.0, COOLING)])
def test_a_young_anneal_hold_is_left_ten_kelvins_below_its_level(now_in, below_k, governs):
    found = governing_fall(now_in(ANNEAL, 516.0, 516.0 - below_k, mean_c=516.0))
    assert (None if found is None else found.index) == governs


def test_a_rate_is_measured_from_four_minutes_into_a_hold_on(now_in):
    assert fall_from_s(now_in(ANNEAL, 516.0, 480.0, mean_c=516.0)) == 600.0 + 240.0
