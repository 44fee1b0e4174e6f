"""What is known of power that is back; when it counts as back is held by the tests of the watch ``restarted``."""

from __future__ import annotations

import pytest

from daemon.firing.detection.power_back import power_back
from daemon.firing.events import Part, Rank
from daemon.firing.situation.view import Interruption

FALL, ANNEAL = 4, 5


@pytest.fixture
def reheated(view_of, along):
    """Return a function: the view of a kiln that lost 46 K in its anneal and has come up by ``back_k`` since."""
    def view(back_k, **changed):
        readings = along((0.0, 516.0), (1200.0, 516.0), (2400.0, 470.0), (3000.0, 470.0 + back_k))
        found = (Part(FALL, 4, "ramp", -900.0, 0.0), Part(ANNEAL, 4, "hold", 0.0, mean_c=516.0))
        broken = Interruption(1200.0, ANNEAL, 1200.0, 516.0)
        return view_of(readings, ANNEAL + 1, found=found, broken=broken, peak_c=800.0, **changed)
    return view


def test_a_climb_back_names_what_was_not_done_and_wakes(reheated):
    back = power_back(reheated(25.0))
    assert (back.undone, back.from_c, back.lowest_c) == ((ANNEAL, 1200.0), 516.0, 470.0)
    assert (back.step, back.rank, back.since_s, back.is_dark) == (3, Rank.WAKE, 2400.0, False)


@pytest.mark.parametrize("back_k", [-10.0, 5.0])
def test_a_kiln_that_has_hardly_come_up_is_without_power_still(reheated, back_k):
    assert power_back(reheated(back_k)) is None


def test_air_that_comes_back_to_the_heat_of_the_brick_is_no_power(reheated):
    assert power_back(reheated(25.0, kiln_c=510.0)) is None
