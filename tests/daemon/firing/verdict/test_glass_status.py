"""The glass at this moment: what stands in it, how far its hold has come, where the present rate leads."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from daemon.firing.events import Part, Sample
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.setup import Setup
from daemon.firing.status import standing
from daemon.firing.step import begin, step
from daemon.firing.units import Units
from daemon.firing.verdict.glass_status import GlassNow, glass_lines, glass_now
from daemon.glass.load import Figures, Load
from daemon.glass.materials import FAMILIES

GLASS = FAMILIES["90"]
HOLD = PlannedPart(0, 1, "hold", 515.0, 515.0, 0.0, 3600.0, "anneal")


def driven(*pieces: tuple[float, float], start_c: float = 560.0,
           thicknesses_mm: tuple[float, ...] = (19.0,)) -> Figures:
    """Figures after pieces (to °C, for s) from ``start_c``."""
    load = Load(GLASS, thicknesses_mm, 1)
    load.offer(0.0, start_c)
    t_s, here_c = 0.0, start_c
    for to_c, for_s in pieces:
        n = round(for_s / 5)
        for k in range(1, n + 1):
            load.offer(t_s + 5.0 * k, here_c + (to_c - here_c) * k / n)
        t_s, here_c = t_s + for_s, to_c
    found = load.figures()
    assert found is not None
    return found


def told(figures: Figures, rate_c_per_h: float | None, held_s: float | None = None) -> GlassNow:
    hold = None if held_s is None else (HOLD, Part(0, 1, "hold", 0.0, None))
    found = glass_now(GLASS, figures, rate_c_per_h, hold, held_s or 0.0)
    assert found is not None
    return found


def first_line(now: GlassNow, unit: str = "C") -> str:
    return glass_lines(now, Units(unit))[0]


def test_a_steady_fall_shows_the_closed_form_difference_and_where_it_leads() -> None:
    # R L²/(2κ) = 60/3600 · 0.019² / 9e-7 = 6.685 K: Carslaw & Jaeger, ch. III. A third of Eα/(1−ν) = 0.8077 MPa/K
    # times 1.7 (Gardon & Narayanaswamy 1970) makes 3.06 MPa with one cooled face, a quarter with two.
    now = told(driven((560.0, 600.0), (500.0, 3600.0)), -60.0)
    (slab,) = now.slabs
    assert slab.difference_k == pytest.approx(6.685, rel=0.01)
    assert slab.at_this_rate_mpa == pytest.approx((3.06 / 4, 3.06), rel=0.01)
    line = first_line(now)
    assert "the core is 7 °C hotter than the face" in line
    assert "Going on like this, 60 °C/h, about 1 to 3 MPa stays in it, from two cooled faces to one" in line
    assert "would be gentle here" in line


def test_gentle_is_never_looser_than_common_practice() -> None:
    # 80 °C/h for 6 mm on a shelf: common practice. The slab alone would bear 197.
    now = told(driven((560.0, 600.0), (500.0, 900.0), thicknesses_mm=(6.0,)), -240.0)
    assert now.slabs[0].gentle_c_per_h == 80.0


def test_a_fall_as_slow_as_advised_is_not_told_to_be_slower() -> None:
    now = told(driven((560.0, 600.0), (500.0, 2880.0), thicknesses_mm=(6.0,)), -75.0)
    assert "gentle" not in first_line(now)


def test_a_climb_and_a_fall_far_above_the_range_foretell_nothing() -> None:
    for figures, rate in ((driven((700.0, 1800.0)), 280.0), (driven((600.0, 600.0), start_c=700.0), -600.0),
                          (driven((300.0, 1800.0), start_c=100.0), 400.0)):
        assert told(figures, rate).slabs[0].at_this_rate_mpa is None


def test_each_thickness_of_the_load_has_its_line() -> None:
    now = told(driven((560.0, 600.0), (500.0, 3600.0), thicknesses_mm=(19.0, 6.0)), -60.0)
    assert [slab.thickness_mm for slab in now.slabs] == [19.0, 6.0]
    # The difference goes with the square of the thickness.
    assert now.slabs[0].difference_k / now.slabs[1].difference_k == pytest.approx((19 / 6) ** 2, rel=0.02)


def test_a_hold_says_how_long_the_glass_itself_still_needs() -> None:
    # At 495 °C, τ = 6(1−ν)η/E with log η = −2.8235 + 4268.3/(495 − 227.1) = 13.109: 859 s, and three of them leave
    # a twentieth: 2573 s, of which 600 s are over. The quick fall counts for little.
    now = told(driven((560.0, 600.0), (495.0, 10.0), (495.0, 600.0)), 0.0, held_s=600.0)
    assert now.hold is not None
    assert now.hold.needs_s == pytest.approx(2573 - 600, rel=0.08)
    assert first_line(now).startswith("Anneal hold: 10 of 60 min. The glass itself needs about")
    done = told(driven((560.0, 600.0), (515.0, 200.0), (515.0, 1800.0)), 0.0, held_s=1800.0)
    assert done.hold is not None
    assert done.hold.needs_s == 0.0
    assert "The glass itself has relaxed" in first_line(done)


def test_a_hold_that_is_far_too_cool_says_so() -> None:
    now = told(driven((560.0, 60.0), (450.0, 60.0), (450.0, 600.0)), 0.0, held_s=600.0)
    assert now.hold is not None
    assert now.hold.needs_s is None
    assert "too cool here" in first_line(now)


def test_below_the_range_it_says_what_stays() -> None:
    figures = driven((560.0, 600.0), (400.0, 9600.0))
    now = told(figures, -60.0)
    assert now.slabs[0].at_this_rate_mpa is None
    assert now.slabs[0].stays_mpa == figures.slabs[0].range_core_mpa
    assert now.slabs[0].stays_mpa[1] == pytest.approx(3.06, rel=0.03)
    assert "What stays in it, as it is now: about 1 to 3 MPa" in first_line(now)


def test_the_noise_of_a_reading_is_not_told_as_a_difference_through_the_glass() -> None:
    # 30 °C/h at 80 °C in 6 mm: R L²/(2κ) = 30/3600 · 0.006² / 9e-7 = 0.33 K, which is told as none. The readings'
    # noise is 0.6 K, and the difference would be as much if the newest one were taken as it is.
    rng, load, lines = Random(7), Load(GLASS, (6.0,), 1), set()
    for k in range(2400):
        load.offer(5.0 * k, 180.0 - 30.0 * 5 * k / 3600 + rng.gauss(0.0, 0.6))
        if k > 2000 and k % 5 == 0:
            figures = load.figures()
            assert figures is not None
            lines.add(first_line(told(figures, -30.0)).split(".")[0])
    assert lines == {"6 mm: even through its thickness"}


def test_a_difference_within_the_error_of_a_noisy_probe_is_told_as_none() -> None:
    steady = told(driven((560.0, 600.0), (500.0, 3600.0)), -60.0).slabs[0]
    assert steady.unsure_k == 0.5  # no noise: half of the last figure that is told
    figures = driven((560.0, 600.0), (500.0, 3600.0))
    # Two standard errors of the end of a line through 20 readings: 2 · 2 · 8/√20 = 7.2 K, more than the 6.7 there is.
    noisy = told(replace(figures, noise_k=8.0), -60.0)
    assert noisy.slabs[0].unsure_k == pytest.approx(2 * 2 * 8.0 / 20**0.5, rel=0.01)
    assert "even through its thickness" in first_line(noisy)


def test_a_makers_fahrenheit_is_kept() -> None:
    now = told(driven((560.0, 600.0), (500.0, 3600.0)), -60.0)
    assert "12 °F hotter" in first_line(now, "F")
    assert "108 °F/h" in first_line(now, "F")


def test_the_plain_values_have_no_nan_and_nothing_is_told_of_no_reading() -> None:
    plain = told(driven((560.0, 600.0), (500.0, 3600.0)), -60.0).as_json()
    assert set(plain) == {"slabs", "hold"}
    assert plain["slabs"][0]["at_this_rate_mpa"] == [pytest.approx(0.765, rel=0.01), pytest.approx(3.06, rel=0.01)]
    assert glass_now(GLASS, None, None, None, 0.0) is None


def test_the_standing_of_a_firing_carries_the_glass() -> None:
    state = begin(Setup(None, GLASS, 19.0, thinner_mm=(6.0,)))
    for k in range(721):
        state, _ = step(state, Sample(5.0 * k, 560.0 - 60.0 * k * 5 / 3600))
    found = standing(state).glass
    assert found is not None
    assert standing(state).glass_lines == tuple(glass_lines(found, Units("C")))
    assert [slab.thickness_mm for slab in found.slabs] == [19.0, 6.0]
    assert found.slabs[0].difference_k == pytest.approx(6.685, rel=0.02)


def test_a_planned_free_fall_into_the_anneal_hold_foretells_nothing() -> None:
    plan = Plan("falls to its hold", "C", (Step(None, 560.0), Step(None, 500.0, 3600.0, "anneal"), Step(50.0, 400.0)))
    state = begin(Setup(plan, GLASS, 19.0))
    for k in range(400):
        state, _ = step(state, Sample(5.0 * k, 700.0 - 500.0 * k * 5 / 3600))
        found = standing(state).glass if k % 40 == 39 else None
        if found is not None and 700.0 - 500.0 * k * 5 / 3600 > 500.0:
            assert found.slabs[0].at_this_rate_mpa is None
