"""What a plan would do to its load: figures of the slab, and doubts that name step, figure and remedy."""

from __future__ import annotations

import pytest

from daemon.firing.advice.plan_glass import glass_doubts, plan_glass_lines, planned_figures
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES

GLASS = FAMILIES["90"]


def setup(*steps: Step, thickness_mm: float = 6.0, thinner_mm: tuple[float, ...] = (), faces: int = 1) -> Setup:
    return Setup(Plan("Trial", "C", steps), GLASS, thickness_mm, faces, None, "C", thinner_mm)


def cooled_at(rate_c_per_h: float, hold_min: float = 240.0) -> tuple[Step, ...]:
    return Step(60, 600, 1800), Step(None, 525.0, hold_min * 60, "anneal"), Step(rate_c_per_h, 380.0), Step(30, 40.0)


def test_the_plan_followed_exactly_leaves_the_closed_form() -> None:
    # 1.7/3 · Eα/(1−ν) · R L²/(2κ) for 12 mm, one face, 60 K/h (Adams & Williamson 1920, Gardon & Narayanaswamy 1970):
    # 1.7 · 0.718 = 1.22 MPa; with two faces a quarter.
    found = planned_figures(setup(*cooled_at(60.0), thickness_mm=12.0))
    assert found is not None
    assert found.slabs[0].expected_core_mpa == pytest.approx(1.22, rel=0.03)
    assert found.slabs[0].range_core_mpa[0] == pytest.approx(1.22 / 4, rel=0.05)


def test_the_thickest_plan_leaves_the_closed_form_too_though_it_is_followed_in_longer_steps() -> None:
    # The same for 300 mm, one face, 0.08 K/h: R L²/(2κ) = 0.08/3600 · 0.09/(9e-7) = 2.22 K; 1.7/3 · 0.8077 · 2.22.
    found = planned_figures(setup(*cooled_at(0.08, hold_min=8000.0), thickness_mm=300.0))
    assert found is not None
    assert found.slabs[0].expected_core_mpa == pytest.approx(1.02, rel=0.03)
    assert found.slabs[0].difference_last_passage_k == pytest.approx(2.22, rel=0.02)


def test_too_fast_a_plan_is_doubted_with_what_it_leaves_and_what_would_do() -> None:
    doubts = " ".join(glass_doubts(setup(*cooled_at(60.0), thickness_mm=12.0), planned_figures(
        setup(*cooled_at(60.0), thickness_mm=12.0))))
    assert "about 1.2 MPa would stay in 12 mm, one cooled face" in doubts
    assert "25 °C/h from the hold to 460 °C leaves less than 1 (ruled by common practice)" in doubts


def test_each_thickness_is_doubted_for_itself() -> None:
    load = setup(*cooled_at(60.0), thickness_mm=12.0, thinner_mm=(4.0,))
    figures = planned_figures(load)
    doubts = list(glass_doubts(load, figures))
    assert any("would stay in 12 mm" in doubt for doubt in doubts)
    assert not any("would stay in 4 mm" in doubt for doubt in doubts)
    lines = list(plan_glass_lines(load, figures))
    assert [line.split(":")[0] for line in lines[1:]] == ["12 mm", "4 mm"]


def test_a_hold_far_shorter_than_advised_is_doubted_and_the_glass_s_own_need_is_told() -> None:
    load = setup(*cooled_at(20.0, hold_min=30.0), thickness_mm=12.0)
    figures = planned_figures(load)
    assert any("step 2 holds 30 min; for 12 mm about 120 min are advised" in doubt
               for doubt in glass_doubts(load, figures))
    # τ = 6(1−ν)η/E at 525 °C: log η = −2.8235 + 4268.3/297.9 = 11.504; 21.3 s, three of them a twentieth.
    assert "relaxes to a twentieth in about 1 min" in next(plan_glass_lines(load, figures))


def test_a_shock_below_the_range_is_doubted() -> None:
    # 2/3 · Eα/(1−ν) · R L²/(2κ): 19 mm, one face, 110 K/h: 0.5385 · 12.26 = 6.6 MPa in the face, less the 0.9 of
    # compression that 15 K/h through the range left there.
    load = setup(*cooled_at(15.0)[:3], Step(110, 40.0), thickness_mm=19.0)
    assert any("below the annealing range about 6 MPa of tension" in doubt
               for doubt in glass_doubts(load, planned_figures(load)))


def test_a_plan_that_ends_hot_says_that_the_rest_decides() -> None:
    load = setup(Step(80, 650, 600))
    assert "ends above" in list(glass_doubts(load, planned_figures(load)))[-1]
    assert planned_figures(Setup(None, GLASS)) is None
    assert list(plan_glass_lines(Setup(None, GLASS), None)) == []
