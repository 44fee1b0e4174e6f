"""Which hold a kiln stands in: readings on straight lines, so that level, slope and difference are known."""

from __future__ import annotations

from dataclasses import fields

import pytest

from daemon.firing.detection.hold_level import FAR_K, MOVING_C_PER_H, OFF_K, Standing, standing
from daemon.firing.events import Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.situation.view import View

CLIMB, SQUEEZE, TOP, ANNEAL, COOLING = 2, 1, 3, 5, 6
"""Parts of the plan of tests/daemon/firing/conftest.py: 516 °C for an hour, then 60 °C/h."""
SHORT = Plan("Short", "C", (Step(300.0, 600.0, 599.0), Step(60.0, 500.0, 3600.0)))


@pytest.fixture
def level(along):
    """Return a function: readings whose last five minutes have this mean [°C] and slope [°C/h]."""
    def readings(mean_c, seconds, slope=0.0):
        def at(t_s):
            return mean_c + slope * (t_s - (seconds - 150.0)) / 3600
        return along((0.0, at(0.0)), (seconds, at(seconds)))
    return readings


@pytest.fixture
def hold(view_of, level):
    """Return a function that makes the view of a kiln in its anneal hold, 20 min after that began."""
    def view(off_k=0.0, *, seconds=1200.0, slope=0.0, part=ANNEAL, to_c=516.0, **fields) -> View:
        given = {"found": (Part(part, 3, "hold", 0.0),), "offset_elsewhere_k": 0.0, **fields}
        return view_of(level(to_c + off_k, seconds, slope), part + 1, **given)
    return view


@pytest.fixture
def beside(view_of, level):
    """Return a function that makes the view of a kiln that the follower takes to be in a ramp."""
    def view(at_c, *, seconds=1200.0, slope=0.0, part=COOLING, noise=0.1, plan=None, **fields) -> View:
        given = {"found": (Part(part, 4, "ramp", 0.0),), "offset_elsewhere_k": 0.0, **fields}
        made = view_of(level(at_c, seconds, slope), part + 1, **({"plan": plan} if plan else {}), **given)
        made.trail.noise_k = noise
        return made
    return view


# --- in the hold that the follower sees ------------------------------------------------------------


@pytest.mark.parametrize("off_k", [-30.0, -9.0, 0.0, 9.0, 30.0])
def test_a_settled_hold_stands_off_its_target_by_its_mean_however_far(hold, off_k):
    view = hold(off_k)
    # Two wanders of 0.5 K; and a probe may read 3 K lower in one hold than in another.
    doubt_k = 1.0 + (3.0 if off_k < 0 else 0.0)
    assert standing(view) == Standing(view.part, 0.0, pytest.approx(off_k), pytest.approx(doubt_k), False)


def test_what_it_is_off_is_counted_beyond_the_usual_difference(hold):
    assert standing(hold(9.0, offset_elsewhere_k=4.0)).off_k == pytest.approx(5.0)


@pytest.mark.parametrize("case", [
    {"state": 0}, {"state": 9},  # before and after the plan
    {"found": ()}, {"found": (Part(SQUEEZE, 1, "hold", 0.0),)},  # the follower has not dated this hold yet
    {"resumed_s": 1100.0},  # the readings came back a moment ago
])
def test_nothing_is_said_of_no_hold_or_of_one_not_seen(hold, case):
    assert standing(hold(9.0)) is not None
    assert standing(View(**_fields(hold(9.0)) | case)) is None


def _fields(view):
    return {field.name: getattr(view, field.name) for field in fields(view) if field.init}


def test_a_hold_settles_for_five_minutes_and_is_then_seen_for_half_of_five(hold):
    assert standing(hold(9.0, seconds=440.0)) is None
    assert standing(hold(9.0, seconds=460.0)) is not None


def test_a_hold_shorter_than_ten_minutes_stands_nowhere(hold, view_of, level):
    seen = (Part(1, 1, "hold", 0.0),)
    assert standing(view_of(level(609.0, 550.0), 2, plan=SHORT, found=seen, offset_elsewhere_k=0.0)) is None
    assert standing(hold(9.0, seconds=550.0, part=TOP, to_c=800.0)) is not None  # of 600 s


@pytest.mark.parametrize("way", [-1.0, 1.0])
def test_a_kiln_that_moves_beyond_doubt_stands_nowhere(hold, way):
    still = hold()
    error = still.error_c_per_h(still.line(300.0))
    fastest = MOVING_C_PER_H + 2.0 * error
    assert standing(hold(slope=way * (fastest - 1.0))) is not None
    assert standing(hold(slope=way * (fastest + 1.0))) is None


@pytest.mark.parametrize(("off_k", "slope", "comes_back"), [
    (9.0, -20.0, True),  # 5 K in a quarter of an hour: 4 K are left
    (9.0, -11.0, False),  # 2.75 K: 6.25 are left
    (9.0, 20.0, False),
    (-9.0, 20.0, True),
    (-9.0, -20.0, False),
    (-9.0, 11.0, False),
])
def test_a_kiln_back_near_its_target_in_a_quarter_of_an_hour_only_swung_past_it(hold, off_k, slope, comes_back):
    assert standing(hold(off_k, slope=slope, wander_k=0.1)).comes_back is comes_back


def test_a_slope_within_its_error_is_no_way_back(hold):
    swinging = {"off_k": OFF_K + 0.5, "slope": -4.0}  # 1 K in a quarter of an hour would do
    assert standing(hold(**swinging, wander_k=0.1)).comes_back
    view = hold(**swinging, wander_k=2.0)
    assert view.error_c_per_h(view.line(300.0)) > 4.0
    assert not standing(view).comes_back


# --- the usual difference ---------------------------------------------------------------------------


def run(index, start_s, end_s, mean_c):
    return Part(index, 1, "hold", start_s, end_s, mean_c=mean_c)


@pytest.mark.parametrize(("shown", "usual_k"), [
    ([], None),
    ([run(SQUEEZE, -4000.0, -3701.0, 608.0)], None),  # too short to show anything
    ([run(SQUEEZE, -4000.0, -3700.0, 608.0)], 8.0),
    ([run(SQUEEZE, -4000.0, -3000.0, 608.0), run(TOP, -2000.0, -1400.0, 804.0)], 8.0),  # the longer one counts
    ([run(TOP, -2000.0, -1400.0, 804.0), run(SQUEEZE, -4000.0, -3700.0, 608.0)], 4.0),
    ([run(SQUEEZE, -4000.0, -3000.0, None)], None),
    ([run(SQUEEZE, -4000.0, None, 608.0)], None),
    ([Part(CLIMB, 2, "ramp", -4000.0, -3000.0, mean_c=700.0)], None),
    ([run(ANNEAL, -4000.0, -3000.0, 524.0)], None),  # an earlier turn of the hold in question
])
def test_the_longest_other_hold_of_this_firing_shows_the_usual_difference_roughly(hold, shown, usual_k):
    view = hold(9.0, found=(*shown, Part(ANNEAL, 3, "hold", 0.0)), offset_elsewhere_k=None)
    if usual_k is None:
        assert standing(view) is None
    else:
        assert standing(view)[2:4] == (pytest.approx(9.0 - usual_k), pytest.approx(1.0 + 3.0))


# --- in a hold that the follower does not see ---------------------------------------------------------


def test_a_kiln_that_stands_still_in_a_ramp_stands_in_the_hold_before_it_that_was_not_held(beside):
    view = beside(520.0)
    assert standing(view) == Standing(view.parts[ANNEAL], 900.0, pytest.approx(4.0), pytest.approx(1.0), False)


@pytest.mark.parametrize(("off_k", "stands"), [(FAR_K - 0.5, True), (FAR_K + 0.5, False), (-FAR_K + 0.5, True),
                                               (-FAR_K - 0.5, False)])
def test_further_than_25_kelvins_from_a_hold_it_stands_somewhere_else(beside, off_k, stands):
    assert (standing(beside(516.0 + off_k)) is not None) is stands
    assert (standing(beside(516.0 + off_k + 4.0, offset_elsewhere_k=4.0)) is not None) is stands


@pytest.mark.parametrize(("off_k", "stands"), [(-27.0, True), (-39.0, True), (-41.0, False), (27.0, False)])
def test_below_a_hold_that_a_free_fall_led_to_it_stands_in_that_however_low(beside, off_k, stands):
    """The plan has nothing else there at which it would come to rest."""
    view = beside(516.0 + off_k)
    for ago_s in (1500.0, 6000.0):  # and stays in it when the probe has long come back
        view.fell_until_s = view.t_s - ago_s
        assert (standing(view) is not None) is stands


@pytest.mark.parametrize(("slope", "stands"), [(-17.0, True), (-19.0, False), (17.0, True), (19.0, False)])
def test_it_stands_where_it_is_slower_than_three_tenths_of_the_ramp(beside, slope, stands):
    assert (standing(beside(516.0, slope=slope)) is not None) is stands  # of 60 °C/h


@pytest.mark.parametrize(("slope", "stands"), [(24.0, True), (26.0, False)])
def test_beside_a_fast_or_a_free_ramp_25_degrees_an_hour_is_no_standing(beside, slope, stands):
    for part in (CLIMB, 4):  # at 300 °C/h, of which three tenths are 90; and free
        assert (standing(beside(800.0, slope=slope, part=part)) is not None) is stands


@pytest.mark.parametrize(("noise_k", "window_s"), [(0.5, 300.0), (1.5, 600.0), (4.0, 600.0), (8.0, 1200.0)])
def test_the_window_is_the_shortest_that_can_tell_a_hold_from_the_ramp(beside, noise_k, window_s):
    """Over a window T of n readings noise σ leaves a slope the error σ·√(12/n)/T; few readings are doubted twice.

    At 10 s a reading and 18 °C/h to tell: 1.5 K leave 2 × 11.2 in 300 s and 4.0 in 600, 4 K
    leave 10.6 there; 8 K leave 21 there and 7.6 in 1200 s.
    """
    view = beside(516.0, noise=noise_k, seconds=1800.0)
    assert standing(view).since_s == view.t_s - window_s


def test_where_no_window_can_tell_nothing_is_said(beside):
    assert standing(beside(516.0, noise=40.0, seconds=1800.0)) is None


@pytest.mark.parametrize(("seconds", "stands"), [(230.0, False), (250.0, True)])
def test_four_fifths_of_the_window_have_to_be_seen(beside, seconds, stands):
    assert (standing(beside(516.0, seconds=seconds)) is not None) is stands
    assert standing(beside(516.0, resumed_s=1000.0)) is None


@pytest.mark.parametrize(("held_s", "is_due"), [(1790.0, True), (1810.0, False)])
def test_a_hold_that_was_held_for_half_its_hour_is_not_due_again(beside, held_s, is_due):
    ended = (run(ANNEAL, -held_s, 0.0, 516.0), Part(COOLING, 4, "ramp", 0.0))
    assert (standing(beside(516.0, found=ended)) is not None) is is_due
    present = (Part(ANNEAL, 3, "hold", 1200.0 - held_s),)
    assert (standing(beside(516.0, found=present)) is not None) is is_due


def test_between_two_holds_it_is_the_later_one_and_a_short_one_does_not_count(beside):
    near = Plan("Near", "C", (Step(300.0, 500.0, 1800.0), Step(60.0, 520.0, 1800.0)))
    assert standing(beside(510.0, part=2, plan=near)).hold.index == 3
    assert standing(beside(596.0, part=2, plan=SHORT)) is None


def test_the_last_hold_of_a_plan_is_not_beside_its_first_ramp(beside):
    plan = Plan("Wrap", "C", (Step(60.0, 500.0, 1800.0), Step(60.0, 480.0, 3600.0)))
    assert standing(beside(470.0, part=0, plan=plan)) is None
    assert standing(beside(480.0, part=0, plan=plan)).hold.index == 1
    off = Plan("Off", "C", (Step(60.0, 500.0), Step(60.0, 60.0)))
    assert standing(beside(60.0, part=1, plan=off)) is None


@pytest.mark.parametrize(("slope", "comes_back"), [(-15.0, True), (-8.0, False)])
def test_beside_a_ramp_it_may_swing_too(beside, slope, comes_back):
    assert standing(beside(516.0 + 9.0, slope=slope, wander_k=0.1)).comes_back is comes_back  # 5.25 or 7 K are left
