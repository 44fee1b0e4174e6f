"""When the kiln may be opened: held to Newton's law of cooling in closed form, and to simulated kilns."""

from __future__ import annotations

from math import exp, hypot, log
from pathlib import Path

import pytest

from daemon.firing.plan.plan import Plan, Step, parse_plan
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.trace.recent import Trail
from daemon.firing.verdict.cooldown_forecast import OPEN_C, opening
from daemon.glass.materials import FAMILIES
from simulations.firing import simulate

ROOM_C = 20.0
PARTS = planned_parts(Plan("Slump", "C", (
    Step(200.0, 640.0, 600.0), Step(None, 516.0, 1800.0, "anneal"), Step(55.0, 370.0), Step(None, 40.0))))
ANNEAL, COOLING, LAST = PARTS[3], PARTS[4], PARTS[5]


def falling(from_c, time_s, for_s=1800.0):
    """Return readings of a body that cools by Newton's law with one time constant."""
    trail = Trail()
    for t_s in range(0, int(for_s) + 5, 5):
        trail.offer(float(t_s), ROOM_C + (from_c - ROOM_C) * exp(-t_s / time_s))
    return trail


def margin_s(time_s, by_itself_s, share, *, from_c, room_off_k=2.0):
    """Return the margin by its parts: its own, that of the fall, of the room [K], of the reading at the end [K]."""
    per_kelvin_s = time_s * (1 / (OPEN_C - ROOM_C) - 1 / (from_c - ROOM_C))
    return hypot(600.0, share * by_itself_s, room_off_k * per_kelvin_s, 0.8 * time_s / (OPEN_C - ROOM_C))


@pytest.mark.parametrize("hours", [2.0, 3.0, 4.5])
def test_a_kiln_that_falls_by_itself_is_at_40_when_newtons_law_says_so(hours):
    trail = falling(190.0, hours * 3600)
    found = opening(trail, ROOM_C, LAST, (), None, wander_k=0.0)
    left_s = hours * 3600 * log((trail.temps[-1] - ROOM_C) / (OPEN_C - ROOM_C))
    assert found.at_s - trail.times[-1] == pytest.approx(left_s, rel=0.02)
    assert found.margin_s == pytest.approx(margin_s(hours * 3600, left_s, 0.18, from_c=trail.temps[-1]), rel=0.05)
    # Once the plan is done as well.
    assert opening(trail, ROOM_C, None, (), None, wander_k=0.0).at_s == pytest.approx(found.at_s)


def test_a_fall_before_the_last_one_says_nothing_of_it():
    """From the top air and elements fall with a time constant of an hour; the kiln may be four times as slow."""
    brisk = falling(780.0, 3600.0)
    found = opening(brisk, ROOM_C, PARTS[2], PARTS[3:], None, 0.0, wander_k=0.0)
    slowest_s = 4.0 * 3600 * log((370.0 - ROOM_C) / (OPEN_C - ROOM_C)) + 1800 + 146.0 / 55.0 * 3600
    assert found.at_s + found.margin_s > brisk.times[-1] + slowest_s
    slow = opening(falling(780.0, 3 * 3600.0), ROOM_C, PARTS[2], PARTS[3:], None, 0.0, wander_k=0.0)
    assert found.margin_s == pytest.approx(slow.margin_s, rel=0.15)  # the colder one has less to fall to 516 °C


def test_a_slow_fall_near_the_room_is_measured_over_longer():
    # 44 °C and 25 h: 1.9 K in the 90 min that the widest window has, one in half an hour.
    trail = falling(46.0, 25 * 3600.0, for_s=7200.0)
    wandering = opening(trail, ROOM_C, None, (), None, wander_k=0.5)
    sure = opening(trail, ROOM_C, None, (), None, wander_k=0.0)
    assert wandering.margin_s > 1.2 * sure.margin_s  # 1 K/h, and the reading wanders by 0.5 K
    brief = falling(46.0, 25 * 3600.0)
    assert opening(brief, ROOM_C, None, (), None, wander_k=0.5).margin_s > 1.5 * wandering.margin_s


def test_a_room_that_was_not_seen_makes_the_margin_wider():
    trail = falling(60.0, 4 * 3600.0)
    seen, guessed = (opening(trail, first_c, None, (), None, wander_k=0.0) for first_c in (ROOM_C, 90.0))
    assert guessed.at_s == pytest.approx(seen.at_s)  # 20 °C is assumed
    left_s = 4 * 3600 * log((trail.temps[-1] - ROOM_C) / (OPEN_C - ROOM_C))
    assert guessed.margin_s == pytest.approx(
        margin_s(4 * 3600, left_s, 0.18, from_c=trail.temps[-1], room_off_k=5.0), rel=0.05)


def test_a_hold_before_the_fall_is_no_part_of_its_slope():
    trail = Trail()
    for t_s in range(0, 3600, 5):
        fallen_s = max(0, t_s - 2700)
        trail.offer(float(t_s), ROOM_C + 380.0 * exp(-fallen_s / (3 * 3600)))
    right, mixed = (opening(trail, ROOM_C, LAST, (), None, began_s, wander_k=0.0) for began_s in (2700.0, None))
    left_s = 3 * 3600 * log((trail.temps[-1] - ROOM_C) / (OPEN_C - ROOM_C))
    # Above 300 °C a time constant counts 1.2 times.
    assert right.at_s - trail.times[-1] == pytest.approx(1.2 * left_s, rel=0.03)
    assert mixed.at_s - trail.times[-1] > 1.5 * left_s


def test_a_controlled_cooling_takes_as_long_as_planned_and_then_falls():
    trail = Trail()
    for t_s in range(0, 1800, 5):
        trail.offer(float(t_s), 516.0 - 55.0 * t_s / 3600)
    found = opening(trail, ROOM_C, COOLING, (LAST,), None)
    controlled_s = (trail.temps[-1] - 370.0) / 55.0 * 3600
    by_itself_s = found.at_s - trail.times[-1] - controlled_s
    assert 2.5 * 3600 < by_itself_s / log((370.0 - ROOM_C) / (OPEN_C - ROOM_C)) < 4.5 * 3600
    # No fall was seen to measure, so three hours are taken.
    assert found.margin_s == pytest.approx(margin_s(3 * 3600, by_itself_s, 0.5, from_c=trail.temps[-1]), rel=0.02)


def test_a_hold_is_waited_for():
    trail = Trail()
    for t_s in range(0, 600, 5):
        trail.offer(float(t_s), 516.0)
    soon, late = (opening(trail, ROOM_C, ANNEAL, (COOLING, LAST), left_s) for left_s in (0.0, 1500.0))
    assert late.at_s - soon.at_s == pytest.approx(1500.0)


def test_a_cold_kiln_is_open_now():
    assert opening(falling(39.0, 9000.0), ROOM_C, None, (), None).margin_s == 0.0


@pytest.mark.parametrize("kiln", ["tabletop", "top-loader", "front-loader"])
def test_four_hours_ahead_the_margin_holds_on_the_bench(kiln):
    plan = parse_plan((Path(__file__).parents[4] / "examples" / "plans" / "slump-6mm.toml").read_text(), "plan")
    fired = simulate(plan, kiln=kiln, seed=3, until_c=38.0)
    cold_s = next(s.t_s for s in fired.samples if s.t_s > 20_000 and s.temp_c is not None and s.temp_c <= OPEN_C)
    state = begin(Setup(plan, FAMILIES["90"]))
    for sample in fired.samples:
        state, _ = step(state, sample)
        if sample.t_s >= cold_s - 4 * 3600:
            break
    found = standing(state)
    assert abs(found.open_at_s - cold_s) <= found.open_margin_s
    assert found.open_margin_s < 5400
