"""What looks like trouble of one sort and is another, or none: told by a hostile reader's traces."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from tests.conftest import plan_named

MIN = 60.0


def test_the_glow_that_comes_back_after_two_peeks_is_no_runaway(drawn):
    plan = plan_named("full-fuse")
    start = [(0.0, 20.0), (163.0, 620.0), (223.0, 670.0), (253.0, 670.0), (285.0, 803.0)]
    peeks = [(288.0, 803.0), (288.7, 778.0), (289.5, 780.0), (290.8, 800.0), (291.5, 770.0), (292.2, 772.0),
             (294.8, 812.0), (296.5, 812.0), (299.0, 800.0)]
    report = judge(Setup(plan, FAMILIES["90"], 6.0), drawn(*start, *peeks, (340.0, 560.0)))
    assert [a.kind for a in report.alerts if a.rank is Rank.WAKE] == []


def test_a_first_climb_at_the_next_ones_rate_is_too_fast_for_the_brittle_glass(fired):
    night = fired("refire-6mm", "heating=2.5@step1:ramp+2min")
    (fast, *_) = night.alerts("heating-too-fast")
    assert fast.rank is Rank.LOOK
    assert fast.raised_s - night.fault_s() < 30 * MIN
    assert "planned 120 °C/h" in fast.text.what


def test_two_ramps_of_one_rate_are_parted_by_their_target_where_the_start_was_not_seen(fired):
    night = fired("decal-6mm-fahrenheit", start_s=-1200.0)
    true = night.part(2, "ramp").start_s
    found = next(p.start_s for p in night.report.parts if (p.step, p.part) == (2, "ramp"))
    assert abs(found - true) <= 3 * MIN


def test_the_last_fall_is_the_last_step_though_no_kiln_falls_so_fast(fired):
    night = fired("annealed-again-12mm", thickness_mm=12.0)
    assert [(p.step, p.part) for p in night.report.parts][-1] == (6, "ramp")


@pytest.mark.parametrize(("share", "told"), [
    (0.25, "cooling-too-fast"),  # the reading dips by 16 K; the glass stays within 3 K of its anneal
    (0.4, "sudden-drop"),
])
def test_a_lid_left_ajar_in_the_anneal_is_no_controller_that_began_again(fired, share, told):
    night = fired("full-fuse-6mm", f"ajar={share}@step4:hold+20min")
    assert night.alerts(told)
    assert night.alerts("restarted") == []
