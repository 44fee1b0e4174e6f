"""One slab's passage: long pieces are cut as finely as the setting glass needs, and only the last passage counts."""

from __future__ import annotations

from itertools import pairwise
from math import pi

import pytest

from daemon.glass.materials import FAMILIES
from daemon.glass.passage import FINE_S, Passage, longest_piece_s

GLASS = FAMILIES["90"]


def passed(legs: list[tuple[float, float]], cut: int = 1, thickness_mm: float = 12.0) -> Passage:
    """Return a passage from 560 °C through legs of (to °C, s), each taken in ``cut`` pieces."""
    passage, here_c = Passage(GLASS, thickness_mm, 1, 560.0), 560.0
    for to_c, step_s in legs:
        ends_c = [here_c + (to_c - here_c) * k / cut for k in range(cut + 1)]
        for start_c, end_c in pairwise(ends_c):
            passage.advance(start_c, end_c, step_s / cut)
        here_c = to_c
    return passage


def figures(passage: Passage) -> tuple[float, ...]:
    return (*passage.residual_mpa, passage.largest_difference_k, passage.largest_tension_mpa, passage.difference_k)


@pytest.mark.parametrize("legs", [
    [(430.0, 7800.0), (40.0, 9400.0)],  # 60 °C/h through the range in one piece, then 150
    [(515.0, 300.0), (515.0, 1800.0), (440.0, 5400.0), (40.0, 9600.0)],
    [(450.0, 120.0), (480.0, 60.0), (380.0, 4000.0)],  # a lid
])
def test_a_piece_taken_whole_gives_what_it_gives_in_many(legs: list[tuple[float, float]]) -> None:
    whole, many = figures(passed(legs)), figures(passed(legs, cut=600))
    for one, other in zip(whole, many, strict=True):
        assert one == pytest.approx(other, rel=0.02, abs=0.02)


def test_a_slab_that_has_not_moved_has_no_difference_and_no_tension() -> None:
    assert figures(Passage(GLASS, 12.0, 1, 560.0)) == pytest.approx((0.0,) * 5, abs=1e-9)


@pytest.mark.parametrize("thickness_mm", [6.0, 50.0, 100.0])
def test_a_thick_slab_may_be_taken_in_longer_pieces(thickness_mm: float) -> None:
    # Its slowest time constant is 4 L²/(π² κ), L the whole thickness where one face cools (Carslaw and Jaeger).
    slowest_s = 4 * (thickness_mm / 1000) ** 2 / (pi**2 * GLASS.diffusivity_m2_s)
    assert longest_piece_s(GLASS, thickness_mm, 1) == pytest.approx(max(FINE_S, 0.02 * slowest_s))


def test_a_steady_fall_leaves_the_closed_form_and_stands_at_it() -> None:
    # R L²/(2κ) = 2.667 K for 12 mm, one face, 60 K/h, and a third of Eα/(1−ν) of it, 0.718 MPa, in the core, less in
    # the face twice as much (Carslaw & Jaeger, ch. III; Adams & Williamson 1920).
    passage = passed([(430.0, 7800.0), (40.0, 23400.0)])
    assert passage.largest_difference_k == pytest.approx(2.667, rel=0.01)
    core, face = passage.residual_mpa
    assert core == pytest.approx(0.718, rel=0.02)
    assert face == pytest.approx(-2 * core, rel=0.02)


@pytest.mark.parametrize(("thickness_mm", "faces", "rate_c_per_h", "core_mpa"), [
    (38.0, 2, 40.0, 1.200), (12.0, 1, 60.0, 0.718), (12.0, 2, 60.0, 0.179),
])
def test_what_an_even_fall_leaves_counts_as_tension_though_none_shows_while_it_falls(
        thickness_mm: float, faces: int, rate_c_per_h: float, core_mpa: float) -> None:
    # The closed form, a third of Eα/(1−ν) · R L²/(2κ) (Adams & Williamson 1920), for a slab that is still falling.
    passage = Passage(GLASS, thickness_mm, faces, 560.0)
    passage.advance(560.0, 439.0, 121.0 / rate_c_per_h * 3600.0)  # the band begins at 438.5 °C
    assert passage.largest_tension_mpa == 0.0
    passage.advance(439.0, 300.0, 139.0 / rate_c_per_h * 3600.0)
    assert passage.largest_tension_mpa == pytest.approx(core_mpa, rel=0.01)
    still_falling_mpa = passage.largest_tension_mpa
    passage.advance(300.0, 300.0, 40_000.0)  # the slowest of them evens out within three hours
    assert passage.largest_tension_mpa == pytest.approx(still_falling_mpa, rel=0.01)


def test_back_at_the_upper_end_of_the_band_all_is_forgotten() -> None:
    passage = passed([(450.0, 300.0)])
    assert passage.largest_difference_k > 5.0
    passage.advance(450.0, 524.9, 600.0)  # the band ends at 525 °C
    assert passage.largest_difference_k > 5.0
    passage.advance(524.9, 525.0, 60.0)
    assert (passage.largest_difference_k, passage.largest_tension_mpa) == (0.0, 0.0)


def test_back_in_the_band_the_tension_below_it_is_forgotten_and_the_difference_is_not() -> None:
    passage = passed([(450.0, 300.0), (300.0, 300.0)])
    assert passage.largest_tension_mpa > 5.0
    difference_k = passage.largest_difference_k
    passage.advance(300.0, 438.0, 6000.0)  # the band begins at 438.5 °C
    assert passage.largest_tension_mpa > 5.0
    passage.advance(438.0, 440.0, 600.0)
    assert passage.largest_tension_mpa == 0.0
    assert passage.largest_difference_k == difference_k


def test_what_pulled_at_the_face_is_remembered_until_the_glass_flows_again():
    """It is below Eα/(1−ν) · ΔT, that of a rigid face which falls at once (Timoshenko & Goodier, from memory)."""
    passage = Passage(GLASS, 12.0, 1, 500.0)
    passage.advance(500.0, 438.0, 62.0)  # the band begins at 438.5 °C
    assert 20.0 < passage.face_tension_mpa < 62.0 * GLASS.mpa_per_k
    assert passage.face_tension_at_c == pytest.approx(438.0, abs=0.6)
    most = passage.face_tension_mpa
    for back_c in (480.0, 530.0, 699.0):
        passage.advance(438.0, back_c, 3600.0)
        passage.advance(back_c, back_c, 3600.0)
        passage.advance(back_c, 438.0, 36_000.0)
        assert passage.face_tension_mpa == most
    passage.advance(438.0, 700.0, 3600.0)
    assert (passage.face_tension_mpa, passage.face_tension_at_c) == (0.0, None)


def test_a_climb_pulls_at_the_core_and_not_at_the_face():
    passage = Passage(GLASS, 12.0, 1, 20.0)
    passage.advance(20.0, 400.0, 380.0 / 600.0 * 3600.0)
    assert passage.largest_tension_mpa > 3.0
    assert passage.face_tension_mpa == pytest.approx(0.0, abs=0.05)


def test_the_difference_counts_down_to_the_very_end_of_the_band() -> None:
    # So fast that the core stays where it is: 0.4 K are left to the end of the band, and 0.6 K follow below it.
    low_c = GLASS.band_low_c
    passage = Passage(GLASS, 12.0, 1, low_c + 0.4)
    passage.advance(low_c + 0.4, low_c - 0.6, 0.01)
    assert passage.largest_difference_k == pytest.approx(0.4, abs=0.02)
    assert passage.difference_k == pytest.approx(1.0, abs=0.02)


def test_the_tension_counts_from_the_very_end_of_the_band() -> None:
    low_c = GLASS.band_low_c
    passage = Passage(GLASS, 12.0, 1, low_c - 0.5)
    passage.advance(low_c - 0.5, low_c - 2.0, 0.01)
    assert passage.largest_tension_mpa == pytest.approx(1.5 * GLASS.mpa_per_k, rel=0.1)
    passage.advance(low_c - 2.0, low_c + 1.0, 600.0)
    assert passage.largest_tension_mpa == 0.0
