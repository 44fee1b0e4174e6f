"""A step down, as a finding and in words; what is a step is tested beside daemon.firing.detection.steps.step_down."""

from __future__ import annotations

import pytest

from daemon.firing.detection.steps.step_down import Drop
from daemon.firing.events import Line, Rank
from daemon.firing.example_firing import ANNEAL, speaker
from daemon.firing.speaker import CLOSE_LID, ELECTRIC, Speaker, Undone
from daemon.firing.trace.recent import Trail
from daemon.firing.watches.sudden_drop import KIND, SuddenDrop, sudden_drop


def drop(**fields):
    return Drop(100.0, 800.0, 700.0, 95.0, stays=False, not_air=False)._replace(**fields)


def found_in(reading, thickness_mm=6.0):
    return sudden_drop(reading, brittle_c=540.0, thickness_mm=thickness_mm)


@pytest.mark.parametrize(("stays", "rank"), [(False, Rank.LOOK), (True, Rank.WAKE)])
def test_a_step_is_a_look_and_a_wake_once_it_stays(reading_of, stays, rank):
    found = found_in(reading_of(130.0, 700.0, drop=drop(stays=stays), is_blindness_dangerous=True))
    assert (found.kind, found.rank, found.since_s, found.severity_c) == (KIND, rank, 100.0, 95.0)
    assert found.facts == SuddenDrop(800.0, 700.0, 95.0, stays)


@pytest.mark.parametrize(("fields", "for_s", "rank"), [
    ({"is_blindness_dangerous": True, "is_before_top": True}, 30.0, Rank.LOG),  # a hot climb
    ({}, 30.0, Rank.LOG),  # in the cold, or after the anneal
    ({}, 295.0, Rank.LOG),
    ({}, 300.0, Rank.LOOK),
])
def test_a_look_inside_that_costs_nothing_is_only_noted(reading_of, fields, for_s, rank):
    assert found_in(reading_of(100.0 + for_s, 700.0, drop=drop(), **fields)).rank is rank


@pytest.mark.parametrize(("from_c", "mm", "rank"), [
    (245.0, 6.0, Rank.LOG), (245.0, 12.0, Rank.LOG), (245.0, 19.0, Rank.LOOK), (255.0, 6.0, Rank.LOOK)])
def test_thin_work_is_opened_to_cool_below_250_degrees(reading_of, from_c, mm, rank):
    """Common practice: plugs are out below 250 °C, lids propped below 200 °C, where the work is thin."""
    step = drop(from_c=from_c, temp_c=from_c - 60.0, drop_k=60.0)
    assert found_in(reading_of(1000.0, step.temp_c, drop=step), mm).rank is rank


@pytest.mark.parametrize("is_before_top", [False, True])
def test_a_step_that_stays_wakes_wherever_it_is(reading_of, is_before_top):
    assert found_in(reading_of(220.0, 700.0, drop=drop(stays=True), is_before_top=is_before_top)).rank is Rank.WAKE


def test_without_a_step_and_where_the_sensor_failed_there_is_none(reading_of):
    assert found_in(reading_of(130.0, 700.0)) is None
    assert found_in(reading_of(130.0, 25.0, drop=drop(temp_c=25.0, stays=True, not_air=True))) is None


def told(reading_of, **fields):
    return KIND.words(found_in(reading_of(130.0, 700.0, drop=drop(**fields))), Speaker("C", 6.0))


def test_a_step_names_its_depth(reading_of):
    step = told(reading_of)
    assert step.what == "Lid open or sensor fell out? 700 °C, was 800 °C."
    assert CLOSE_LID in step.do
    assert ELECTRIC in step.do
    assert told(reading_of, stays=True).what.endswith("The reading has not come back.")


def test_a_drop_that_may_be_a_vent_has_eleven_minutes_to_become_a_wake():
    assert KIND.rises_within_s == 660.0


def cold(reading_of, for_s, temp_c=430.0, *, stays=True, **fields):
    """Return what is found so long after a step from 800 °C to ``temp_c``, in the anneal of an ordinary fuse."""
    at_s = 100.0 + for_s
    trail = Trail()
    for i in range(61):
        trail.add(at_s - 300.0 + 5.0 * i, temp_c)
    return found_in(reading_of(at_s, temp_c, trail=trail, drop=drop(temp_c=temp_c, drop_k=800.0 - temp_c,
                                                                  stays=stays), **fields))


def test_over_glass_that_is_cold_the_controller_is_stopped_before_the_lid_is_shut(reading_of):
    found = cold(reading_of, 300.0, undone_at=lambda at_s: Undone(ANNEAL, 300.0, 430.0))
    text = KIND.words(found, speaker())
    assert text.acts[0].startswith("Lid open? Stop the controller first")
    assert text.do.index("Stop the controller") < text.do.index("close it from outside") < text.do.index("150 °C/h")
    assert text.lines[0] == Line(pytest.approx(150.0, abs=5.0), 516.0, 3600.0)


@pytest.mark.parametrize(("for_s", "temp_c", "stays"), [(60.0, 430.0, True), (300.0, 600.0, True),
                                                        (300.0, 430.0, False)])
def test_glass_is_not_told_as_cold_before_minutes_below_where_it_is_brittle(reading_of, for_s, temp_c, stays):
    assert not cold(reading_of, for_s, temp_c, stays=stays).facts.is_cold


def test_a_lid_that_has_cost_the_anneal_wakes_although_it_may_be_a_vent(reading_of):
    assert cold(reading_of, 300.0, stays=False, is_anneal_lost=True).rank is Rank.LOOK
    assert cold(reading_of, 620.0, stays=False, is_anneal_lost=True).rank is Rank.WAKE
    assert cold(reading_of, 620.0, stays=False).rank is Rank.LOOK
