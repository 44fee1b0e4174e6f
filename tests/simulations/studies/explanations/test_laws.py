"""How fast a kiln goes under each explanation."""

from __future__ import annotations

import pytest

from daemon.firing.alerts.registry import KINDS
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from simulations.studies.explanations.laws import EXPLAINED, FOLLOWS, faults_in, kind_of, law

FUSE = Plan("Fuse", "C", (Step(240.0, 800.0, 600.0), Step(None, 516.0, 3600.0), Step(60.0, 400.0)))
CLIMB, TOP, FREE_FALL, ANNEAL, COOLING = planned_parts(FUSE)


@pytest.fixture
def view(still):
    """Return a view of a kiln at its top."""
    return still(FUSE, 2)


def test_without_power_a_kiln_falls_as_it_has_shown_else_by_newtons_law(still):
    unknown = law("no-power", TOP, still(FUSE, 2), 800.0, 0.0)
    assert unknown.mean * 3600 == pytest.approx(-(800 - 20) / 2.0)  # two hours are the prior
    known = law("no-power", TOP, still(FUSE, 2, natural_fall_c_per_h=300.0), 800.0, 0.0)
    assert known.mean * 3600 == pytest.approx(-300.0)
    assert known.sd < unknown.sd


@pytest.mark.parametrize(("name", "part", "c_per_h"), [
    (FOLLOWS, COOLING, -60.0), (FOLLOWS, ANNEAL, 0.0), ("fast-fall", COOLING, -120.0), ("stuck", COOLING, 0.0),
    ("stall", CLIMB, 0.0), ("weak", CLIMB, 0.4 * 240), ("fast-climb", CLIMB, 480.0), ("again", ANNEAL, 240.0),
    ("lid", TOP, 0.0),
])
def test_an_explanation_has_its_own_rate(view, name, part, c_per_h):
    assert law(name, part, view, 800.0, 0.0).mean * 3600 == pytest.approx(c_per_h)


def test_an_open_lid_begins_with_a_fall_far_faster_than_any_kiln_cools(view):
    assert law("lid", TOP, view, 800.0, 0.0).first < 3 * law("no-power", TOP, view, 800.0, 0.0).first < 0.0


@pytest.mark.parametrize(("name", "part", "kind"), [
    ("no-power", TOP, "firing-stopped"), ("no-power", COOLING, "cooling-too-fast"),
    ("full-power", TOP, "over-temperature"), ("full-power", FREE_FALL, "not-cooling"),
    (FOLLOWS, TOP, None), ("vent", FREE_FALL, None), ("shut", TOP, None), ("lid", TOP, "sudden-drop"),
])
def test_the_name_of_a_fault_depends_on_what_the_plan_asks(name, part, kind):
    assert kind_of(name, part) == kind


def test_every_fault_has_a_law_and_a_kind_of_alert(view):
    names = {kind.name for kind in KINDS}
    assert names >= EXPLAINED
    for part in (CLIMB, TOP, FREE_FALL, ANNEAL, COOLING):
        for name in faults_in(part):
            assert law(name, part, view, 600.0, 0.0).memory_s > 0
            assert name == "vent" or kind_of(name, part) in EXPLAINED
