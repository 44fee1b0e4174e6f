"""What the readings show by themselves: segments of one rate."""

from __future__ import annotations

from random import Random

import pytest

from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.segments import Segment, SegmentFinder, join_holds


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


@pytest.mark.slow  # sixty hours of readings
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


# --- small situations ------------------------------------------------------------------------------------


def stretch(start_s, end_s, from_c, to_c, mean_c=None, now_s=None):
    return Segment(start_s, end_s, from_c, to_c, (from_c + to_c) / 2 if mean_c is None else mean_c,
                            end_s if now_s is None else now_s)


@pytest.mark.parametrize(("rise_k", "hours", "way"), [
    # Slower than 5 °C/h is a hold; up to 20 °C/h too while it moved by less than 9 K.
    (100.0, 1.0, 1), (-100.0, 1.0, -1), (0.0, 1.0, 0), (4.9 * 10, 10.0, 0), (5.1 * 10, 10.0, 1),
    (-5.1 * 10, 10.0, -1),
    (8.9, 0.5, 0), (9.1, 0.5, 1), (-9.1, 0.5, -1), (8.0, 0.38, 1), (-8.0, 0.42, 0),
])
def test_a_stretch_is_a_climb_a_fall_or_a_hold(rise_k, hours, way):
    one = stretch(100.0, 100.0 + 3600 * hours, 500.0, 500.0 + rise_k)
    assert one.way == way
    assert one.length_s == pytest.approx(3600 * hours)
    assert one.rate_c_per_h == pytest.approx(rise_k / hours)


def test_a_stretch_without_length_has_no_rate():
    assert stretch(100.0, None, 500.0, 510.0, now_s=100.0).rate_c_per_h == 0.0


@pytest.mark.parametrize(("second_c", "is_one"), [(508.5, True), (509.5, False), (491.5, True), (490.5, False)])
def test_neighbouring_holds_of_one_level_are_joined_by_their_length(second_c, is_one):
    first, second = stretch(0.0, 3000.0, 500.0, 500.0), stretch(3000.0, 4000.0, second_c, second_c)
    found = join_holds((first, second))
    assert len(found) == (1 if is_one else 2)
    if is_one:
        assert (found[0].start_s, found[0].end_s, found[0].until_s) == (0.0, 4000.0, 4000.0)
        assert (found[0].from_c, found[0].to_c) == (500.0, second_c)
        assert found[0].mean_c == pytest.approx(0.75 * 500.0 + 0.25 * second_c)


def test_a_hold_and_a_ramp_are_not_join_holds():
    hold, ramp = stretch(0.0, 3000.0, 500.0, 500.0), stretch(3000.0, 6600.0, 500.0, 507.0, 501.0)
    steep = stretch(3000.0, 3600.0, 500.0, 507.0, 501.0)
    assert len(join_holds((hold, steep))) == 2
    assert len(join_holds((steep, hold))) == 2
    assert len(join_holds((hold, ramp))) == 1  # 7 °C/h over 7 K is a hold as well
    assert join_holds(()) == []


def found_in(*legs, upto=None, every_s=60.0, **how):
    readings = course(*legs, **how)
    return segments(readings if upto is None else [r for r in readings if r[0] <= upto], every_s)


@pytest.mark.parametrize(("before", "after", "is_seen"), [
    # A slope that fades: by 0.4 of the steeper one and 8 °C/h at least. One that grows: by 0.25 of it and 4 °C/h.
    (100.0, 55.0, False), (100.0, 48.0, True), (60.0, 84.0, False), (60.0, 92.0, True),
    (-30.0, -12.0, False), (-30.0, -8.0, True), (10.0, 16.0, False), (10.0, 22.0, True),
])
def test_a_change_of_slope_counts_where_a_free_kiln_would_not_make_it(before, after, is_seen):
    found = found_in((before, 120), (after, 120), from_c=500.0)
    assert len(found) == (2 if is_seen else 1)
    if is_seen:
        assert found[1].start_s == pytest.approx(7200.0, abs=120.0)


def test_faster_changes_are_found_sooner():
    # A window of 180 s finds a turn from 300 to −300 °C/h; a change of 22 °C/h in a slow cooling takes a long one.
    turned = found_in((300.0, 60), (-300.0, 60), from_c=300.0, upto=3600.0 + 420.0, noise_k=0.3)
    assert len(turned) == 2
    assert len(found_in((-40.0, 120), (-62.0, 120), from_c=500.0, upto=7200.0 + 420.0, noise_k=0.3)) == 1
    assert len(found_in((-40.0, 120), (-62.0, 120), from_c=500.0, noise_k=0.3)) == 2


def test_a_change_of_sixty_an_hour_shows_in_the_window_of_eight_minutes():
    # 100 to 40 °C/h: seven minutes after it most of the window is the new slope, five after it too little.
    assert len(found_in((100.0, 120), (40.0, 60), from_c=300.0, upto=7200.0 + 300.0)) == 1
    assert len(found_in((100.0, 120), (40.0, 60), from_c=300.0, upto=7200.0 + 420.0)) == 2


def test_a_corner_that_is_rounded_off_is_no_stretch_and_one_that_lasts_is():
    rounded = found_in((300.0, 60), (150.0, 8), (20.0, 60), from_c=200.0)
    assert [round(s.rate_c_per_h, -1) for s in rounded] == pytest.approx([300.0, 20.0], abs=11.0)
    # Both drawn on meet at 3600 + 480 · (150 − 20) / (300 − 20) s.
    assert rounded[1].start_s == pytest.approx(3600.0 + 480.0 * 130.0 / 280.0, abs=180.0)
    lasting = found_in((300.0, 60), (150.0, 30), (20.0, 60), from_c=200.0)
    assert [s.rate_c_per_h for s in lasting] == pytest.approx([300.0, 150.0, 20.0], abs=15.0)


def test_a_short_hold_between_two_ramps_is_no_rounded_corner():
    found = found_in((250.0, 60), (0.0, 10), (-250.0, 60), from_c=300.0)
    assert [s.way for s in found] == [1, 0, -1]
    assert [s.start_s for s in found] == pytest.approx([0.0, 3600.0, 4200.0], abs=100.0)


def test_a_stretch_knows_where_it_began_ended_and_its_mean():
    climb, hold = found_in((200.0, 60), (0.0, 60), from_c=300.0)
    assert (climb.from_c, climb.to_c, climb.mean_c) == pytest.approx((300.0, 500.0, 400.0), abs=2.0)
    assert (hold.from_c, hold.to_c, hold.mean_c) == pytest.approx((500.0, 500.0, 500.0), abs=2.0)
    assert climb.end_s == hold.start_s
    assert hold.end_s is None
    assert hold.until_s == pytest.approx(7200.0, abs=60.0)


def test_it_looks_once_a_minute_or_as_often_as_asked():
    trail = Trail()
    finder = SegmentFinder(trail, 60.0)
    assert not finder.see(0.0, 0.5, 0.0)  # no reading yet
    looks = []
    for t_s, temp_c in course((200.0, 5)):
        trail.offer(t_s, temp_c)
        finder.count_in(temp_c)
        looks += [t_s] * finder.see(t_s, 0.5, 0.0)
    assert looks == [0.0, 60.0, 120.0, 180.0, 240.0]


def test_no_more_than_two_hundred_and_fifty_six_changes_are_kept():
    legs = [(300.0, 20), (-300.0, 20)] * 140
    readings = course(*legs, from_c=300.0, step_s=30.0)
    trail = Trail()
    finder = SegmentFinder(trail)
    for t_s, temp_c in readings:
        trail.offer(t_s, temp_c)
        finder.count_in(temp_c)
        finder.see(t_s, 0.5, trail.unbroken_from_s)
    assert 200 < len(finder.found) <= 256
