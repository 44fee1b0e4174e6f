"""Which plan a trace fits, by where the kiln stopped."""

from __future__ import annotations

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.situation.plan_fit import UNPLANNED_STOP_NATS, Stop, fit

FUSE = Plan("Fuse", "C", (
    Step(220 , 620), Step(50, 670, 1800, "squeeze"), Step(250, 800, 600, "top"), Step(None, 516, 3600, "anneal"),
    Step(80, 430), Step(None, 40)))
SLUMP = Plan("Slump", "C", (Step(150, 650, 900), Step(None, 516, 2700), Step(80, 430), Step(None, 40)))


def ran(plan: Plan, off_k: float = 0.0, times: float = 1.0) -> tuple[Stop, ...]:
    """Return the stops of a kiln that runs ``plan``, with a probe ``off_k`` high and holds ``times`` as long."""
    here_c, found = 20.0, []
    for step in plan.steps:
        if step.hold_s:
            found.append(Stop(step.to_c + off_k, 1 if step.to_c > here_c else -1, 0.0, times * step.hold_s))
        here_c = step.to_c
    return tuple(found)


def cost(marks, plan, first_c=20.0, offset_k=None):
    return fit(marks, plan, first_c=first_c, offset_k=offset_k).cost


def test_a_plan_that_was_run_costs_nothing():
    assert cost(ran(FUSE), FUSE) == 0.0
    assert cost(ran(FUSE)[:2], FUSE) == 0.0  # what is still to come is no fault


@pytest.mark.parametrize("off_k", [-12.0, -5.0, 7.0, 12.0])
def test_a_probe_that_reads_off_everywhere_is_no_other_plan(off_k):
    # At most the square of the common difference in its own deviation of 6 K: 12² / (2 · 6²) = 2.
    assert cost(ran(FUSE, off_k), FUSE) <= 2.0 + 3 * 0.5 * (2 / 4) ** 2
    assert cost(ran(FUSE, off_k), FUSE, offset_k=off_k) == pytest.approx(0.0, abs=1e-9)


def test_one_hold_off_alone_costs_more_than_all_off_together():
    marks = ran(FUSE)
    lone = (*marks[:2], marks[2]._replace(level_c=marks[2].level_c - 15))
    assert cost(lone, FUSE) > cost(ran(FUSE, -15), FUSE)


def test_the_plan_that_was_run_beats_the_chosen_one_by_far():
    assert cost(ran(SLUMP), FUSE) - cost(ran(SLUMP), SLUMP) > 9.0
    assert cost(ran(FUSE), SLUMP) - cost(ran(FUSE), FUSE) > 9.0


def test_a_stall_costs_its_round_sum_once_and_the_rest_still_fits():
    marks = ran(FUSE)
    assert cost((marks[0], Stop(720.0, 1, 0.0, 3600.0), *marks[1:]), FUSE) == pytest.approx(UNPLANNED_STOP_NATS)


def test_holds_left_early_cost_and_holds_lengthened_by_half_do_not():
    assert cost(ran(FUSE, times=1.5), FUSE) == 0.0
    assert cost(ran(FUSE, times=0.4), FUSE) >= 6.0


def test_a_firing_joined_hot_owes_nothing_of_what_came_before():
    anneal = ran(FUSE)[2:]
    assert cost(anneal, FUSE, first_c=700.0) == 0.0
    assert cost(anneal, FUSE, first_c=20.0) == pytest.approx(UNPLANNED_STOP_NATS)  # cheaper than two stops passed by


def test_a_level_must_be_reached_from_the_side_the_plan_comes_from():
    climbing = (Stop(516.0, 1, 0.0, 3600.0),)
    assert cost(climbing, FUSE) > 3.0
