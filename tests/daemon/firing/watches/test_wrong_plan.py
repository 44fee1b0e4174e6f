"""Another plan than the chosen one as a finding, on views with segments made by hand.

What makes a plan another one is tested beside daemon.firing.detection.other_plan. Chosen is the plan of conftest,
with holds at 670, 800 and 516 °C.
"""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.kind import Family, Finding
from daemon.firing.plan.misread import read_as
from daemon.firing.plan.plan import Plan, Step, parse_plan
from daemon.firing.setup import Setup
from daemon.firing.speaker import Speaker
from daemon.firing.tracking.segments import Segment
from daemon.firing.watches.wrong_plan import KIND, OtherStoredPlan, WrongPlanWatch, WrongType, WrongUnit
from daemon.glass.materials import FAMILIES

SLUMP = Plan("Slump", "C", (
    Step(150.0, 640.0, 900.0), Step(None, 516.0, 2700.0), Step(80.0, 430.0), Step(None, 40.0)))


def segments(*legs):
    """Return segments from 20 °C: a leg is (°C, °C/h) for a ramp and (seconds,) for a hold; the last one goes on."""
    t_s, here_c, found = 0.0, 20.0, []
    for number, leg in enumerate(legs, start=1):
        to_c = here_c if len(leg) == 1 else leg[0]
        length_s = leg[0] if len(leg) == 1 else abs(to_c - here_c) / leg[1] * 3600
        end_s = t_s + length_s
        found.append(Segment(t_s, end_s if number < len(legs) else None, here_c, to_c, (here_c + to_c) / 2, end_s))
        t_s, here_c = end_s, to_c
    return tuple(found)


@pytest.fixture
def watch_of(view_of, leg_of):
    """Return a function: a watch, and one that shows it segments (None: not looked at anew)."""
    plan = parse_plan(_plan(), "plan.toml")

    def build(others=(SLUMP,), **fields):
        watch = WrongPlanWatch(Setup(plan, FAMILIES["90"], others=others, **fields), plan)
        cold = leg_of(20.0, 20.0, 1.0)
        return lambda *legs: watch.see(view_of(cold, new_segments=segments(*legs) if legs else None))
    return build


def _plan():
    return """title = "Full fuse"
unit = "C"
step = [
    { rate = 220, to = 620 }, { rate = 50, to = 670, hold_min = 30 }, { rate = 250, to = 800, hold_min = 10 },
    { rate = "free", to = 516, hold_min = 60 }, { rate = 80, to = 461 }, { rate = 150, to = 406 },
]"""


SLUMPED = (640.0, 150.0), (900.0,), (600.0, 400.0)


def test_another_stored_plan_is_a_look_that_names_it(watch_of):
    found = watch_of()(*SLUMPED)
    assert (found.kind, found.rank) == (KIND, Rank.LOOK)
    assert found.since_s == 0.0, "it is so since the first reading"
    assert found.facts == OtherStoredPlan((640.0,), (640.0,), "Slump", explains=True)


def test_until_the_stops_are_looked_at_anew_the_finding_stands(watch_of):
    see = watch_of()
    assert see() is None
    found = see(*SLUMPED)
    assert see() == found


def test_the_first_and_the_last_of_its_stops_are_named(watch_of):
    three = Plan("Three", "C", (Step(100.0, 300.0, 1200.0), Step(100.0, 450.0, 1200.0), Step(100.0, 560.0, 1200.0)))
    facts = watch_of((three,))((301.0, 100.0), (1200.0,), (451.0, 100.0), (1200.0,), (561.0, 100.0), (1200.0,)).facts
    assert (facts.stopped_c, facts.asked_c) == ((301.0, 561.0), (300.0, 560.0))


def test_a_doubtful_one_is_only_logged(watch_of):
    # Its stop is 11 K off, and the owner knows how the probe differs.
    other = Plan("Other", "C", (Step(100.0, 640.0, 900.0), Step(80.0, 40.0)))
    found = watch_of((other,), offset_k=-3.0)((651.0, 100.0), (700.0,))
    assert found.rank is Rank.LOG
    assert not found.facts.explains
    assert watch_of((other,))((631.0, 100.0), (700.0,)).rank is Rank.LOOK  # unknown, it may differ by as much


def test_where_the_other_plan_does_not_explain_what_the_kiln_does_it_says_so(watch_of):
    assert not watch_of()((640.0, 150.0), (900.0,), (700.0, 150.0)).facts.explains


def test_the_chosen_plan_run_as_it_is_is_no_other(watch_of):
    assert watch_of()((620.0, 220.0), (670.0, 50.0), (1800.0,), (800.0, 250.0), (600.0,)) is None


def test_figures_read_in_the_other_unit_are_given_in_the_plans(watch_of):
    facts = watch_of(())((354.0, 100.0), (1800.0,), (427.0, 140.0), (600.0,)).facts
    assert (type(facts), facts.unit, facts.stopped_c) == (WrongUnit, "F", (354.0, 427.0))
    assert facts.asked_c == pytest.approx(((670 - 32) / 1.8, (800 - 32) / 1.8))
    assert said(facts) == (
        "The controller may be set to °F, not °C. It stopped at 354 °C and 427 °C: the plan's 670 and 800, "
        "read as °F.")


def test_a_probe_of_another_type_is_told_with_what_the_plan_asks(watch_of):
    low = [round(read_as(temp_c, "N", "K"), 1) for temp_c in (670.0, 800.0)]
    facts = watch_of(())((low[0], 180.0), (1800.0,), (low[1], 200.0), (600.0,)).facts
    assert facts == WrongType(tuple(low), (670.0, 800.0), ("N", "K"), explains=True)
    assert "the plan's 670 °C and 800 °C, as a type N sensor reads when type K is set" in said(facts)


def said(facts):
    return KIND.words(Finding(KIND, Rank.LOOK, 0.0, facts), Speaker("C", 6.0)).what


def test_it_says_which_plan_and_of_type_s_that_it_may_be_r():
    assert said(OtherStoredPlan((640.0,), (645.0,), "Slump")) == (
        "The controller may run another plan. It stopped at 640 °C, as the plan “Slump” asks: 645 °C.")
    assert "as a type S or R sensor reads" in said(WrongType((100.0,), (670.0,), ("S", "K")))


@pytest.mark.parametrize("explains", [False, True])
def test_it_calms_and_takes_names_only_while_it_explains_what_the_kiln_does(explains):
    facts = OtherStoredPlan((640.0,), (640.0,), "Slump", explains=explains)
    assert (KIND.calms(facts), KIND.may_replace_now(facts)) == (explains, explains)


@pytest.mark.parametrize("shown", KIND.examples, ids=lambda shown: type(shown.facts).__name__)
def test_unless_it_is_found_to_explain_what_the_kiln_does_it_calms_nothing(shown):
    assert not KIND.calms(shown.facts)
    assert not OtherStoredPlan((640.0,), (640.0,), "Slump").explains


def test_a_firing_without_a_plan_has_no_wrong_one():
    assert KIND.watch.make(Setup(None, FAMILIES["90"])) is None


def test_it_takes_only_names_without_a_cause_and_a_waking_heat_keeps_its_own():
    assert all(vaguer.is_uncaused for vaguer in KIND.may_replace)
    assert {vaguer.name: vaguer.below for vaguer in KIND.may_replace} == {
        Family.PLAN: None, "over-temperature": Rank.WAKE}
