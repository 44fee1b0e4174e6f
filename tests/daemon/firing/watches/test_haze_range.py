"""Time in the haze range: counted from the plan by hand, and held against the time that was measured."""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.watches.haze_range import KIND, HazeRange, haze_range, planned_haze_s
from daemon.glass.exposure import HAZE_C

LOW_C, HIGH_C = HAZE_C
MIDDLE_C = (LOW_C + HIGH_C) / 2
WIDTH_K = HIGH_C - LOW_C


def planned(*steps):
    return planned_haze_s(planned_parts(Plan("drawn", "C", steps)))


@pytest.mark.parametrize(("steps", "seconds"), [
    ([Step(100.0, LOW_C - 1.0, 3600.0)], 0.0),  # holds below it
    ([Step(100.0, LOW_C, 3600.0)], 3600.0),  # at its lower end
    ([Step(100.0, MIDDLE_C, 1800.0)], WIDTH_K / 2 / 100.0 * 3600 + 1800.0),
    ([Step(100.0, HIGH_C, 1800.0)], WIDTH_K / 100.0 * 3600 + 1800.0),
    ([Step(100.0, HIGH_C + 50.0, 1800.0)], WIDTH_K / 100.0 * 3600),  # passes through, and holds above it
    ([Step(100.0, HIGH_C + 50.0), Step(200.0, 400.0)], WIDTH_K / 100.0 * 3600 + WIDTH_K / 200.0 * 3600),
    ([Step(100.0, HIGH_C + 50.0), Step(200.0, HIGH_C + 10.0, 900.0)], WIDTH_K / 100.0 * 3600),  # never comes down
])
def test_the_planned_time_is_that_of_the_holds_in_the_range_and_of_the_ramps_share(steps, seconds):
    assert planned(*steps) == pytest.approx(seconds)


@pytest.fixture
def seen(view_of, leg_of):
    """Return a function that makes a view in the fuse at ``at_c`` after so much time in the range."""
    def view(haze_s, at_c=MIDDLE_C):
        return view_of(leg_of(at_c, at_c, 20.0, from_s=20_000.0, ripple_k=0.0), haze_s=haze_s)
    return view


def test_it_is_noted_where_the_time_is_three_tenths_and_ten_minutes_over_the_plan(seen):
    planned_s = planned_haze_s(seen(0.0).parts)
    assert planned_s > 0.0
    most_s = 1.3 * planned_s + 600.0
    assert haze_range(seen(most_s - 1.0)) is None
    view = seen(most_s + 1.0)
    assert haze_range(view) == Finding(KIND, Rank.LOG, view.t_s - most_s - 1.0, HazeRange(most_s + 1.0, planned_s))


def test_a_load_that_never_was_there_is_not_told_whatever_the_plan(view_of, leg_of):
    cool = 'title = "Dry"\nunit = "C"\nstep = [{ rate = 100, to = 200, hold_min = 60 }]'
    readings = leg_of(MIDDLE_C, MIDDLE_C, 20.0)
    assert haze_range(view_of(readings, plan=cool, haze_s=600.0)) is None
    assert haze_range(view_of(readings, plan=cool, haze_s=601.0)).facts == HazeRange(601.0, 0.0)


def test_a_kiln_far_below_the_range_says_no_more_of_it(seen):
    assert haze_range(seen(90_000.0, LOW_C - 59.0)) is not None
    assert haze_range(seen(90_000.0, LOW_C - 61.0)) is None


def test_the_words_give_both_times_and_ask_for_nothing_now():
    text = KIND.words(Finding(KIND, Rank.LOG, 0.0, HazeRange(4200.0, 1800.0)), example_firing.speaker())
    assert text.what == f"70 min between {LOW_C:g} °C and {HIGH_C:g} °C, planned about 30."
    assert text.do.startswith("Nothing now")
