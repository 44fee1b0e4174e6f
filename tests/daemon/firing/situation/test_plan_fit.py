"""Which plan a trace fits, by where the kiln stopped."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.situation.plan_fit import UNPLANNED_STOP_NATS, Stop, fit, stops
from daemon.firing.tracking import segments

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


# --- the stops of a firing -------------------------------------------------------------------------------


def stretch(start_s, end_s, from_c, to_c, *, now_s=None):
    return segments.Segment(start_s, end_s, from_c, to_c, (from_c + to_c) / 2, end_s if now_s is None else now_s)


UP = stretch(0.0, 6000.0, 20.0, 620.0)


@pytest.mark.parametrize(("after", "found"), [
    # Held: for six minutes where it is over, for ten where it goes on.
    (stretch(6000.0, 6360.0, 620.0, 620.0), [(620.0, 1, 6000.0, 360.0)]),
    (stretch(6000.0, 6350.0, 620.0, 620.0), []),
    (stretch(6000.0, None, 620.0, 620.0, now_s=6600.0), [(620.0, 1, 6000.0, None)]),
    (stretch(6000.0, None, 620.0, 620.0, now_s=6590.0), []),
    # Turned, once it has fallen for ten minutes.
    (stretch(6000.0, None, 620.0, 500.0, now_s=6600.0), [(620.0, 1, 6000.0, 0.0)]),
    (stretch(6000.0, None, 620.0, 500.0, now_s=6590.0), []),
    # Another rate of climb is no stop.
    (stretch(6000.0, 9000.0, 620.0, 700.0), []),
])
def test_a_stop_is_held_or_turned(after, found):
    assert [stop[:4] for stop in stops((UP, after))] == found
    assert all(stop.rate_c_per_h == pytest.approx(360.0) for stop in stops((UP, after)))


@pytest.mark.parametrize(("mean_c", "is_turn"), [(560.0, True), (590.0, False), (581.0, False), (579.0, True)])
def test_a_fall_that_only_just_began_after_a_hold_is_no_turn(mean_c, is_turn):
    """Of a fall by 120 K a line has 60 K as its mean above its end; a hold that is being left has more than 80."""
    leaving = replace(stretch(6000.0, None, 620.0, 500.0, now_s=7800.0), mean_c=mean_c)
    assert bool(stops((UP, leaving))) is is_turn
    over = replace(leaving, end_s=7800.0)
    assert [stop.done_s for stop in stops((UP, over))] == [0.0]  # the bend between them was never found


def test_a_hold_reached_from_above_says_so_and_a_first_hold_was_not_reached():
    down, hold = stretch(0.0, 3600.0, 800.0, 516.0), stretch(3600.0, 7200.0, 516.0, 516.0)
    assert [(s.level_c, s.way) for s in stops((down, hold))] == [(516.0, -1)]
    assert stops((hold,)) == ()
    assert stops((down, stretch(3600.0, 7200.0, 516.0, 700.0))) == ()  # from falling to climbing: no stop


def test_a_stop_below_a_hundred_degrees_is_a_kiln_that_waits():
    for level_c, number in ((99.0, 0), (101.0, 1)):
        climb, hold = stretch(0.0, 3600.0, 20.0, level_c), stretch(3600.0, 7200.0, level_c, level_c)
        assert len(stops((climb, hold))) == number


def test_two_stops_within_nine_kelvin_are_one():
    def back_at(level_c):
        return (UP, stretch(6000.0, 7200.0, 620.0, 620.0), stretch(7200.0, 7500.0, 620.0, 580.0),
                stretch(7500.0, 7800.0, 580.0, level_c), stretch(7800.0, 9000.0, level_c, level_c))

    assert [s.level_c for s in stops(back_at(628.0))] == [620.0]
    assert [s.level_c for s in stops(back_at(630.0))] == [620.0, 630.0]


# --- prices ----------------------------------------------------------------------------------------------


def plan_of(*steps):
    return Plan("drawn", "C", steps)


@pytest.mark.parametrize(("steps", "price"), [
    # What never came, for a firing that reached the anneal alone (whose price is 0).
    ((Step(300, 600, 900), Step(300, 800), Step(None, 516, 3600)), 6.5),  # 5 for the hold, 5 for the turn: unasked
    ((Step(300, 800), Step(None, 516, 3600)), 5.0),  # a turn
    ((Step(300, 600, 899), Step(150, 610), Step(None, 516, 3600)), 6.5),
    ((Step(300, 500, 300), Step(None, 516, 3600)), 3.0 + 4.0),  # a short hold; the anneal reached the other way
    ((Step(300, 500, 299), Step(None, 516, 3600)), 4.0),  # too short to be missed
])
def test_a_planned_stop_that_never_came_costs_by_its_kind(steps, price):
    anneal = (Stop(516.0, -1, 0.0, 3600.0),)
    assert cost(anneal, plan_of(*steps)) == pytest.approx(min(price, UNPLANNED_STOP_NATS))


@pytest.mark.parametrize(("held_s", "price"), [
    (3600.0, 0.0), (None, 0.0),
    (0.75 * 3600.0 - 180.0 + 1.0, 0.0), (0.75 * 3600.0 - 180.0 - 1.0, 3.0),
    (1.6 * 3600.0 + 360.0 - 1.0, 0.0), (1.6 * 3600.0 + 360.0 + 1.0, 2.0),
])
def test_a_hold_left_early_costs_more_than_one_that_went_on(held_s, price):
    assert cost((Stop(516.0, 1, 0.0, held_s),), plan_of(Step(300, 516, 3600))) == price


@pytest.mark.parametrize("planned_s", [600.0, 3600.0])
def test_a_turn_says_nothing_of_how_long_was_held(planned_s):
    assert cost((Stop(800.0, 1, 0.0, 0.0),), plan_of(Step(250, 800, planned_s), Step(None, 516, 3600))) == 0.0


@pytest.mark.parametrize(("off_k", "known_k", "price"), [
    # By hand: half the square of what all have in common, tried in steps of 4 K, in its own deviation (6 K, or 3
    # where the usual difference is known), and of the rest in 4 K.
    (4.0, None, 0.5 * (4 / 6) ** 2), (8.0, None, 0.5 * (4 / 6) ** 2 + 0.5 * (4 / 4) ** 2),
    (4.0, 0.0, 0.5 * (4 / 4) ** 2),
    (6.0, 0.0, 0.5 * (4 / 3) ** 2 + 0.5 * (2 / 4) ** 2), (12.0, 12.0, 0.0), (-8.0, -12.0, 0.5 * (4 / 4) ** 2),
])
def test_what_a_stop_lies_off_is_priced_by_its_square(off_k, known_k, price):
    assert cost((Stop(516.0 + off_k, 1, 0.0, 3600.0),), plan_of(Step(300, 516, 3600)), offset_k=known_k) == (
        pytest.approx(price))


def test_a_stop_far_off_costs_no_more_than_one_that_nobody_asked_for():
    # Not laid on the plan: 6.5 for the stop. The hold before which nothing was passed costs nothing yet.
    assert cost((Stop(700.0, 1, 0.0, 3600.0),), plan_of(Step(300, 516, 3600))) == UNPLANNED_STOP_NATS


@pytest.mark.parametrize(("first_c", "price"), [(149.0, UNPLANNED_STOP_NATS), (151.0, 0.0)])
def test_a_firing_first_seen_above_a_hundred_and_fifty_degrees_was_joined(first_c, price):
    assert cost(ran(FUSE)[2:], FUSE, first_c=first_c) == price


def test_a_fit_says_which_stop_had_which_reason():
    marks = ran(FUSE)
    pairs = fit((marks[0], Stop(720.0, 1, 0.0, 3600.0), *marks[1:]), FUSE, first_c=20.0, offset_k=None).pairs
    assert [(stop.level_c, level_c, step) for stop, level_c, step in pairs] == [
        (670.0, 670.0, 1), (800.0, 800.0, 2), (516.0, 516.0, 3)]
