"""What the readings show by themselves: segments of one rate."""

from __future__ import annotations

from random import Random

import pytest

from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.segments import SegmentFinder, join_holds


def course(*legs, from_c=20.0, noise_k=0.0, seed=1, step_s=5.0):
    """Return readings (s, °C) of legs (rate °C/h, minutes)."""
    rng, t_s, temp_c, found = Random(seed), 0.0, from_c, []
    for rate, minutes in legs:
        for _ in range(round(minutes * 60 / step_s)):
            found.append((t_s, temp_c + rng.gauss(0.0, noise_k)))
            t_s += step_s
            temp_c += rate * step_s / 3600
    return found


def segments(readings, every_s=60.0):
    trail = Trail()
    found = SegmentFinder(trail, every_s)
    for t_s, temp_c in readings:
        trail.offer(t_s, temp_c)
        found.count_in(temp_c)
        found.see(t_s, 0.5, trail.unbroken_from_s)
    return join_holds(found.found)


FUSE = ((220, 160), (50, 60), (0, 30), (250, 32), (0, 12), (-400, 40), (0, 60), (-80, 60))
STARTS_MIN = (0, 160, 220, 250, 282, 294, 334, 394)


@pytest.mark.parametrize("noise_k", [0.0, 0.6])
def test_a_fuse_falls_into_its_ramps_and_holds_within_three_minutes(noise_k):
    found = segments(course(*FUSE, noise_k=noise_k))
    assert [s.way for s in found] == [1, 1, 0, 1, 0, -1, 0, -1]
    assert [s.start_s / 60 for s in found] == pytest.approx(STARTS_MIN, abs=3.0)
    assert [s.rate_c_per_h for s in found] == pytest.approx([rate for rate, _ in FUSE], abs=12.0)


def test_a_hold_knows_its_level_and_length():
    hold = segments(course(*FUSE, noise_k=0.6))[2]
    assert hold.mean_c == pytest.approx(20 + 220 * 160 / 60 + 50, abs=1.0)
    assert hold.length_s / 60 == pytest.approx(30, abs=3)


def test_a_cooling_of_a_casting_has_its_stages_though_each_is_slower_than_the_wander():
    found = segments(course((0, 60), (-9, 360), (-18, 300), (-35, 200), from_c=512.0, noise_k=0.4))
    assert [round(s.rate_c_per_h) for s in found if s.way] == pytest.approx([-9, -18, -35], abs=1)


def test_a_free_fall_bends_without_breaking():
    readings = [(5.0 * i, 20 + 780 * 2.718281828 ** (-5.0 * i / 7200)) for i in range(4 * 720)]  # 2 h time constant
    assert len(segments(readings)) == 1


def test_nothing_is_found_in_noise_alone():
    for seed in range(6):
        assert len(segments(course((0, 600), from_c=516.0, noise_k=1.5, seed=seed))) == 1


def test_a_hole_in_the_readings_is_no_stretch_of_its_own():
    readings = [(t, c) for t, c in course((200, 120), (0, 60)) if not 3600 < t < 4200]
    found = segments(readings)
    assert [s.way for s in found] == [1, 0]
    assert found[1].start_s / 60 == pytest.approx(120, abs=3)


def test_a_change_that_lies_in_a_hole_is_told_where_the_readings_come_back():
    readings = [(t, c) for t, c in course((200, 120), (-300, 60)) if not 6900 < t < 7500]
    found = segments(readings)
    assert [s.way for s in found] == [1, -1]
    assert 6900 <= found[1].start_s <= 7560
