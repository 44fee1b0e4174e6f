"""A kiln of two bodies that is too weak for its plan: the plan proposed must give the glass the same in it."""

from dataclasses import replace

import pytest

from daemon.firing.advice.plan_check import doubts
from daemon.firing.energy.thermal import Thermal
from daemon.firing.plan.plan import Plan, Step, parse_plan
from daemon.firing.plan.schedule import planned_parts, squeezes
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from daemon.kiln.foresight import foresee
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.planning.followable import Followable, OutOfReach, followable, slow_steps
from daemon.kiln.planning.followable_words import (
    DEFER,
    MOST_LINES,
    beyond_lines,
    followable_json,
    followable_lines,
    followable_toml,
)
from daemon.kiln.planning.outlook import near_top_s

WEAK = KilnModel(Thermal(1 / 2600, 1 / 7000, 1 / 12_000, 1 / 25_000), 0.21, True, 0.0, 120.0, {}, 4)
FUSE = Plan("Fuse, invented", "C", (
    Step(220, 670, 1800, "squeeze", "settles"), Step(250, 800, 1200, "top"), Step(None, 516, 3600, "anneal"),
    Step(80, 460), Step(None, 40)))
SETUP = Setup(FUSE, FAMILIES["90"], 6.0, 1)


def proposed(plan=FUSE, model=WEAK):
    found = followable(plan, model, 20.0, 20.0)
    assert isinstance(found, Followable)
    return found


def foreseen(plan, model=WEAK):
    return foresee(planned_parts(plan), model, 20.0)


def test_the_kiln_can_follow_it_also_with_a_little_less_power():
    new = proposed().plan
    for share in (1.0, 0.95):
        assert not slow_steps(new, foreseen(new, WEAK._replace(power_k_per_s=share * 0.21)), 20.0)
    assert slow_steps(FUSE, foreseen(FUSE), 20.0) == (1, 2)


def test_the_glass_has_the_same_peak_and_time_near_it_as_in_a_kiln_that_follows_the_plan():
    found = proposed()
    strong, weak, new = (near_top_s(curve, 800.0) for curve in (
        foreseen(FUSE, WEAK._replace(power_k_per_s=1.0)), foreseen(FUSE), foreseen(found.plan)))
    assert found.plan.highest_c == 800.0
    assert (found.wanted_s, found.as_written_s, found.gives_s) == pytest.approx((strong, weak, new), abs=1.0)
    assert new == pytest.approx(strong, abs=40.0)  # the hold is written in whole minutes
    assert weak > strong + 240.0
    assert found.new_hold_s < found.hold_s
    assert found.is_same


@pytest.mark.parametrize("power_k_per_s", [0.19, 0.21, 0.23, 0.244])
def test_no_climb_is_faster_and_all_else_stays_as_written(power_k_per_s):
    new = proposed(FUSE, WEAK._replace(power_k_per_s=power_k_per_s)).plan.steps
    assert new[-3:] == FUSE.steps[-3:]
    squeeze = next(at for at, step in enumerate(new) if step.to_c == 670)
    assert all(step.rate_c_per_h <= 220 for step in new[:squeeze + 1])
    assert all(step.rate_c_per_h <= 250 for step in new[squeeze + 1:-3])
    assert [step.to_c for step in new] == [*sorted(step.to_c for step in new[:-3]), 516, 460, 40]
    assert (new[squeeze].hold_s, new[squeeze].purpose) == (1800, "squeeze")
    assert [step.tell for step in new].count("settles") == 1
    assert new[0].tell == "settles"


def test_in_fahrenheit_its_figures_are_round_in_fahrenheit():
    new = parse_plan(followable_toml(proposed(replace(FUSE, unit="F")), SETUP), "new")
    for step in new.steps[:3]:
        assert (step.to_c * 9 / 5 + 32) % 5 == pytest.approx(0, abs=1e-4) or step.to_c in (670, 800)


def test_a_fall_before_the_top_does_not_let_a_later_climb_be_faster_than_it_was_written():
    down = replace(FUSE, steps=(Step(220, 670), Step(100, 550, 600), Step(90, 800, 1200, "top"), *FUSE.steps[2:]))
    new = proposed(down, WEAK._replace(power_k_per_s=0.18)).plan.steps
    low = next(at for at, step in enumerate(new) if step.to_c == 550)
    assert all(step.rate_c_per_h <= 90 for step in new[low + 1:-3])


def test_where_the_kiln_follows_or_nobody_knows_there_is_nothing_to_propose():
    assert followable(FUSE, WEAK._replace(power_k_per_s=1.0), 20.0, 20.0) is None
    assert followable(FUSE, WEAK._replace(is_power_known=False), 20.0, 20.0) is None
    assert list(followable_lines(None, SETUP)) == []


def test_a_target_out_of_reach_is_said_and_no_plan_is_made():
    found = followable(FUSE, WEAK._replace(power_k_per_s=0.13), 20.0, 20.0)
    assert found == OutOfReach(2, 800) or found == OutOfReach(1, 670)
    assert "only just, or not at all" in " ".join(beyond_lines(found, SETUP))
    assert list(followable_lines(found, SETUP)) == [
        "No slower plan helps. Ask whoever cares for its elements, or choose a cooler top."]
    assert followable_json(found, SETUP)["plan"] is None


def test_where_the_hold_can_not_make_up_for_it_that_is_said():
    found = proposed(replace(FUSE, steps=(FUSE.steps[0], replace(FUSE.steps[1], hold_s=300), *FUSE.steps[2:])),
                     WEAK._replace(power_k_per_s=0.17))
    assert found.gives_s > found.wanted_s + 300.0
    assert "not the same" in " ".join(followable_lines(found, SETUP))


def test_its_words_say_what_changes_and_who_decides():
    said = " ".join(followable_lines(proposed(), SETUP))
    assert "more slowly in steps 1 and 2" in said
    assert "instead of 20 min" in said
    assert "The data sheet of your glass and the manual of your kiln come first" in said
    assert parse_plan(followable_toml(proposed(), SETUP), "new").title == "Fuse, invented, as this kiln climbs"


def test_what_is_doubtful_in_the_new_plan_for_the_load_stands_beside_it_and_in_its_file():
    thick = replace(SETUP, thickness_mm=25.0)
    found = proposed()
    doubtful = [f"Doubtful: {one}" for one in doubts(replace(thick, plan=found.plan))]
    said, file = list(followable_lines(found, thick)), followable_toml(found, thick)
    assert len(doubtful) > 1
    assert [line for line in said if line in doubtful] == doubtful
    assert all(f"# {line}\n" in file for line in (*doubtful, DEFER))
    assert f"25 mm of {thick.glass.name}" in file


def test_it_does_not_speak_of_an_anneal_that_is_not_there():
    bare = replace(FUSE, steps=(*FUSE.steps[:2], Step(None, 40)))
    said = " ".join(followable_lines(proposed(bare), replace(SETUP, plan=bare)))
    assert "The anneal and the cooling stay" not in said
    assert "Doubtful: no step is an anneal hold" in said


def test_the_layers_are_counted_as_in_the_plan_as_written():
    plain = replace(FUSE, steps=(Step(220, 670, 1200), *FUSE.steps[1:]))
    new = proposed(plain, WEAK._replace(power_k_per_s=0.19)).plan
    assert squeezes(planned_parts(plain))
    assert squeezes(planned_parts(new))


def test_of_an_empty_kiln_it_says_nothing_of_glass():
    empty = replace(SETUP, is_empty=True)
    said = " ".join([*followable_lines(proposed(), empty), followable_toml(proposed(), empty)]).replace(DEFER, "")
    assert "There is no glass in the kiln" in said
    for word in ("counts for the glass", "checked for", "Doubtful", "anneal and the cooling"):
        assert word not in said


def test_a_new_plan_with_more_lines_than_controllers_take_says_so():
    many = proposed()
    steps = many.plan.steps
    assert len(steps) > MOST_LINES
    said = " ".join(followable_lines(many, SETUP))
    assert f"The new plan has {len(steps)} steps. Many controllers take only 8 or so" in said
    few = many._replace(plan=replace(many.plan, steps=steps[-MOST_LINES:]))
    assert "controllers take only" not in " ".join(followable_lines(few, SETUP))
