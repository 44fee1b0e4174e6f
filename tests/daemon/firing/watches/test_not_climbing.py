"""A climb that stands still, or fades, on views made by hand.

Of the plan of conftest: part 0 climbs to 620 °C, part 3 at 250 °C/h to 800 °C. A climb is looked at from 180 s after
its beginning.
"""

from __future__ import annotations

from itertools import pairwise

import pytest

from daemon.firing import example_firing
from daemon.firing.detection.late_climb import costs, late_by_s
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.watches.not_climbing import KIND, NotClimbing, not_climbing

FIRST, TO_TOP, FALL, ANNEAL_C = 0, 3, 5, 516.0
SETTLES_S = 180.0


@pytest.fixture
def climb(view_of, leg_of):
    """Return a function: the view after legs between (minute, °C) corners, in ``part`` from the first corner on."""
    def view(*corners, part=TO_TOP, ripple_k=0.3, **fields):
        readings = []
        for (from_min, from_c), (to_min, to_c) in pairwise(corners):
            leg = leg_of(from_c, to_c, to_min - from_min, from_s=from_min * 60, ripple_k=ripple_k)
            readings = readings[:-1] + leg
        return view_of(readings, **{"found": [(part, corners[0][0] * 60)], **fields})
    return view


def still(climb, at_c=720.0, minutes=20.0, **fields):
    return not_climbing(climb((0, at_c), (minutes, at_c), **fields))


def test_a_climb_that_stands_still_says_where_for_how_long_and_what_was_planned(climb):
    found = still(climb)
    assert (found.kind, found.rank, found.step) == (KIND, Rank.LOOK, 3)
    facts = found.facts
    assert (facts.to_c, facts.planned_c_per_h) == (800.0, 250.0)
    assert facts.temp_c == pytest.approx(720.0, abs=0.3)
    assert facts.rate_c_per_h == pytest.approx(0.0, abs=5.0)
    assert facts.flat_s == 20 * 60 - SETTLES_S
    assert found.since_s == SETTLES_S


@pytest.mark.parametrize(("at_c", "minutes", "part", "rank"), [
    (720.0, 32.9, TO_TOP, Rank.LOOK),  # 30 min of it count, less six seconds
    (720.0, 33.2, TO_TOP, Rank.WAKE),
    (599.0, 60.0, FIRST, Rank.LOOK),  # not hot
    (601.0, 60.0, FIRST, Rank.WAKE),
])
def test_it_wakes_after_half_an_hour_above_600_degrees(climb, at_c, minutes, part, rank):
    assert still(climb, at_c, minutes, part=part).rank is rank


@pytest.mark.parametrize(("at_c", "minutes", "is_seen", "rank"), [
    (700.0, 44.0, False, Rank.LOOK),  # the hold of 30 min at 670 °C, and a quarter of an hour of waiting
    (700.0, 50.0, False, Rank.WAKE),  # longer than that
    (711.0, 44.0, False, Rank.WAKE),  # no probe is so far off
    (700.0, 44.0, True, Rank.WAKE),  # that hold was seen before
])
def test_a_stand_may_be_the_hold_that_a_probe_read_too_hot_has_climbed_past(climb, at_c, minutes, is_seen, rank):
    found = [*([(2, -3600.0)] if is_seen else []), (TO_TOP, 0.0)]
    assert still(climb, at_c, minutes, found=found).rank is rank


@pytest.mark.parametrize(("at_c", "minutes", "is_known", "rank"), [
    (640.0, 44.0, False, Rank.LOOK),  # the hold of 30 min at 670 °C, and a quarter of an hour of waiting
    (640.0, 50.0, False, Rank.WAKE),  # longer than that
    (629.0, 44.0, False, Rank.WAKE),  # no probe is so far off
    (640.0, 44.0, True, Rank.WAKE),  # it is known how the probe differs
])
def test_a_stand_may_be_the_hold_that_a_probe_reads_too_cold(climb, at_c, minutes, is_known, rank):
    assert still(climb, at_c, minutes, part=1, offset_known=is_known).rank is rank


@pytest.mark.parametrize(("at_c", "is_raised"), [(119.0, False), (121.0, True), (611.0, True), (613.0, False)])
def test_a_cold_kiln_lurches_and_near_its_target_a_climb_slows(climb, at_c, is_raised):
    assert (still(climb, at_c, part=FIRST) is not None) is is_raised


def test_the_target_is_as_far_as_the_probe_shows_it(climb):
    assert still(climb, 611.0, part=FIRST, offset_k=-10.0) is None
    assert still(climb, 621.0, part=FIRST, offset_k=10.0) is not None


@pytest.mark.parametrize(("minutes", "is_raised"), [(6.9, False), (7.2, True)])
def test_four_minutes_must_be_seen(climb, minutes, is_raised):
    assert (still(climb, minutes=minutes) is not None) is is_raised


def test_no_slope_reaches_across_a_gap(climb):
    assert still(climb, minutes=20.0, resumed_s=17 * 60.0) is None
    assert still(climb, minutes=20.0, resumed_s=15 * 60.0).facts.flat_s == 300.0


def test_a_hold_or_a_fall_does_not_climb_and_need_not(climb):
    assert still(climb, part=4) is None
    assert still(climb, part=FALL) is None
    assert still(climb, found=[]) is None


@pytest.mark.parametrize(("rate", "is_raised"), [(25.0, True), (60.0, False)])
def test_a_climb_below_a_seventh_of_its_rate_stands_still(climb, rate, is_raised):
    assert (not_climbing(climb((0, 700.0), (10, 700.0 + rate / 6))) is not None) is is_raised


def test_a_climb_not_surely_below_half_of_its_rate_is_left_in_peace(climb):
    # Over 300 s, the slope's error is about √(12 · w² · 240 / 300) / 300 s: for a wander w of 2 K, 74 °C/h.
    assert still(climb, wander_k=2.0) is None
    assert still(climb, wander_k=1.0) is not None


@pytest.mark.parametrize(("wander_k", "is_raised"), [(0.3, False), (0.1, True)])
def test_of_a_very_slow_climb_no_more_is_asked_than_can_be_told(climb, wander_k, is_raised):
    # Half of 20 °C/h is less than 15; twice the error is some 22 and 7 °C/h.
    plan = 'title = "Slow"\nunit = "C"\nstep = [{ rate = 20, to = 800 }, { rate = 100, to = 500 }]'
    found = not_climbing(climb((0, 700.0), (20, 700.0), part=0, plan=plan, wander_k=wander_k, ripple_k=0.1))
    assert (found is not None) is is_raised


def test_a_free_climb_is_held_against_a_hundred_degrees_an_hour(climb):
    plan = 'title = "Free"\nunit = "C"\nstep = [{ rate = "free", to = 800 }, { rate = 100, to = 500 }]'
    found = not_climbing(climb((0, 700.0), (20, 700.0), part=0, plan=plan))
    assert found.facts.planned_c_per_h == 100.0
    assert not_climbing(climb((0, 700.0), (20, 711.0), part=0, plan=plan)) is None  # 33 °C/h, more than 15


def test_a_fall_is_no_stall(climb):
    assert not_climbing(climb((0, 730.0), (10, 730.0), (20, 710.0))) is None  # 120 °C/h down
    assert not_climbing(climb((0, 730.0), (10, 730.0), (20, 726.0))) is not None  # 24 °C/h
    # Not surely: over five minutes the error is some 11 °C/h for a wander of 0.3 K.
    assert not_climbing(climb((0, 730.0), (10, 730.0), (20, 722.5))) is not None  # 45 °C/h


@pytest.mark.parametrize(("errors", "is_raised"), [(2.6, True), (3.4, False)])
def test_a_fall_by_30_degrees_an_hour_beyond_three_standard_errors_is_no_stall(climb, errors, is_raised):
    def falling(c_per_h):
        return climb((0, 730.0), (20, 730.0 - c_per_h / 3), ripple_k=0.05)

    error_c_per_h = falling(60.0).error_c_per_h(falling(60.0).line(300.0))
    assert (not_climbing(falling(30.0 + errors * error_c_per_h)) is not None) is is_raised


@pytest.mark.parametrize(("errors", "is_raised"), [(1.7, True), (2.3, False)])
def test_a_cool_climb_has_turned_by_15_degrees_an_hour_beyond_two_standard_errors(climb, errors, is_raised):
    def tent(c_per_h):
        return climb((0, 440.0), (10, 450.0), (12.5, 450.0 - c_per_h / 24), part=FIRST, ripple_k=0.05)

    error_c_per_h = tent(60.0).error_c_per_h(tent(60.0).line(150.0))
    assert (not_climbing(tent(15.0 + errors * error_c_per_h)) is not None) is is_raised


def test_a_cool_climb_that_has_just_turned_is_no_stall(climb):
    # Up and down at 120 °C/h, 2½ min each: over five minutes it has no slope.
    def tent(top_c):
        return climb((0, top_c - 20), (10, top_c), (12.5, top_c - 5), part=FIRST)
    assert not_climbing(tent(450.0)) is None
    assert not_climbing(tent(580.0)) is not None


@pytest.mark.parametrize(("at_c", "is_raised"), [(779.0, False), (771.0, True)])
def test_a_kiln_that_stands_in_its_hold_off_target_has_climbed(climb, at_c, is_raised):
    assert (still(climb, at_c) is not None) is is_raised
    assert still(climb, at_c, offset_elsewhere_k=None) is not None  # nothing is known of how the probe differs


@pytest.mark.parametrize(("at_c", "peak_c", "is_raised"), [
    (ANNEAL_C, 810.0, False),
    (ANNEAL_C + 7, 810.0, False),
    (ANNEAL_C + 9, 810.0, True),
    (ANNEAL_C - 9, 810.0, True),
    (ANNEAL_C, 806.0, True),  # no hotter than the climb goes, as closely as that can be told
])
def test_a_kiln_brought_back_to_its_anneal_is_where_it_should_be(climb, at_c, peak_c, is_raised):
    assert (still(climb, at_c, peak_c=peak_c) is not None) is is_raised


def test_how_near_the_anneal_or_the_target_is_is_told_in_the_terms_of_the_plan(climb):
    assert still(climb, ANNEAL_C + 12, peak_c=822.0, offset_k=12.0) is None
    assert fading(climb, 60.0, from_c=746.0, offset_k=12.0) is not None  # at 786 °C: 26 K from its target
    assert fading(climb, 60.0, from_c=724.0, offset_k=-12.0) is None


def test_without_an_anneal_there_is_none_to_be_brought_back_to(climb):
    assert still(climb, ANNEAL_C, peak_c=810.0, anneal=None) is not None


def test_a_top_that_was_never_reached_is_still_climbed_to(climb):
    found = still(climb, 700.0, part=FALL, first_c=20.0, peak_c=700.0)
    assert (found.step, found.facts.to_c) == (3, 800.0)
    assert still(climb, 700.0, part=FALL, first_c=20.0, peak_c=765.0) is None


def test_the_climb_before_and_a_fall_before_do_not_count_as_flat(climb):
    # 2 K and twice the noise, at most 1.2 K, below: at 250 °C/h another 29 to 47 s.
    found = not_climbing(climb((0, 670.0), (12, 720.0), (22, 720.0)))
    assert 600 + 25 <= found.facts.flat_s <= 600 + 50
    fell = not_climbing(climb((0, 760.0), (12, 760.0), (14, 720.0), (30, 720.0)))
    # From 12 K and twice the noise above: at 20 K a minute 36 to 40 s before it stood.
    assert 16 * 60 + 30 <= fell.facts.flat_s <= 16 * 60 + 45
    assert fell.rank is Rank.LOOK


def test_a_gap_is_no_time_in_which_it_stood(climb, leg_of, view_of):
    readings = [*leg_of(640.0, 650.0, 5.0), *leg_of(720.0, 720.0, 15.0, from_s=3000.0)]
    found = not_climbing(view_of(readings, found=[(TO_TOP, 0.0)], resumed_s=3000.0))
    assert found.facts.flat_s == 900.0


def test_a_noisy_reading_that_was_lower_than_its_noise_was_on_its_way_up(climb):
    # 3 K and 1 K of ripple below: more than 2 K and twice the noise.
    view = climb((0, 717.0), (10, 717.0), (10.5, 720.0), (25, 720.0), ripple_k=1.0)
    view.temp_c = 720.0
    assert 0.4 < view.trail.noise_k < 0.9
    assert 14.4 * 60 < not_climbing(view).facts.flat_s < 16.0 * 60


def test_a_noisy_reading_that_was_a_little_higher_has_not_fallen(climb):
    # 11 K and 1 K of ripple above: less than 12 K and twice the noise.
    view = climb((0, 731.0), (10, 731.0), (11, 720.0), (25, 720.0), ripple_k=1.0)
    view.temp_c = 720.0
    assert view.trail.noise_k > 0.5
    assert not_climbing(view).facts.flat_s == 25 * 60 - SETTLES_S


def fading(climb, rate, minutes=40.0, from_c=672.0, **fields):
    return not_climbing(climb((0, from_c), (minutes, from_c + rate * minutes / 60), **fields))


def test_a_climb_that_fades_says_how_fast_it_is(climb):
    found = fading(climb, 60.0)
    assert (found.rank, found.step) == (Rank.LOOK, 3)
    assert found.facts.flat_s is None
    assert found.facts.rate_c_per_h == pytest.approx(60.0, abs=2.0)
    assert found.facts.planned_c_per_h == 250.0
    assert found.since_s == pytest.approx(10 * 60, abs=5.0)


@pytest.mark.parametrize(("rate", "minutes", "from_c"), [
    (105.0, 40.0, 672.0),  # 0.4 of 250 °C/h is 100
    (60.0, 30.0, 672.0),  # 27 min of it count, and 28 are asked
    (60.0, 40.0, 736.0),  # 776 °C: 25 K from its target it slows by itself
])
def test_a_climb_does_not_fade(climb, rate, minutes, from_c):
    assert fading(climb, rate, minutes, from_c) is None


@pytest.mark.parametrize(("rate", "minutes", "from_c"), [
    (93.0, 40.0, 672.0), (60.0, 32.0, 672.0), (60.0, 40.0, 734.0),
])
def test_a_climb_just_fades(climb, rate, minutes, from_c):
    assert fading(climb, rate, minutes, from_c) is not None


@pytest.mark.parametrize(("rate", "minutes", "from_c", "rank"), [
    # From 670 °C at 250 °C/h: after 42 min at 60 °C/h it is at 712 °C, 32 min late; 88 K are 88 min away, not 21.
    (60.0, 42.0, 670.0, Rank.WAKE),
    (60.0, 39.0, 670.0, Rank.LOOK),  # 29.6 min late
    (80.0, 48.0, 671.0, Rank.LOOK),  # at 735 °C, 32 min late; 65 K are 49 min away, not 16
    (90.0, 60.0, 660.0, Rank.LOOK),  # at 750 °C: through its last 60 K a weak kiln creeps
])
def test_a_climb_that_fades_wakes_once_the_wait_costs(climb, rate, minutes, from_c, rank):
    assert fading(climb, rate, minutes, from_c).rank is rank


@pytest.mark.parametrize(("begins_min", "until_min", "rank"), [
    (-30.0, 0.0, Rank.WAKE),  # the whole hold, then 42 min that came to 32 late
    (-20.0, 0.0, Rank.LOOK),  # its controller is in the hold for ten of them
    (None, None, Rank.LOOK),  # no hold was seen: the controller may have counted it from here
])
def test_a_climb_is_late_from_when_the_hold_before_it_is_due_to_end(climb, begins_min, until_min, rank):
    hold = [] if begins_min is None else [(2, begins_min * 60, until_min * 60)]
    found = [(1, -7200.0, -1800.0), *hold, (TO_TOP, 0.0)]
    assert fading(climb, 60.0, 42.0, 670.0, found=found).rank is rank


def test_a_trace_that_begins_in_the_climb_says_nothing_of_the_hold_before(climb):
    assert fading(climb, 60.0, 42.0, 670.0, found=[(TO_TOP, 0.0)]).rank is Rank.WAKE


@pytest.mark.parametrize(("last_c", "rank"), [(725.0, Rank.WAKE), (735.0, Rank.LOOK)])
def test_a_climb_that_has_got_under_way_comes_by_its_latest_pace(climb, last_c, rank):
    # After 40 min at 5 °C/h ten more: it is 35 min late with 65 to 75 K to go, which asks for 55 to 63 °C/h.
    assert not_climbing(climb((0, 717.0), (40, 720.0), (50, last_c))).rank is rank


@pytest.mark.parametrize(("corners", "rank"), [
    ([(40, 672.0), (50, 678.7)], Rank.LOOK),  # 46 min late, 121 K to go, by 40 °C/h; before by 2: it gathers pace
    ([(40, 672.0), (50, 678.7), (70, 692.0)], Rank.WAKE),  # and no more since then
    ([(40, 691.0), (50, 698.0)], Rank.WAKE),  # by 42 °C/h, and 30 before: it gathers too little
])
def test_a_climb_that_gathers_pace_below_the_haze_range_comes_by_the_pace_it_will_have(climb, corners, rank):
    assert not_climbing(climb((0, 671.0), *corners)).rank is rank


def test_a_climb_that_makes_up_for_its_lateness_comes_by_more_than_the_planned_pace(climb):
    """95 min late, 120 K to go: the planned 250 °C/h are too slow for that, 320 over ten minutes are not."""
    view = climb((0, 627.0), (87.4, 627.0), (97.4, 680.3))
    to_top = view.part
    late_s = late_by_s(view, to_top)
    assert late_s == pytest.approx(95 * 60.0, abs=10.0)
    assert not costs(view, to_top, late_s, 0.0)


def test_where_haze_forms_a_climb_that_gathers_pace_comes_by_the_pace_it_has(climb):
    assert not_climbing(climb((0, 696.0), (40, 697.0), (50, 703.7))).rank is Rank.WAKE
    # In the terms of the plan: by a probe that reads 8 K too low.
    assert not_climbing(climb((0, 688.0), (40, 689.0), (50, 695.7), offset_k=-8.0)).rank is Rank.WAKE


def test_the_upward_half_of_a_controllers_swing_is_no_pace(climb, monkeypatch):
    view = climb((0, 717.0), (40, 720.0), (50, 735.0))
    monkeypatch.setattr(type(view.trail), "swings_k", 8.0)
    assert not_climbing(view).rank is Rank.WAKE


@pytest.mark.parametrize(("minutes", "rank"), [(84.0, Rank.LOOK), (90.0, Rank.WAKE)])
def test_a_long_hold_may_be_stood_in_for_as_long_as_it_is_planned(climb, minutes, rank):
    plan = """title = "Thick"\nunit = "C"\nstep = [{ rate = 70, to = 670, hold_min = 70 },
        { rate = 174, to = 805, hold_min = 20 }, { rate = "free", to = 495, hold_min = 116 }]"""
    assert still(climb, 697.0, minutes, part=2, plan=plan).rank is rank


def test_a_climb_that_is_late_but_nearly_there_is_left_in_peace(climb):
    found = fading(climb, 80.0, 75.0, 670.0)  # at 770 °C, 51 min late: 30 K are 23 min away
    assert found.rank is Rank.LOOK
    assert found.facts.late_s == pytest.approx(51 * 60, abs=30.0)


def test_what_a_climb_is_late_counts_from_600_degrees(climb):
    # 220 °C/h to 620 °C: at 607 °C after an hour from 547 °C; 600 °C were passed 7 min ago.
    plan = 'title = "One"\nunit = "C"\nstep = [{ rate = 220, to = 700 }, { rate = 100, to = 500 }]'
    found = fading(climb, 60.0, 60.0, 547.0, part=0, plan=plan)
    assert found.facts.late_s == pytest.approx(7 * 60 - 7 / 220 * 3600, abs=30.0)
    assert fading(climb, 60.0, 60.0, 537.0, part=0, plan=plan).facts.late_s is None


def test_what_no_kiln_can_give_is_not_asked_of_it(climb):
    plan = 'title = "Brisk"\nunit = "C"\nstep = [{ rate = 600, to = 900 }, { rate = 100, to = 500 }]'
    assert fading(climb, 150.0, part=0, plan=plan) is None
    assert fading(climb, 93.0, part=0, plan=plan) is not None


def test_a_free_climb_fades_never(climb):
    plan = 'title = "Free"\nunit = "C"\nstep = [{ rate = "free", to = 800 }, { rate = 100, to = 500 }]'
    assert fading(climb, 30.0, part=0, plan=plan) is None


def test_a_kiln_that_fell_and_climbs_again_does_not_fade(climb):
    assert not_climbing(climb((0, 760.0), (30, 712.0), (36, 718.0))) is None  # 100 °C/h at last


def test_until_a_hold_has_shown_how_the_probe_reads_the_kilns_own_display_is_asked(climb):
    for known in (False, True):
        facts = fading(climb, 60.0, offset_known=known).facts
        assert facts.may_read_low is not known
        text = KIND.words(Finding(KIND, Rank.WAKE, 0.0, facts, 3), example_firing.speaker())
        assert ("near its own target, or climbing? Lehrling's sensor reads low" in text.do) is not known


@pytest.mark.parametrize("late_s", [None, 1900.0])
def test_a_kiln_whose_display_stands_far_above_its_target_is_not_left_to_go_on(late_s):
    facts = NotClimbing(612.0, 800.0, 1.0, 250.0, 1900.0, late_s, may_read_low=True)
    text = KIND.words(Finding(KIND, Rank.WAKE, 0.0, facts, 3), example_firing.speaker())
    assert "Far above its target? Switch off at the isolator." in text.do
    assert text.do.lower().count("let it go on") == 1
    assert len(text.do) < 620


def test_a_kiln_that_falls_where_it_should_climb_is_not_told_to_have_stopped():
    facts = NotClimbing(644.0, 800.0, -20.0, 250.0, 900.0, 900.0)
    text = KIND.words(Finding(KIND, Rank.WAKE, 0.0, facts, 3), example_firing.speaker())
    assert text.what.startswith("Kiln falls slowly, 644 °C. It should climb. The plan goes on to 800 °C.")
    assert text.head.startswith("The kiln falls slowly.")
