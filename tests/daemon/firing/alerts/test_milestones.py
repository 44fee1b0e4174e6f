"""Good things are told once each, when they have lasted for two minutes."""

from __future__ import annotations

import pytest

from daemon.firing.alerts.milestones import Milestones
from daemon.firing.events import Milestone, Part
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.units import Units
from daemon.firing.verdict.cooldown_forecast import OPEN_C
from daemon.glass.materials import FAMILIES

PLAN = Plan("Fuse", "C", (
    Step(300.0, 600.0, 1800.0, "squeeze"), Step(300.0, 800.0, 600.0, "top", tell="Look at the edges."),
    Step(None, 516.0, 3600.0, "anneal"), Step(60.0, 400.0)))
"""Parts: 0 climbs, 1 squeezes, 2 climbs, 3 is the top, 4 falls, 5 anneals, 6 cools."""


@pytest.fixture
def telling(view_of):
    """Return a function that makes a watcher of PLAN and a way to show it a part for so long."""
    parts = planned_parts(PLAN)
    watcher = Milestones(parts, parts[5], parts[3], Units("C"))

    def see(part, seconds, temp_c=500.0, before=(), **fields) -> list[Milestone]:
        run = (*(Part(index, 1, "hold", -60.0, 0.0) for index in before),
               Part(part, parts[part].step, parts[part].part, 1000.0))
        given = {"found": run, "plan": PLAN, **fields}
        return watcher.see(view_of([(1000.0 + seconds, temp_c)], given.pop("state", part + 1), **given))

    return see


@pytest.mark.parametrize(("part", "before", "name", "text"), [
    (1, (), "squeeze-begun", "The squeeze at 600 °C has begun."),
    (3, (), "top-reached", "At the top, 800 °C."),
    (5, (), "anneal-begun", "The anneal hold at 516 °C has begun."),
    (6, (5,), "anneal-done", "The anneal hold is over; cooling by the plan."),
])
def test_a_part_is_told_two_minutes_after_it_began_and_once(telling, part, before, name, text):
    assert telling(part, 110.0, before=before) == []
    told = telling(part, 130.0, before=before)
    assert (told[0].t_s, told[0].name, told[0].text) == (1130.0, name, text)
    assert telling(part, 150.0, before=before) == []


def test_a_climb_and_an_anneal_that_was_never_held_are_no_milestones(telling):
    assert telling(0, 600.0) == []
    assert telling(4, 600.0) == []
    assert telling(6, 600.0) == []


@pytest.mark.parametrize(("worth_min", "is_told"), [(50.0, False), (52.0, True)])
def test_an_anneal_that_was_cut_short_is_not_called_done(telling, worth_min, is_told):
    """51 of 60 minutes are as good as whole."""
    progress = AnnealProgress(FAMILIES["90"], planned_parts(PLAN)[5])
    progress.worth_min = worth_min
    assert bool(telling(6, 130.0, before=(5,), progress=progress)) is is_told


def test_before_the_plan_and_with_no_part_found_nothing_is_reached(telling):
    assert telling(3, 600.0, state=0) == []
    assert telling(3, 600.0, found=()) == []


def test_a_step_says_what_the_plan_gives_it_to_say(telling):
    told = telling(2, 130.0)
    assert told == [Milestone(1130.0, "step-2", "Step 2: Look at the edges.", 2)]
    assert [milestone.name for milestone in telling(3, 130.0)] == ["top-reached"]  # of the same step


def test_it_may_be_opened_once_it_was_hot_and_is_cool_again(telling):
    assert telling(0, 10.0, temp_c=20.0) == []
    assert telling(0, 10.0, temp_c=99.0) == []
    assert telling(6, 10.0, temp_c=OPEN_C - 1.0) == []
    assert telling(0, 10.0, temp_c=101.0) == []
    assert telling(6, 10.0, temp_c=OPEN_C + 1.0) == []
    [told] = telling(6, 10.0, temp_c=OPEN_C - 1.0)
    assert (told.name, told.step) == ("may-be-opened", None)
    assert "feel with care, gloves at hand" in told.text
    assert telling(6, 20.0, temp_c=OPEN_C - 1.0) == []
