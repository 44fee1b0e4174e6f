"""Plans that no one would write twice, run as they are written: their parts are found and nobody is woken."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank, Sample
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from simulations.firing import simulate
from simulations.random_plans import on_paper

PLANS = {
    "no anneal hold": "200/620/20, 250/800/10, free/300",
    "one step": "100/500/60",
    "one ramp": "150/600",
    "like climbs": "100/400, 100/690/20, free/516/60, 60/400",
    "like falls": "150/690/20, free/516/60, 60/450, 60/380, 60/300",
    "a drying hold of twelve hours": "150/120/720, 150/690/20, free/516/60, 60/400",
    "an anneal of twelve hours": "150/690/20, free/516/720, 15/450, 30/380",
    "ends in a hold": "150/690/20, free/516/60, 60/400/120",
    "no hold at all": "150/540, 250/780, free/600, 60/430",
    "down and up again": "150/550/20, 150/300/20, 150/690/10, free/516/45, 60/400",
    "two anneals": "150/690/20, free/540/30, 60/500/60, 50/400",
    "up after the anneal": "150/690/20, free/516/30, 150/560/20, 60/500/60, 50/400",
}


@pytest.mark.parametrize("name", PLANS)
def test_an_odd_plan_is_followed_and_wakes_nobody(name):
    plan = on_paper(name, PLANS[name])
    simulated = simulate(plan, seed=4, until_c=330.0)
    report = judge(Setup(plan, FAMILIES["90"]), simulated.samples)
    assert [alert for alert in report.alerts if alert.rank is Rank.WAKE] == []
    # A look is right where the plan itself falls freely through the annealing range.
    looks = [alert.kind for alert in report.alerts if alert.rank is Rank.LOOK]
    assert looks == (["cooling-too-fast"] if name == "no anneal hold" else [])
    assert report.finished
    assert [(p.step, p.part) for p in report.parts] == [(p.step, p.part) for p in simulated.truth.parts]
    for true, found in zip(simulated.truth.parts, report.parts, strict=True):
        assert found.start_s == pytest.approx(true.start_s, abs=600.0), (true.step, true.part)


def test_two_holds_at_one_temperature_are_held_one_after_the_other():
    plan = on_paper("half and half", "150/690/20, free/516/30, 60/516/30, 60/400")
    simulated = simulate(plan, seed=4, until_c=330.0)
    report = judge(Setup(plan, FAMILIES["90"]), simulated.samples)
    assert [(p.step, p.part) for p in report.parts] == [(p.step, p.part) for p in simulated.truth.parts]
    assert all(alert.rank is Rank.LOG for alert in report.alerts)


def test_a_plan_started_hot_is_followed_from_there(fired):
    night = fired("full-fuse")
    late = [s._replace(t_s=s.t_s - 5400.0) for s in night.samples if s.t_s >= 5400.0]  # about 300 °C
    report = judge(night.setup, late)
    assert report.alerts == ()
    assert [(p.step, p.part) for p in report.parts] == [(p.step, p.part) for p in night.truth.parts]


def test_a_kiln_left_at_the_top_over_two_days_rings_and_says_for_how_long(fired, drawn):
    samples = drawn((0, 20), (165, 620), (225, 670), (255, 670), (287, 800), (48 * 60, 800), every_s=20.0)
    report = judge(fired("full-fuse").setup, samples)
    alert, = [a for a in report.alerts if a.rank is Rank.WAKE]
    assert alert.kind == "hold-overrun"
    # Over by half the hold and at least a quarter of an hour: 10 min + 15 min after the top was reached.
    assert alert.woke_s == pytest.approx((287 + 25) * 60, abs=300.0)
    last = [e for e in report.events if type(e).__name__ == "AlertChanged" and e.change == "resounded"][-1]
    assert "min over its 10" in last.alert.text.what
    assert int(last.alert.text.what.split("goes on, ")[1].split()[0]) > 40 * 60


@pytest.mark.parametrize(("temp_c", "kinds"), [(21.0, ["not-started"]), (516.0, ["hold-overrun"])])
def test_a_kiln_that_never_moves_wakes_nobody_in_two_days(fired, temp_c, kinds):
    samples = [Sample(20.0 * n, temp_c) for n in range(2 * 4320)]
    report = judge(fired("full-fuse").setup, samples)
    assert [alert.kind for alert in report.alerts] == kinds
    assert not report.woke


@pytest.mark.parametrize("step_c", [1.0, 5.0])
def test_a_logger_of_whole_degrees_will_do(fired, step_c):
    night = fired("full-fuse")
    coarse = [s._replace(temp_c=step_c * round(s.temp_c / step_c)) for s in night.samples]
    report = judge(night.setup, coarse)
    assert not report.woke
    assert [(p.step, p.part) for p in report.parts] == [(p.step, p.part) for p in night.truth.parts]
