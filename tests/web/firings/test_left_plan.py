"""The plan that was left ends where it was left, and goes on where it goes on."""

from __future__ import annotations

from itertools import pairwise

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.keyed import KeyedIn
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from web.firings.left_plan import before_lines, free_until_left, taken_up_elsewhere, until_broken, until_left
from web.firings.plan_and_run import cells, corner_points, legs, rows

# Up 100 °C/h from 20 to 520, hold 1 h, down 50 °C/h to 420: 5 h, 1 h, 2 h.
PLAN = planned_parts(Plan("p", "C", (Step(100, 520, 3600, "anneal"), Step(50, 420))))
H = 3600.0
HOT = planned_parts(Plan("fuse", "C", (Step(220.0, 800.0, 600.0, "top"), Step(None, 516.0, 3600.0, "anneal"),
                                       Step(55.0, 370.0))))


def trace_of(*corners):
    """Return columns every minute on straight lines between corners (s, °C)."""
    found = []
    for (from_s, from_c), (to_s, to_c) in pairwise(corners):
        for t_s in range(int(from_s), int(to_s), 60):
            temp_c = from_c + (to_c - from_c) * (t_s - from_s) / (to_s - from_s)
            found.append((float(t_s), temp_c, temp_c, temp_c))
    return found


def test_a_plan_that_was_left_ends_where_it_was_left():
    """Power went at 456 °C, two hours into a climb that the follower still sees ten hours later."""
    run = [Part(0, 1, "ramp", 0.0, None)]
    columns = trace_of((0, 20.0), (7200, 460.0), (20_000, 120.0), (43_000, 30.0))
    for ended in (True, False):
        course = until_left(legs(HOT, run, 43_000.0, ended=ended), columns, 43_000.0)
        assert len(course) == 1
        last_s, last_c = corner_points(course)[-1]
        assert 7200.0 <= last_s <= 9000.0
        assert last_c == pytest.approx(20.0 + 220.0 * last_s / 3600)
        assert cells(course, 43_000.0, "C")[-1].end_s == last_s


def test_a_hold_that_was_left_ends_too_though_the_follower_stayed_in_it():
    run = [Part(3, 2, "hold", 10_000.0, None)]
    course = until_left(legs(HOT, run, 43_000.0, ended=True),
                        trace_of((10_000, 516.0), (11_800, 516.0), (30_000, 90.0), (43_000, 30.0)), 43_000.0)
    assert 11_800.0 < corner_points(course)[-1][0] < 14_000.0


@pytest.mark.parametrize("columns", [
    trace_of((0, 20.0), (10_800, 480.0), (20_000, 700.0)),  # a weak kiln lags 200 K behind, and comes nearer
    trace_of((0, 20.0), (12_000, 750.0), (12_300, 600.0), (12_900, 740.0)),  # a look inside
])
def test_a_kiln_that_lags_or_was_looked_into_has_left_no_plan(columns):
    now_s = columns[-1][0]
    course = legs(HOT, [Part(0, 1, "ramp", 0.0, None)], now_s)
    assert until_left(course, columns, now_s) == course


def test_a_fall_that_the_plan_leaves_free_is_never_cut():
    run = [Part(2, 2, "ramp", 0.0, None)]
    course = legs(HOT, run, 40_000.0, ended=True)
    assert until_left(course, trace_of((0, 800.0), (40_000, 30.0)), 40_000.0) == course


def test_where_a_firing_broke_off_its_course_ends_whatever_the_follower_took_the_fall_for():
    run = [Part(0, 1, "ramp", 0, 5 * H), Part(1, 1, "hold", 5 * H, 5.7 * H), Part(2, 2, "ramp", 5.7 * H, None)]
    course = until_broken(legs(PLAN, run, 6 * H), PLAN[1], 5.5 * H)
    assert [(leg.state, leg.end_s, leg.broke_off) for leg in course] == [
        ("been", 5 * H, False), ("been", 5.5 * H, True)]
    assert [cell.broke_off for cell in cells(course, 6 * H, "C")] == [False, True]


def test_a_hold_that_broke_off_is_shown_also_where_the_follower_took_it_for_no_hold_any_more():
    run = [Part(0, 1, "ramp", 0, 5.6 * H), Part(2, 2, "ramp", 5.6 * H, None)]
    course = until_broken(legs(PLAN, run, 6 * H), PLAN[1], 5.5 * H, 0.25 * H)
    assert [(leg.planned.index, leg.start_s, leg.end_s, leg.state) for leg in course] == [
        (0, 0, 5.25 * H, "been"), (1, 5.25 * H, 5.5 * H, "been")]
    assert cells(course, 6 * H, "C")[-1].words == "asked 520, 15 of 60 min"


def test_a_controller_that_begins_anew_climbs_on_from_where_the_kiln_is():
    """At 420 °C the controller begins at step 1 again: by 100 °C/h it is at 520 °C an hour later, and waits there."""
    run = [Part(0, 1, "ramp", 0, 5 * H), Part(1, 1, "hold", 5 * H, 6 * H), Part(2, 2, "ramp", 6 * H, 8 * H),
           Part(0, 1, "ramp", 8 * H, 9.5 * H), Part(1, 1, "hold", 9.5 * H, None)]
    columns = trace_of((0, 20.0), (5 * H, 520.0), (6 * H, 520.0), (8 * H, 420.0), (9.5 * H, 520.0), (10 * H, 520.0))
    course = taken_up_elsewhere(legs(PLAN, run, 10 * H), columns)
    points = corner_points(course)
    assert points[3:6] == ((8 * H, 420), (pytest.approx(9 * H, abs=60), 520), (9.5 * H, 520))
    assert min(temp_c for t_s, temp_c in points if t_s > H) > 400
    assert cells(course, 10 * H, "C")[3].lines[:2] == ("to 520", "asked 100/h")


def test_a_part_in_its_turn_begins_where_the_plan_does_so_that_a_lag_is_seen():
    run = [Part(0, 1, "ramp", 0, 5 * H), Part(1, 1, "hold", 5 * H, 6 * H), Part(2, 2, "ramp", 6 * H, None)]
    course = legs(PLAN, run, 7 * H)
    assert taken_up_elsewhere(course, trace_of((0, 20.0), (5 * H, 400.0), (7 * H, 400.0))) == course


def test_a_start_in_a_warm_kiln_and_a_part_without_readings_near_it_begin_where_the_plan_does():
    first = legs(PLAN, [Part(0, 1, "ramp", 0, None)], H)
    assert taken_up_elsewhere(first, trace_of((0, 90.0), (H, 190.0))) == first
    again = legs(PLAN, [Part(0, 1, "ramp", 0, 2 * H), Part(0, 1, "ramp", 4 * H, None)], 5 * H)
    assert taken_up_elsewhere(again, trace_of((0, 20.0), (2 * H, 220.0))) == again


def test_a_free_fall_that_was_left_ends_where_the_kiln_was_and_not_at_its_target():
    """The plan falls freely from 800 to 516 °C; at 700 °C the controller begins anew."""
    run = [Part(0, 1, "ramp", 0, 3.5 * H), Part(1, 1, "hold", 3.5 * H, 3.7 * H), Part(2, 2, "ramp", 3.7 * H, 4 * H),
           Part(0, 1, "ramp", 4 * H, None)]
    columns = trace_of((0, 20.0), (3.5 * H, 800.0), (3.7 * H, 800.0), (4 * H, 700.0), (4.3 * H, 766.0))
    points = corner_points(free_until_left(taken_up_elsewhere(legs(HOT, run, 4.3 * H), columns), columns))
    assert min(temp_c for t_s, temp_c in points if H < t_s <= 4 * H) == pytest.approx(700, abs=3)


def test_a_last_free_fall_that_was_opened_warm_ends_there_and_one_that_led_on_at_its_target():
    plan = planned_parts(Plan("p", "C", (Step(100, 520, 3600), Step(None, 40))))
    run = [Part(0, 1, "ramp", 0, 5 * H), Part(1, 1, "hold", 5 * H, 6 * H), Part(2, 2, "ramp", 6 * H, 9 * H)]
    columns = trace_of((0, 20.0), (5 * H, 520.0), (6 * H, 520.0), (9 * H, 130.0))
    points = corner_points(free_until_left(legs(plan, run, 9 * H, ended=True), columns))
    assert points[-1] == (9 * H, pytest.approx(130, abs=3))
    down = [Part(2, 2, "ramp", 0, H), Part(3, 2, "hold", H, None)]
    course = legs(HOT, down, 1.1 * H)
    assert free_until_left(course, trace_of((0, 800.0), (H, 516.0), (1.1 * H, 510.0))) == course


def test_what_the_kiln_did_before_lines_were_keyed_in_is_not_held_against_them():
    """It climbed 700 °C/h by itself from 393 °C at 5 h; 100 °C/h to 516 °C were keyed in six minutes later."""
    keyed_in = KeyedIn(5.1 * H, 2, (1,))
    plan = planned_parts(Plan("p", "C", (Step(50, 393), Step(100, 516, 3600, "anneal")), keyed_in))
    run = [Part(0, 1, "ramp", 0.0, 5 * H, 75.0), Part(1, 2, "ramp", 5 * H, 5.6 * H, 205.0),
           Part(2, 2, "hold", 5.6 * H, None, None, 516.0)]
    columns = trace_of((0, 20.0), (5 * H, 393.0), (5.1 * H, 463.0), (5.6 * H, 516.0), (6 * H, 516.0))
    course = before_lines(legs(plan, run, 5.9 * H), keyed_in, columns)
    table = [(row.part, row.asked.replace("\xa0", " "), row.got.replace("\xa0", " "), row.start_s)
             for row in rows(course, 5.9 * H, "C", plan)]
    assert table[1:3] == [
        ("before lines", "not planned", "700 °C/h", 5 * H),
        ("step 2, ramp", "to 516 °C at 100 °C/h", "106 °C/h", 5.1 * H)]  # (516 - 463) K in half an hour
    assert len(table) == 4
    points = dict(corner_points(course))
    assert points[5.1 * H] == pytest.approx(463.0)  # the plan's line begins where the kiln was
    assert cells(course, 5.9 * H, "C")[1].lines[0] == "not planned"
    # Without lines, and where a part began with them, nothing changes.
    assert before_lines(course, None, columns) == course
    assert before_lines(legs(plan, run, 5.9 * H), keyed_in._replace(at_s=5 * H), columns) == legs(plan, run, 5.9 * H)
