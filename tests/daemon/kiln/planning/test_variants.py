"""Plans that are one change away from a plan."""

from dataclasses import replace

import pytest

from daemon.errors import BadInput
from daemon.firing.plan.plan import Plan, Step, parse_plan, write_plan
from daemon.glass.advice import anneal
from daemon.glass.materials import FAMILIES
from daemon.kiln.planning.variants import annealed, hotter, longer

GLASS = FAMILIES["90"]
FUSE = Plan("Fuse, invented", "C", (
    Step(220, 670, 1800, "squeeze"), Step(250, 800, 600, "top"), Step(None, 516, 3600, "anneal"), Step(80, 460)))


def test_only_the_top_becomes_hotter():
    found = hotter(FUSE, 10.0, GLASS, "C")
    assert found.steps[1] == replace(FUSE.steps[1], to_c=810.0)
    assert (found.steps[0], *found.steps[2:]) == (FUSE.steps[0], *FUSE.steps[2:])


def test_a_top_written_in_two_steps_goes_as_one():
    two = replace(FUSE, steps=(FUSE.steps[0], Step(250, 800), Step(50, 800, 600), *FUSE.steps[2:]))
    assert [step.to_c for step in hotter(two, -5.0, GLASS, "C").steps] == [670, 795, 795, 516, 460]


def test_only_the_hold_at_the_top_becomes_longer():
    found = longer(FUSE, 600.0, GLASS)
    assert [step.hold_s for step in found.steps] == [1800, 1200, 3600, 0]


@pytest.mark.parametrize(("thickness_mm", "unit"), [(6.0, "C"), (12.0, "C"), (12.0, "F")])
def test_the_anneal_of_a_thickness_is_what_the_advice_says(thickness_mm, unit):
    advice = anneal(GLASS, thickness_mm)
    found = annealed(replace(FUSE, unit=unit), advice)
    assert found.steps[:2] == FUSE.steps[:2]
    hold, *cooling = found.steps[2:]
    assert hold.hold_s == 60 * advice.hold_min
    assert hold.purpose == "anneal"
    assert hold.to_c == pytest.approx(advice.hold_c, abs=0.5)
    for step, stage in zip(cooling, advice.stages, strict=True):
        assert step.to_c == pytest.approx(stage.to_c, abs=0.5)
        assert 0.9 * stage.rate_c_per_h <= step.rate_c_per_h <= stage.rate_c_per_h + 1e-9


@pytest.mark.parametrize("change", [
    lambda: hotter(FUSE, 700.0, GLASS, "C"), lambda: hotter(FUSE, -140.0, GLASS, "C"),
    lambda: longer(FUSE, -660.0, GLASS),
    lambda: longer(replace(FUSE, steps=FUSE.steps[2:]), 60.0, GLASS),
])
def test_a_change_that_makes_no_plan_is_refused(change):
    with pytest.raises(BadInput):
        change()


def test_every_changed_plan_can_be_written_and_read():
    for plan in (hotter(FUSE, 7.5, GLASS, "C"), longer(FUSE, 90.0, GLASS), annealed(FUSE, anneal(GLASS, 19.0))):
        assert parse_plan(write_plan(plan), "changed").steps == plan.steps
