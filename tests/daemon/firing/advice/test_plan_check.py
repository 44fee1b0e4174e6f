"""A plan read back in both units, and what is doubtful in it for a load."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.advice.anneal_text import as_plan
from daemon.firing.advice.plan_check import doubts
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.read_back import reading_back
from daemon.firing.setup import Setup
from daemon.glass.advice import anneal, heating_limit
from daemon.glass.materials import FAMILIES
from daemon.glass.practice import bearable_c_per_h

SOUND = Plan("Sound", "C", (Step(80, 650, 900), Step(None, 516, 3600), Step(55, 400), Step(None, 40)))


def setup(*steps: Step, thickness_mm: float = 6.0, faces: int = 1, unit: str = "C") -> Setup:
    plan = Plan("Odd", unit, steps) if steps else replace(SOUND, unit=unit)
    return Setup(plan, FAMILIES["90"], thickness_mm=thickness_mm, faces=faces, unit=unit)


def test_what_a_thickness_bears_is_the_slab_formula_at_two_kelvin():
    # Steady parabola of a slab cooled from one face (Carslaw & Jaeger, ch. III): ΔT = rate·h²/(2κ), κ = 4.5e-7 m²/s,
    # ΔT = 2 K: 180, 45 and 18 °C/h at 6, 12 and 19 mm, four times as much from both faces.
    for thickness_mm in (6.0, 12.0, 19.0):
        one = 2.0 * 2 * 4.5e-7 / (thickness_mm / 1000) ** 2 * 3600
        assert bearable_c_per_h(thickness_mm, 1) == pytest.approx(one, rel=1e-6)
        assert bearable_c_per_h(thickness_mm, 2) == pytest.approx(4 * one, rel=1e-6)
    assert bearable_c_per_h(12.0, 1) == pytest.approx(45.0)


def test_a_sound_plan_leaves_no_doubt():
    assert list(doubts(setup())) == []
    assert list(doubts(replace(setup(), plan=None))) == []


@pytest.mark.parametrize(("thickness_mm", "faces", "doubted"), [(6.0, 1, False), (10.0, 1, False), (11.0, 1, True),
                                                                (11.0, 2, False), (25.0, 2, True)])
def test_a_fall_is_doubted_where_the_thickness_does_not_bear_it(thickness_mm, faces, doubted):
    # 55 °C/h: 6480/h² = 64.8 at 10 mm, 53.6 at 11 mm; from both faces 214 and, at 25 mm, 41.5 °C/h.
    found = list(doubts(setup(thickness_mm=thickness_mm, faces=faces)))
    assert bool(found) == doubted
    if doubted:
        assert f"step 3 falls 55 °C/h; {thickness_mm:g} mm ordinarily bears about" in found[0]


@pytest.mark.parametrize("name", FAMILIES)
@pytest.mark.parametrize("thickness_mm", [3.0, 6.0, 12.0, 19.0, 25.0, 38.0, 80.0])
@pytest.mark.parametrize("faces", [1, 2])
def test_what_is_advised_is_not_doubted(name, thickness_mm, faces):
    advice = anneal(FAMILIES[name], thickness_mm, faces)
    climb = Step(heating_limit(FAMILIES[name], thickness_mm, faces)[0], FAMILIES[name].softening_point_c, 600)
    plan = Plan("Advised", "C", (climb, *as_plan(advice).steps))
    assert list(doubts(Setup(plan, FAMILIES[name], thickness_mm, faces))) == []


@pytest.mark.parametrize(("steps", "told"), [
    ((Step(150, 650, 900), Step(None, 40)), "no step is an anneal hold"),
    ((Step(None, 650, 900), Step(None, 516, 3600), Step(55, 400)), "step 1 climbs free below 540 °C"),
    ((Step(400, 650, 900), Step(None, 516, 3600), Step(55, 400)), "step 1 climbs 400 °C/h below 540 °C"),
    ((Step(150, 650, 900), Step(None, 516, 3600), Step(None, 40)), "step 3 falls free through the annealing range"),
])
def test_each_doubt_is_a_sentence_that_names_its_step(steps, told):
    found = list(doubts(setup(*steps)))
    assert any(told in doubt for doubt in found)
    assert all(doubt.endswith(".") for doubt in found)


def test_doubts_are_told_in_the_owners_unit():
    found = " ".join(doubts(setup(Step(400, 650, 900), Step(None, 40), unit="F")))
    assert "°F" in found
    assert "°C" not in found


def test_a_plan_is_read_back_in_both_units_with_its_length():
    lines = list(reading_back(SOUND))
    assert lines[0] == "Sound (written in °C)"
    assert lines[1] == "  1  80 °C/h (144 °F/h), up to 650 °C (1202 °F), hold 0:15"
    assert lines[2] == "  2  free, down to 516 °C (961 °F), hold 1:00"
    assert lines[3] == "  3  55 °C/h (99 °F/h), down to 400 °C (752 °F)"
    assert "free steps are guessed" in lines[-1]


def test_the_length_of_a_plan_without_free_steps_is_exact():
    plan = Plan("Exact", "F", (Step(100, 520, 1800, "top", "close the vent"), Step(50, 400)))
    lines = list(reading_back(plan))
    # 500 °C at 100 °C/h, half an hour, 120 °C at 50 °C/h: 5:00 + 0:30 + 2:24.
    assert lines[-1] == "In all 7:54 h from 20 °C."
    assert any(line.strip() == 'says: "close the vent"' for line in lines)
    assert any("[top]" in line for line in lines)
