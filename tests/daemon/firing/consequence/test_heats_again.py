"""How long it can wait to tell of a kiln that heats again: until half an hour before the glass loses by it."""

from __future__ import annotations

import pytest

from daemon.firing.consequence import weigh
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.watches.restarted import KIND, Restarted

COOLING = 7
"""The follower's state on the ramp after the anneal in the plan of conftest. Its top is at 800 °C: 760 is near it."""


@pytest.fixture
def rank(view_of):
    """Return a function: the rank of a climb at ``rate`` [°C/h] for ``minutes`` that has come to ``temp_c`` [°C]."""
    def rank(temp_c, rate, minutes, *, is_annealed=False, dark=False, then_min=0.0, **fields):
        readings = [(10.0 * i, temp_c - rate * (minutes / 60 - i / 360)) for i in range(int(6 * minutes) + 1)]
        readings += [(readings[-1][0] + 10.0 * i, temp_c) for i in range(1, int(6 * then_min) + 1)]
        view = view_of(readings, COOLING, peak_c=800.0, **fields)
        view.progress = AnnealProgress(view.glass, view.anneal)
        if is_annealed:
            for i in range(721):
                view.progress.see(10.0 * i, 516.0)
            assert view.is_annealed
        facts = Restarted(view.temp_c, readings[0][1], 516.0, None, 516.0, dark=dark)
        (found,) = weigh([Finding(KIND, Rank.WAKE, 0.0, facts, 1)], view)
        return found.rank
    return rank


@pytest.mark.parametrize(("temp_c", "rate", "told"), [
    (530.0, 150.0, Rank.LOOK),  # at 760 °C, near the top, in 92 min
    (660.0, 150.0, Rank.LOOK),  # in 40 min
    (690.0, 150.0, Rank.WAKE),  # in 28 min
    (530.0, 400.0, Rank.LOOK), (570.0, 400.0, Rank.WAKE),
])
def test_it_wakes_half_an_hour_before_the_kiln_comes_near_its_top_again(rank, temp_c, rate, told):
    assert rank(temp_c, rate, 10.0) is told


@pytest.mark.parametrize(("temp_c", "told"), [(465.0, Rank.LOOK), (455.0, Rank.WAKE)])
def test_a_climb_from_below_the_annealing_range_wakes_at_once(rank, temp_c, told):
    """It has climbed by 20 K; the range of family 90 begins at 438 °C. Stress stays in colder glass."""
    assert rank(temp_c, 120.0, 10.0) is told


def test_after_its_anneal_a_kiln_that_heats_again_wakes_at_once(rank):
    assert rank(500.0, 60.0, 5.0, is_annealed=True) is Rank.WAKE
    assert rank(500.0, 60.0, 5.0) is Rank.LOOK


@pytest.mark.parametrize(("minutes", "then_min", "told"), [
    (14.0, 0.0, Rank.LOOK), (16.0, 0.0, Rank.WAKE),  # at 60 °C/h: a program, however slow
    (15.0, 1.0, Rank.WAKE), (15.0, 6.0, Rank.LOOK),  # it climbs ever more slowly
])
def test_what_climbs_on_after_a_quarter_of_an_hour_wakes(rank, minutes, then_min, told):
    assert rank(560.0, 60.0, minutes, then_min=then_min) is told


@pytest.mark.parametrize(("temp_c", "told"), [(540.0, Rank.LOOK), (542.0, Rank.WAKE)])
def test_about_as_hot_as_at_its_anneal_no_climb_costs_anything(rank, temp_c, told):
    """The anneal is held at 516 °C; a controller that caught the kiln too late swings by 25 K."""
    assert rank(temp_c, 60.0, 30.0) is told


@pytest.mark.parametrize(("mm", "told"), [(6.0, Rank.LOOK), (19.0, Rank.WAKE)])
def test_a_climb_that_this_thickness_does_not_bear_wakes(rank, mm, told):
    """The core of a fused plate comes to 5 MPa at some 1670 °C/h in 6 mm and 170 in 19."""
    assert rank(520.0, 300.0, 10.0, thickness_mm=mm) is told


def test_a_house_that_was_dark_is_told_at_once(rank):
    assert rank(530.0, 60.0, 10.0, dark=True) is Rank.WAKE
