"""Whether a fault shows in the true course, on courses made by hand whose answer follows from their corners."""

from __future__ import annotations

import numpy as np
import pytest

from simulations.cases import Case
from simulations.plant.mishaps import Happened
from simulations.random_plans import on_paper
from simulations.studies.onsets import Course
from simulations.studies.shows import cut_short_s, lid_shows_s, power_missed_s
from simulations.truth import TruePart, Truth

PLAN = on_paper("full fuse", "220/620, 250/800/10 top, free/516/60 anneal, 55/430, free/40")
TOP, ANNEAL, COOLING = TruePart(2, "hold", 9000.0, 9300.0), TruePart(3, "hold", 12000.0, 15600.0), TruePart(
    4, "ramp", 15600.0, 21000.0)


@pytest.fixture
def course_of():
    """Return a function: a course along corners (s, °C), a reading every 5 s, in PLAN with the parts above."""
    def make(*corners):
        times, temps = zip(*corners, strict=True)
        every = tuple(np.arange(times[0], times[-1] + 1.0, 5.0).tolist())
        shown = tuple(np.interp(every, times, temps).tolist())
        course = object.__new__(Course)
        course.case = Case("by hand", "lid-ajar", PLAN)
        course.truth = Truth((TOP, ANNEAL, COOLING), (), 0.0, shown, shown, shown, every)
        course.times, course.temps = list(every), list(shown)
        return course

    return make


@pytest.mark.parametrize(("below_k", "is_shown"), [(15.0, False), (25.0, True)])
def test_a_lid_shows_where_the_probe_stays_below_its_hold(course_of, below_k, is_shown):
    course = course_of((12000, 516), (13000, 516), (13030, 516 - 1.5 * below_k), (13100, 516 - below_k),
                       (15600, 516 - below_k))
    seen_s = lid_shows_s(course, Happened("ajar", 0.3, 13000.0, None))
    assert (seen_s is not None) is is_shown
    assert seen_s is None or 13000.0 < seen_s <= 13030.0


def test_a_lid_opened_before_the_controller_runs_shows_as_it_does_later(course_of):
    for fallen_c, is_shown in ((300.0, True), (340.0, False)):
        course = course_of((0, 350), (1000, 350), (1060, fallen_c), (2000, fallen_c))  # a part begins at 9000 s
        seen_s = lid_shows_s(course, Happened("ajar", 0.5, 1000.0, 1600.0))
        assert (seen_s is not None) is is_shown


def test_a_planned_fall_is_no_lid(course_of):
    """From 2 to 5 min, 3.5 in the middle, it is 32 K lower at 600 °C/h than at the planned 55."""
    slow = course_of((15600, 516), (21000, 516 - 82.5))
    assert lid_shows_s(slow, Happened("ajar", 0.3, 16000.0, None)) is None
    fast = course_of((15600, 516), (16000, 510), (17000, 510 - 167.0))
    assert lid_shows_s(fast, Happened("ajar", 0.3, 16000.0, None)) is not None


@pytest.mark.parametrize(("part_s", "shut_after_s", "is_shown"), [
    (9100.0, 600.0, False), (9100.0, 900.0, True), (13000.0, 600.0, True)])
def test_a_lid_that_may_be_a_vent_is_one_over_the_top_that_is_shut_soon(course_of, part_s, shut_after_s, is_shown):
    course = course_of((8000, 800), (part_s, 800), (part_s + 60, 700), (part_s + 2000, 700))
    seen_s = lid_shows_s(course, Happened("ajar", 0.5, part_s, part_s + shut_after_s))
    assert (seen_s is not None) is is_shown


def test_a_top_that_a_weak_kiln_crept_up_to_was_given(course_of):
    """Ten minutes are asked: within 10 K of the highest for 20 min or for 5."""
    crept = course_of((7000, 780), (8400, 790), (9300, 800), (12000, 506), (13000, 400))
    quick = course_of((7000, 700), (8940, 790), (9000, 800), (9300, 800), (12000, 506), (13000, 400))
    cut = Happened("hold-short", 0.5, 9000.0, None)
    assert cut_short_s(crept, cut) is None
    assert cut_short_s(quick, cut) == 9300.0
    # Six minutes near its highest, twenty 30 K lower, and two near it again: eight of ten.
    dipped = course_of((7000, 700), (7640, 700), (7700, 795), (8060, 795), (8065, 770), (9175, 770), (9180, 800),
                       (9300, 800), (12000, 506), (13000, 400))
    assert cut_short_s(dipped, cut) == 9300.0
    gone = Happened("power-cut", None, 9290.0, None)
    assert power_missed_s(quick, gone) == 9290.0
    assert power_missed_s(crept, gone) == pytest.approx(12000.0, abs=10.0)  # 10 K below the anneal
    assert power_missed_s(crept, Happened("power-cut", None, 9290.0, 11000.0)) is None  # it was back before
    assert power_missed_s(crept, Happened("power-cut", None, 12500.0, None)) == 12500.0  # in the anneal: at once
