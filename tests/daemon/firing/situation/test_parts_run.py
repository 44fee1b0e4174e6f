"""Which parts were run by the plan, on parts as a follower sees them, in the plan of the tests.

The truth in each case is what the controller did: conftest's plan climbs to 600 °C (0), holds (1), climbs to 800 °C
(2), holds (3), falls freely to 516 °C (4), anneals (5), cools (6) and is off (7).
"""

from __future__ import annotations

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.parts_run import parts_run

FUSE = Plan("Fuse", "C", (
    Step(300.0, 600.0, 1800.0, "squeeze"), Step(300.0, 800.0, 600.0, "top"), Step(None, 516.0, 3600.0, "anneal"),
    Step(60.0, 400.0), Step(None, 50.0)))
PLANNED = planned_parts(FUSE)
LENGTHS_S = (7000.0, 1800.0, 2400.0, 600.0, 2700.0, 3600.0, 7000.0, 7000.0)


def seen(*runs: int | tuple[int, float] | tuple[int, float, float]) -> list[Part]:
    """Return parts one after another by (index, length [s], mean [°C]), the last one under way."""
    parts: list[Part] = []
    t_s = 0.0
    for number, run in enumerate(runs):
        index, length_s, mean_c = (*(run if isinstance(run, tuple) else (run,)), *(None,) * 3)[:3]
        length_s = LENGTHS_S[index] if length_s is None else length_s
        planned, end_s = PLANNED[index], t_s + length_s
        parts.append(Part(index, planned.step, planned.part, t_s, None if number == len(runs) - 1 else end_s,
                          rate_c_per_h=300.0 * planned.direction, mean_c=mean_c))
        t_s = end_s
    return parts


def kept(found: list[Part]) -> list[int]:
    return [part.index for part in parts_run(found, PLANNED, 0.0)]


@pytest.mark.parametrize("runs", [
    (0, 1, 2, 3, 4, 5, 6),
    (0, 1, 2, 3, 4, 0, 1, 2, 3, 4, 5),  # begun again in the free fall
    (0, 1, 2, 3, 4, 5, (6, 600.0), 0, 1, 2, 3),  # begun again in the cooling
    (0, 1, 2, 3, 4, 5, (6, 600.0), (0, 300.0)),  # the same, just begun
    (0, 1, 2, 3, 4, 5, (6, 600.0), 2, 4),  # begun again with the second climb; its short top was not seen
    (0, 1, 2, (3, 120.0), 4, 5),  # a top that was left by hand
])
def test_what_a_controller_ran_is_kept(runs):
    assert kept(seen(*runs)) == [run[0] if isinstance(run, tuple) else run for run in runs]


@pytest.mark.parametrize(("runs", "real"), [
    # The power was off in the anneal: it fell through the rates of the cooling, and climbed back to its hold.
    ((0, 1, 2, 3, 4, (5, 300.0), (6, 1800.0), (7, 600.0), (0, 600.0), 5, 6), [0, 1, 2, 3, 4, 5, 5, 6]),
    # The same, where the follower had not seen the hold yet.
    ((0, 1, 2, 3, 4, (6, 1800.0), (7, 600.0), (0, 600.0), 5, 6), [0, 1, 2, 3, 4, 5, 6]),
    # It was off in the climb; while the kiln climbs back nobody knows in which step.
    ((0, 1, (2, 1200.0), (4, 1800.0), (0, 600.0)), [0, 1, 2]),
    # The air came back under a lid: no step climbs there.
    ((0, 1, 2, 3, 4, 5, (6, 3000.0), (0, 300.0), 7), [0, 1, 2, 3, 4, 5, 6, 7]),
])
def test_what_only_looks_like_a_part_is_left_out(runs, real):
    assert kept(seen(*runs)) == real


def test_no_plan_begins_again_with_a_fall():
    """The power was off in a second climb, and the kiln fell as in the free fall before it."""
    twice = planned_parts(Plan("Twice", "C", (Step(80.0, 790.0), Step(None, 60.0), Step(60.0, 525.0, 7200.0))))
    found = [Part(index, index + 1, "ramp", 1e4 * n, 1e4 * (n + 1)) for n, index in enumerate((0, 1, 2, 1, 2, 3))]
    assert [part.index for part in parts_run(found, twice, 0.0)] == [0, 1, 2, 2, 3]


def test_a_climb_back_belongs_to_the_climb_that_it_goes_on_in():
    found = seen(0, 1, (2, 1200.0, 700.0), (4, 1800.0), (0, 600.0, 550.0), (2, 1800.0, 700.0), 3)
    climb = parts_run(found, PLANNED, 0.0)[3]
    assert (climb.index, climb.start_s, climb.end_s) == (2, found[4].start_s, found[5].end_s)
    assert climb.mean_c == pytest.approx((600.0 * 550.0 + 1800.0 * 700.0) / 2400.0)
    assert climb.rate_c_per_h == pytest.approx(300.0)


@pytest.mark.parametrize(("mean_c", "is_kept"), [(624.0, True), (626.0, False)])
def test_no_climb_lies_beyond_its_target(mean_c, is_kept):
    assert (kept(seen(0, 1, 2, (0, 3000.0, mean_c), (1, 600.0)))[3:4] == [0]) is is_kept


def test_the_climb_that_ran_away_is_the_one_it_was():
    assert kept(seen(0, 1, (2, 9000.0, 900.0))) == [0, 1, 2]
    assert kept(seen(0, 1, (2, 2400.0, 700.0), (0, 9000.0, 900.0), (2, 900.0, 950.0))) == [0, 1, 2]


def test_the_usual_difference_of_the_probe_is_taken_off_first():
    found = seen(0, 1, 2, (0, 3000.0, 634.0), (1, 600.0))
    assert [part.index for part in parts_run(found, PLANNED, 10.0)] == [0, 1, 2, 0, 1]
