"""How much of its anneal the glass has had: what a minute is worth, and how many are enough."""

from __future__ import annotations

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import PlannedPart, anneal_hold, planned_parts
from daemon.firing.situation.anneal_progress import AnnealProgress, enough_min, relaxes_min
from daemon.glass.materials import FAMILIES, Glass

GLASS = FAMILIES["90"]


def anneal(glass: Glass = GLASS, to_c: float = 510.0, minutes: float = 60.0) -> PlannedPart:
    """Return the anneal hold of a plan that holds it so hot for so long."""
    plan = Plan("Fuse", "C", (Step(200.0, 800.0, 600.0), Step(None, to_c, 60.0 * minutes), Step(60.0, 400.0)))
    hold = anneal_hold(planned_parts(plan), glass)
    assert hold is not None
    return hold


@pytest.mark.parametrize(("below_k", "slower"), [(3.0, 1.4), (5.0, 1.7), (6.0, 1.9), (10.0, 3.0)])
def test_a_minute_below_the_hold_is_worth_less_as_stress_relaxes_more_slowly(below_k, slower):
    # A supplier's table of soda-lime float glass: annealing point 546 °C, strain point 514 °C, so that a stress takes
    # 10^1.5 times as long 32 K lower; worked out for 3, 5, 6 and 10 K.
    hold = anneal(FAMILIES["float"], 546.0)
    assert 1 / AnnealProgress(FAMILIES["float"], hold).speed(546.0 - below_k) == pytest.approx(slower, rel=0.06)


def test_a_minute_at_the_hold_or_above_it_is_worth_one():
    progress = AnnealProgress(GLASS, anneal())
    assert progress.speed(510.0) == 1.0
    assert progress.speed(520.0) == 1.0


def test_the_minutes_add_up_and_those_before_a_return_above_the_range_are_lost():
    progress = AnnealProgress(GLASS, anneal())
    for second in range(0, 1201, 20):
        progress.see(float(second), 510.0)
    assert progress.worth_min == pytest.approx(20.0)
    assert progress.at_end_min(510.0, 2400.0) == pytest.approx(60.0)
    progress.see(1220.0, 600.0)
    assert progress.worth_min == 0.0


@pytest.mark.parametrize(("temp_c", "worth_min"), [(534.0, 20.0), (536.0, 0.0)])
def test_the_count_begins_again_by_the_reading_whatever_the_probe_may_be_off(temp_c, worth_min):
    progress = AnnealProgress(GLASS, anneal())
    for second in range(0, 1201, 20):
        progress.see(float(second), temp_c, 15.0)  # 25 K above the hold it has not come to it
    assert progress.worth_min == pytest.approx(worth_min)


def test_what_was_read_counts_without_doubt_and_begins_again_with_every_free_fall():
    progress = AnnealProgress(GLASS, anneal())
    for second in range(0, 1201, 20):
        progress.see(float(second), 500.0, 15.0)
    assert progress.worth_min == pytest.approx(20.0)
    assert progress.read_min == pytest.approx(20.0 * progress.speed(500.0))
    progress.see(1220.0, 505.0, 15.0, falls_freely=True)
    assert progress.read_min == 0.0
    assert progress.worth_min == pytest.approx(20.0 + 1.0 / 3.0)
    progress.see(1280.0, 510.0, 15.0)
    assert progress.read_min == pytest.approx(progress.speed(505.0))
    progress.see(1300.0, 536.0)  # above the range
    assert progress.read_min == 0.0


def test_a_long_hole_in_the_readings_counts_for_nothing_and_a_short_one_by_its_colder_end():
    progress = AnnealProgress(GLASS, anneal())
    progress.see(0.0, 510.0)
    progress.see(1000.0, 510.0)
    assert progress.worth_min == 0.0
    progress.see(1600.0, 500.0)
    assert progress.worth_min == pytest.approx(10.0 * progress.speed(500.0))


def test_a_fall_through_what_the_probe_may_be_off_counts_the_largest_doubt_since_the_kiln_came_down():
    progress = AnnealProgress(GLASS, anneal())
    for t_s, temp_c, doubt_k in ((0.0, 600.0, 25.0), (10.0, 600.0, 14.0), (20.0, 510.0, 20.0), (30.0, 510.0, 3.0)):
        progress.see(t_s, temp_c, doubt_k)
    assert progress.doubt_k == 20.0
    assert progress.passing_min(60.0) == 20.0


@pytest.mark.parametrize(("mm", "faces", "minutes", "enough"), [
    (6.0, 1, 41.0, 27.0),    # the shortest that workshops hold 6 mm, less the 3 min that a hold's length may be off
    (6.0, 1, 60.0, 36.0),    # six tenths of the plan
    (12.0, 1, 90.0, 57.0),   # an hour at 12 mm, less the same
    (12.0, 2, 45.0, 27.0),   # with two cooled faces it counts as 6 mm
    (6.0, 1, 30.0, 25.5),    # never more than the plan has, less what is as good as whole
])
def test_enough_is_what_workshops_hold_and_most_of_the_plan(mm, faces, minutes, enough):
    assert enough_min(mm, faces, anneal(minutes=minutes)) == pytest.approx(enough)


def test_at_the_annealing_point_a_slab_relaxes_within_minutes_and_thicker_work_takes_longer_to_even_out():
    hold = anneal(to_c=GLASS.annealing_point_c, minutes=190.0)
    # A stress falls to a twentieth in three times τ = 66.9 s at 10^12 Pa·s, and the slab evens out in 3·4L²/(π²κ).
    relaxing_min = 3.0 * 66.9 / 60
    evening_min = 3 * 4 * 0.019**2 / (3.14159**2 * GLASS.diffusivity_m2_s) / 60
    assert relaxes_min(GLASS, 19.0, 1, hold) == pytest.approx(relaxing_min + evening_min, rel=0.05)


def test_a_hold_so_cold_that_a_slab_does_not_relax_in_it_asks_for_nearly_all_of_it():
    assert relaxes_min(GLASS, 6.0, 1, anneal(to_c=470.0, minutes=60.0)) == pytest.approx(51.0)


def test_an_hour_at_the_anneal_by_the_doubt_of_a_reading_alone_is_not_surely_whole():
    progress, read = AnnealProgress(GLASS, anneal()), AnnealProgress(GLASS, anneal())
    for minute in range(61):
        progress.see(60.0 * minute, 490.0, doubt_k=20.0)
        read.see(60.0 * minute, 510.0)
    assert (progress.is_whole, progress.is_surely_whole) == (True, False)
    assert (read.is_whole, read.is_surely_whole) == (True, True)
