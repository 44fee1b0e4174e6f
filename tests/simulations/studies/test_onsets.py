"""The moment from which a delay counts, held against whole simulated firings."""

from __future__ import annotations

from simulations.cases import Expected
from simulations.studies.onsets import Course, onset_s
from simulations.studies.study import case_named


def test_a_restart_begins_where_the_kiln_climbs_again_and_is_none_where_it_only_holds_on():
    asked = Expected(("restarted",), "wake", "restart", onset="climbs-again")
    # From a top it comes down to 670 °C, holds 70 minutes, and climbs again with the second step's ramp (20008).
    case = case_named("restart-20008")
    course = Course(case, case.fire())
    climbs_s = [p.start_s for p in course.truth.parts if (p.step, p.part) == (2, "ramp")][-1]
    began_s = onset_s(asked, course)
    assert began_s is not None
    assert 0 <= began_s - climbs_s < 4 * 60
    # In the only climb's own hold it holds a few minutes longer (20011).
    case = case_named("restart-20011")
    assert onset_s(asked, Course(case, case.fire())) is None
    # So it does where it fell by 28 K meanwhile (1141000013).
    case = case_named("restart-1141000013")
    course = Course(case, case.fire())
    [cut] = course.truth.faults
    assert course.at(cut.at_s) - course.at(cut.until_s) > 25.0
    assert onset_s(asked, course) is None


def test_a_hold_that_ends_in_the_second_of_its_fault_ended_then():
    """The anneal lasts five seconds; the ramp that follows begins with the fault and lasts for 38 minutes."""
    case = case_named("anneal-short-1143000004")
    course = Course(case, case.fire())
    [cut] = course.truth.faults
    assert onset_s(Expected(("hold-cut-short",), "wake", "hold-short", onset="part-end"), course) == cut.at_s
