"""The plan is laid along what the kiln did, at the plan's own rates."""

from __future__ import annotations

import pytest

from daemon.firing.events import Part
from daemon.firing.plan.keyed import KeyedIn
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from web.firings.plan_and_run import cells, corner_points, free_spans, legs, rows

# Up 100 °C/h from 20 to 520, hold 1 h, down 50 °C/h to 420: 5 h, 1 h, 2 h.
PLAN = planned_parts(Plan("p", "C", (Step(100, 520, 3600, "anneal"), Step(50, 420))))
H = 3600.0


def test_a_firing_that_has_not_begun_shows_the_plan_as_written():
    assert corner_points(legs(PLAN, (), 0.0)) == ((0, 20), (5 * H, 520), (6 * H, 520), (8 * H, 420))


def test_a_kiln_that_cools_twice_as_fast_is_seen_to_leave_the_plan():
    run = [Part(0, 1, "ramp", 0, 5 * H), Part(1, 1, "hold", 5 * H, 6 * H), Part(2, 2, "ramp", 6 * H, 7 * H)]
    points = corner_points(legs(PLAN, run, 7 * H, ended=True))
    assert points[-1] == (7 * H, 470)  # an hour at 50 °C/h, whatever the kiln did


def test_a_kiln_that_lags_finds_the_plan_waiting_at_its_target():
    run = [Part(0, 1, "ramp", 0, 6 * H), Part(1, 1, "hold", 6 * H, None)]
    assert corner_points(legs(PLAN, run, 6.5 * H))[:3] == ((0, 20), (5 * H, 520), (6 * H, 520))


def test_what_is_to_come_follows_from_where_the_kiln_is_now():
    run = [Part(0, 1, "ramp", 0, 6 * H), Part(1, 1, "hold", 6 * H, None)]
    course = legs(PLAN, run, 6.5 * H)
    assert [(leg.state, leg.start_s, leg.end_s) for leg in course[1:]] == [
        ("now", 6 * H, 7 * H), ("to come", 7 * H, 9 * H)]


def test_the_daemons_forecast_of_the_next_part_is_taken():
    run = [Part(0, 1, "ramp", 0, None)]
    assert legs(PLAN, run, 3 * H, next_at_s=5.5 * H)[1].start_s == 5.5 * H


def test_a_part_under_way_never_ends_before_now():
    run = [Part(0, 1, "ramp", 0, None)]
    assert legs(PLAN, run, 6 * H)[0].end_s == 6 * H


def test_a_restarted_part_appears_again():
    run = [Part(0, 1, "ramp", 0, 2 * H), Part(0, 1, "ramp", 2 * H, None)]
    assert [leg.planned.index for leg in legs(PLAN, run, 3 * H)] == [0, 0, 1, 2]


def test_in_an_ended_firing_nothing_is_to_come():
    assert [leg.state for leg in legs(PLAN, [Part(0, 1, "ramp", 0, None)], H, ended=True)] == ["been"]


def test_parts_of_another_plan_are_left_out_and_do_no_harm():
    assert legs(PLAN, [Part(9, 4, "hold", 0, None), Part(-1, 1, "ramp", 0, None)], H)[0].state == "to come"


def test_a_free_ramp_asks_for_no_rate():
    free = planned_parts(Plan("p", "C", (Step(None, 520),)))
    course = legs(free, [], 0.0)
    assert free_spans(course) == ((0.0, course[0].end_s),)
    assert cells(course, 0.0, "C")[0].lines == ("to 520", "free")


@pytest.mark.parametrize(("unit", "words"), [
    ("C", ("asked 520", "got 517", "30 of 60 min")), ("F", ("asked 968", "got 963", "30 of 60 min")),
])
def test_a_cell_says_asked_got_and_how_long(unit, words):
    run = [Part(0, 1, "ramp", 0, 5 * H, 99.0), Part(1, 1, "hold", 5 * H, None, None, 517.0)]
    cell = cells(legs(PLAN, run, 5.5 * H), 5.5 * H, unit)[1]
    assert cell.lines == words
    assert (cell.anneal, cell.now_s) == (True, 5.5 * H)


def test_the_table_has_rates_and_lengths_in_the_owners_unit():
    run = [Part(0, 1, "ramp", 0, 5 * H, 99.0), Part(1, 1, "hold", 5 * H, None, None, 517.0)]
    first, second, third = rows(legs(PLAN, run, 5.5 * H), 5.5 * H, "F")
    assert first.asked == "to 968\u00a0°F at 180\u00a0°F/h"
    assert (first.got, first.time) == ("178\u00a0°F/h", "5\u00a0h\u00a000\u00a0min")
    assert (second.state, second.time) == ("now", "30\u00a0min")
    assert (third.state, third.got, third.time) == ("to come", "", "")


def test_of_a_step_that_nobody_planned_no_row_and_no_cell_says_that_it_was_asked():
    plan = planned_parts(Plan("p", "C", (Step(100, 520, 600, "anneal"), Step(200, 450), Step(150, 520, 3600)),
                              KeyedIn(H, 3, (1, 2))))
    run = [Part(0, 1, "ramp", 0, 5 * H, 99.0), Part(1, 1, "hold", 5 * H, 5.2 * H, None, 519.0),
           Part(2, 2, "ramp", 5.2 * H, 5.5 * H, -233.0), Part(3, 3, "ramp", 5.5 * H, None, 150.0)]
    course = legs(plan, run, 5.6 * H)
    assert [row.asked for row in rows(course, 5.6 * H, "C")[1:3]] == ["broke off", "not planned"]
    assert [row.got.replace("\xa0", " ") for row in rows(course, 5.6 * H, "C")[1:3]] == ["519 °C", "233 °C/h"]
    assert [cell.lines[0] for cell in cells(course, 5.6 * H, "C")[1:4]] == [
        "broke off", "not planned", "to 520"]


def test_a_part_that_was_passed_over_has_its_row_and_says_so():
    run = [Part(0, 1, "ramp", 0, 5 * H, 99.0), Part(2, 2, "ramp", 5 * H, 7 * H, -50.0)]
    table = rows(legs(PLAN, run, 7 * H, ended=True), 7 * H, "C", PLAN)
    assert [(row.part, row.got) for row in table][1] == ("step 1, hold", "not held")
    assert (table[1].anneal, table[1].start_s, table[1].time) == (True, None, "")
    # With a hole in the trace there, it may have been held unseen; a hole elsewhere says nothing of it.
    for hole_s, got in ((4.9 * H, "not seen"), (7.5 * H, "not held")):
        columns = [(0.0, 20.0, 20.0, 20.0), (hole_s, None, None, None)]
        assert rows(legs(PLAN, run, 7 * H, ended=True), 7 * H, "C", PLAN, columns)[1].got == got
    # A part that is run again is none that was passed over.
    again = [Part(0, 1, "ramp", 0, 1 * H), Part(1, 1, "hold", 1 * H, 2 * H), Part(0, 1, "ramp", 2 * H, 3 * H)]
    assert len(rows(legs(PLAN, again, 3 * H, ended=True), 3 * H, "C", PLAN)) == 3
