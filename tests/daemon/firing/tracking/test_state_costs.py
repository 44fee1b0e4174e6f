"""What a beat costs a state: half the square of an excess in standard deviations, up to a cap."""

from __future__ import annotations

import pytest

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.tracking.state_costs import BEAT_WEIGHT, NO_LEVEL, START, STEP_ON, Beat, Level, StateCosts

PARTS = planned_parts(Plan("Fuse", "C", (
    Step(300.0, 600.0, 1800.0), Step(None, 500.0, 3600.0), Step(8.0, 400.0), Step(60.0, 300.0))))
"""States: 1 climb, 2 hold at 600 °C, 3 free fall, 4 hold at 500 °C, 5 slow fall, 6 last fall, 7 after."""
CLIMB, HOLD, FREE_FALL, ANNEAL, SLOW_FALL, LAST_FALL, AFTER = range(1, 8)


def beat(temp_c, slope=0.0, error=5.0, drift=None, drift_error=1.0, t_s=10_000.0):
    return Beat(t_s, temp_c, slope, error, slope if drift is None else drift, drift_error)


@pytest.fixture
def costs():
    """Return the costs where the usual difference is known to be 0: standard deviation 4 K."""
    return StateCosts(PARTS, 0.0)


def misfit(costs, state, *args, level=None, came_back=False, **kwargs):
    return costs.misfit(state, level, beat(*args, **kwargs), came_back=came_back)[0]


# --- ramps -----------------------------------------------------------------------------------------------


def test_a_climb_at_its_rate_costs_nothing(costs):
    assert misfit(costs, CLIMB, 300.0, 300.0) == 0.0


@pytest.mark.parametrize(("slope", "cost"), [
    (345.0, 0.0),  # 1.15 times the planned rate is still as planned
    (395.0, 0.5),  # 50 °C/h beyond; the standard deviation is 5 + 0.15 × 300 = 50 °C/h
    (180.0, 0.0),  # 0.6 times it as well
    (80.0, 2.0),  # 100 °C/h short: two standard deviations, ½ · 2² = 2
    (10.0, 2.0),  # no rate costs more than 2
])
def test_a_climb_off_its_rate_costs_by_how_far(costs, slope, cost):
    assert misfit(costs, CLIMB, 300.0, slope) == pytest.approx(cost)


def test_a_climb_past_its_target_costs_by_the_offset_s_uncertainty(costs):
    # 12 K past it; the standard deviation is 4 + 2 = 6 K: ½ · 2² = 2. Unknown: 8 + 2 = 10 K.
    assert misfit(costs, CLIMB, 612.0, 300.0) == pytest.approx(2.0)
    assert misfit(costs, CLIMB, 600.6, 300.0) == pytest.approx(0.5 * 0.1**2)
    assert misfit(StateCosts(PARTS, None), CLIMB, 612.0, 300.0) == pytest.approx(0.5 * 1.2**2)


def test_a_fall_is_no_climb(costs):
    # Backwards by 65 °C/h, of which 5 are free; the standard deviation is 5 + 5: capped at 6.
    assert misfit(costs, CLIMB, 300.0, -65.0) == 6.0


def test_a_free_fall_is_as_fast_as_the_slowest_kiln_s(costs):
    # At 560 °C with a time constant of 6 h: (560 − 20) / 6 = 90 °C/h.
    assert misfit(costs, FREE_FALL, 560.0, -90.0) == 0.0
    # 23 °C/h less; the standard deviation is 5 + 0.2 × 90 = 23 °C/h.
    assert misfit(costs, FREE_FALL, 560.0, -67.0) == pytest.approx(0.5)


def test_a_fall_must_begin_where_it_should_and_a_climb_may_begin_lower(costs):
    # 30 K off the start of 600 °C is three standard deviations: 4.5, capped at 4 for a fall, at 1 for a climb.
    assert misfit(costs, FREE_FALL, 630.0, -110.0) == 4.0
    climbing = StateCosts(planned_parts(Plan("Two", "C", (Step(300.0, 600.0), Step(300.0, 800.0)))), 0.0)
    assert misfit(climbing, 2, 570.0, 300.0) == 1.0


def test_a_slow_fall_is_told_by_its_drift(costs):
    # Over 4 min the noise shows 20 °C/h upwards; over 12 min it falls by 8, as planned.
    assert misfit(costs, SLOW_FALL, 450.0, 20.0, drift=-8.0) == 0.0
    assert misfit(costs, SLOW_FALL, 450.0, 20.0) > 1.0


@pytest.mark.parametrize(("rate", "is_by_drift"), [(24.0, True), (26.0, False)])
def test_a_ramp_of_25_an_hour_is_told_by_its_slope(rate, is_by_drift):
    # The noise of 4 min shows a fall of 100 °C/h, the drift of 12 min the planned one.
    plan = Plan("Slow", "C", (Step(300.0, 600.0), Step(rate, 400.0), Step(60.0, 20.0)))
    ramps = StateCosts(planned_parts(plan), 0.0)
    assert (misfit(ramps, 2, 500.0, -100.0, drift=-rate) == 0.0) is is_by_drift


def test_the_last_fall_may_be_as_slow_as_the_kiln(costs):
    # At 320 °C the slowest kiln falls by 300 / 6 = 50 °C/h; 60 were planned. At 50 nothing is slow.
    assert misfit(costs, LAST_FALL, 320.0, -31.0) == pytest.approx(0.0)
    # 25 is 5 short of 0.6 × 50; the standard deviation is 5 + 0.15 × 50 = 12.5.
    assert misfit(costs, LAST_FALL, 320.0, -25.0) == pytest.approx(0.5 * (5 / 12.5) ** 2)


# --- holds -----------------------------------------------------------------------------------------------


def test_a_hold_off_its_target_pays_for_it_once(costs):
    # 20 K is five standard deviations; until it has settled, fifteen beats of a quarter, it pays 3 in all.
    each = misfit(costs, HOLD, 620.0)
    assert each * BEAT_WEIGHT * 15 == pytest.approx(3.0)
    assert misfit(costs, HOLD, 620.0, came_back=True) == 6.0
    assert misfit(costs, HOLD, 620.0, level=Level(620.0, 15)) == 0.0


@pytest.mark.parametrize(("here_c", "nats"), [(630.0, 0.0), (631.0, 6.0), (575.0, 0.0), (574.0, 6.0)])
def test_no_offset_explains_more_than_30_k_above_and_25_k_below(costs, here_c, nats):
    assert misfit(costs, HOLD, here_c, level=Level(here_c, 60)) == nats


def test_a_settled_hold_pays_for_leaving_its_own_level(costs):
    # 6 K away with a standard deviation of 3 K: ½ · 2².
    assert misfit(costs, HOLD, 606.0, level=Level(600.0, 60)) == pytest.approx(2.0)


def test_a_hold_that_moves_pays_unless_it_swings_about_its_level(costs):
    # 27 °C/h, of which 5 are free; the standard deviation is 5 + 6 = 11: ½ · 2².
    assert misfit(costs, HOLD, 600.0, 27.0, level=Level(600.0, 60)) == pytest.approx(2.0)
    assert misfit(costs, HOLD, 600.0, 27.0, drift=0.0, level=Level(600.0, 60)) == 0.0
    # 3 K from its level with a spread of 1 K (1.5 + 1.5 × 1 K): no swing any more. 3 K away alone costs ½.
    assert misfit(costs, HOLD, 603.0, 27.0, drift=0.0, level=Level(600.0, 60, 1.0)) == pytest.approx(2.5)
    assert misfit(costs, HOLD, 602.9, 27.0, drift=0.0, level=Level(600.0, 60, 1.0)) < 0.5


def test_a_hold_never_pays_more_than_8(costs):
    assert misfit(costs, HOLD, 700.0, 300.0) == 8.0


def test_a_level_is_a_mean_that_a_leaving_hold_teaches_nothing(costs):
    level = costs.misfit(HOLD, Level(600.0, 1), beat(604.0))[1]
    assert (level.mean_c, level.beats) == (602.0, 2)
    assert level.spread_k == pytest.approx((4.0**2 / 2) ** 0.5)
    # After an hour the newest beat counts for a sixtieth.
    assert costs.misfit(HOLD, Level(600.0, 500), beat(603.0))[1].mean_c == pytest.approx(600.05)
    settled = Level(600.0, 60)
    assert costs.misfit(HOLD, settled, beat(604.1))[1] is settled
    assert costs.misfit(CLIMB, settled, beat(300.0))[1] == NO_LEVEL


# --- before and after ------------------------------------------------------------------------------------


def test_a_level_follows_a_kiln_that_creeps_up_to_a_hold_before_a_fall(costs):
    # 15 K below the target and 6 K above its level so far: the kiln is on its way, it is not leaving.
    crept = costs.misfit(HOLD, Level(579.0, 60), beat(585.0, 20.0), came_back=False)[1]
    assert crept.mean_c == pytest.approx(579.0 + 6.0 / 60)
    # Above the target it is leaving, and below its level as well.
    assert costs.misfit(HOLD, Level(599.0, 60), beat(605.0, 20.0), came_back=False)[1].mean_c == 599.0
    assert costs.misfit(HOLD, Level(591.0, 60), beat(585.0, -20.0), came_back=False)[1].mean_c == 591.0
    # A hold before a climb is left upwards.
    two = StateCosts(planned_parts(Plan("Two", "C", (Step(300.0, 600.0, 1800.0), Step(300.0, 800.0)))), 0.0)
    assert two.misfit(HOLD, Level(579.0, 60), beat(585.0, 20.0), came_back=False)[1].mean_c == 579.0


def test_a_cold_kiln_that_stands_waits_to_be_started(costs):
    assert misfit(costs, 0, 20.0) == 0.0
    # 12 K nearer to the first target than 20 K, which is its standard deviation too.
    assert misfit(costs, 0, 592.0, -600.0) == pytest.approx(0.5 * (12 / 20) ** 2)
    # 25 °C/h, of which 10 are free, with a standard deviation of 5 + 10. At 40 °C a kiln may fall by (40 − 100) / 6
    # or −10 °C/h, so 15 are more than it can do by itself, with one of 5 + 0.3 × 1; that costs 3 at most.
    assert misfit(costs, 0, 40.0, 25.0) == pytest.approx(0.5 + 3.0)
    assert misfit(costs, 0, 40.0, 15.3) == pytest.approx(0.5 * (5.3 / 15) ** 2 + 0.5)


def test_a_hot_kiln_that_stands_is_under_way(costs):
    # At 400 °C a waiting kiln falls by 300 / 6 = 50 °C/h at least; one that stands costs ½ (50 / 20)², at most 3.
    assert misfit(costs, 0, 400.0) == 3.0
    assert misfit(costs, 0, 400.0, -50.0) == 0.0


def test_after_the_plan_the_kiln_is_below_its_end_and_does_not_climb(costs):
    assert misfit(costs, AFTER, 290.0, -40.0) == 0.0
    # 16 K above the end is two standard deviations of 8 K.
    assert misfit(costs, AFTER, 316.0, -40.0) == pytest.approx(2.0)
    # 25 °C/h, of which 5 are free; the standard deviation is 5 + 5.
    assert misfit(costs, AFTER, 290.0, 25.0) == pytest.approx(2.0)


# --- leaving ---------------------------------------------------------------------------------------------


def test_a_plan_starts_cheaply(costs):
    assert costs.leaving(0, 0.0, beat(20.0)) == START


@pytest.mark.parametrize(("held_s", "cost"), [(1800.0, 0.0), (3000.0, 0.0), (900.0, 4.0), (0.0, 8.0), (-600.0, 8.0)])
def test_a_hold_left_early_costs_by_what_is_missing(costs, held_s, cost):
    assert costs.leaving(HOLD, 10_000.0 - held_s, beat(600.0)) == pytest.approx(STEP_ON + cost)


def test_two_holds_at_one_temperature_are_parted_by_the_clock_alone():
    parts = planned_parts(Plan("Two holds", "C", (Step(300.0, 600.0, 1800.0), Step(300.0, 600.0, 600.0))))
    two = StateCosts(parts, 0.0)
    assert two.leaving(2, 10_000.0 - 1800.0, beat(600.0)) == STEP_ON
    assert two.leaving(2, 10_000.0 - 2700.0, beat(600.0)) == pytest.approx(STEP_ON + 4.0)


def test_a_ramp_left_before_its_target_costs_by_how_far(costs):
    # 14 K short; the standard deviation is 4 + 3 = 7 K. Past the target nothing is missing.
    assert costs.leaving(CLIMB, 0.0, beat(586.0)) == pytest.approx(STEP_ON + 2.0)
    assert costs.leaving(CLIMB, 0.0, beat(610.0)) == STEP_ON
    assert costs.leaving(FREE_FALL, 0.0, beat(514.0)) == pytest.approx(STEP_ON + 2.0)


def test_a_learned_offset_moves_every_target(costs):
    costs.learn_offset(-10.0)
    assert costs.leaving(CLIMB, 0.0, beat(576.0)) == pytest.approx(STEP_ON + 2.0)
    assert misfit(costs, HOLD, 590.0) == 0.0
