"""Too hot, about to be, or climbing as the plan never does, on readings and views made by hand.

The top of the plan of conftest is 800 °C: the limit is 815 °C, and 825 °C where the probe is not known.
"""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.detection.over_limit import KNOWN_MARGIN_K, UNKNOWN_FOR_S, UNKNOWN_MARGIN_K
from daemon.firing.events import Rank, Sample
from daemon.firing.kind import Finding, Reading
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.offset import Offset
from daemon.firing.watches.over_temperature import KIND, OverTemperatureWatch, over_temperature_ahead, runaway
from daemon.firing.watches.too_hot import Runaway, TooHot

SQUEEZE, TO_TOP, FALL, ANNEAL = 2, 3, 5, 6


def first_told(watch: OverTemperatureWatch, temps: list[float], offset_k: float = 0.0, *, known: bool) -> int | None:
    """Return at which second the watch first speaks, given a reading every 5 s; None if it never does."""
    for number, temp_c in enumerate(temps):
        if watch.above(5.0 * number, temp_c, offset_k, offset_known=known):
            return 5 * number
    return None


def test_above_the_margin_it_speaks_within_a_minute_where_the_probe_is_known():
    hot = [800.0 + KNOWN_MARGIN_K + 1.0] * 40
    assert first_told(OverTemperatureWatch(800.0), hot, known=True) <= 60
    assert KNOWN_MARGIN_K == 15.0


def test_where_the_probe_is_not_known_it_takes_ten_degrees_and_two_minutes_more():
    assert (UNKNOWN_MARGIN_K, UNKNOWN_FOR_S) == (25.0, 120.0)
    assert first_told(OverTemperatureWatch(800.0), [824.0] * 200, known=False) is None
    assert first_told(OverTemperatureWatch(800.0), [826.0] * 200, known=False) == 120


def test_the_margin_is_taken_after_the_usual_difference():
    assert first_told(OverTemperatureWatch(800.0), [826.0] * 100, 12.0, known=True) is None
    assert first_told(OverTemperatureWatch(800.0), [828.0] * 100, 12.0, known=True) is not None
    assert first_told(OverTemperatureWatch(800.0), [806.0] * 100, -12.0, known=True) is not None


def test_one_spike_over_the_margin_is_nothing():
    temps = [800.0] * 10 + [1300.0] + [800.0] * 10
    assert first_told(OverTemperatureWatch(800.0), temps, known=True) is None
    assert first_told(OverTemperatureWatch(800.0), temps, known=False) is None


def test_a_reading_that_jumps_over_the_margin_is_not_believed_for_two_minutes():
    watch, climb = OverTemperatureWatch(800.0), [808.0, 809.0]
    assert first_told(watch, [*climb, *[836.0] * 40], known=True) == 10 + UNKNOWN_FOR_S
    assert first_told(OverTemperatureWatch(800.0), [*climb, *[818.5] * 40], known=True) == 30  # no 10 K
    by_the_minute = OverTemperatureWatch(800.0)  # 36 K in a minute, 2160 °C/h: it may have climbed
    assert [by_the_minute.above(60.0 * n, temp_c, 0.0, offset_known=True) is not None
            for n, temp_c in enumerate((800.0, 836.0, 836.0))] == [False, False, True]


def hold_above(view_of, leg_of, level_c, *, c_per_h=0.0, part=4, minutes=10.0, **fields):
    """Return what the watch tells of a kiln that has stood at ``level_c`` in a part, asked at the end of it."""
    watch, readings = OverTemperatureWatch(800.0), leg_of(level_c - c_per_h * minutes / 60, level_c, minutes)
    view = view_of(readings, found=[(part, 0.0)], **{"offset_known": False, **fields})
    offset = Offset((), {(0.0, 2000.0): 0.0} if view.offset_known else {}, is_owner_sure=view.offset_known)
    told = None
    for t_s, temp_c in [*readings, *((readings[-1][0] + 5.0 * n, level_c) for n in range(1, 30))]:
        is_beat = t_s == readings[-1][0]
        told = watch.see(reading_at(t_s, temp_c, offset, view if is_beat else None))
    return told


def reading_at(t_s, temp_c, offset, view):
    return Reading(Sample(t_s, temp_c), Trail(), offset, False)._replace(view=view)


@pytest.mark.parametrize(("level_c", "fields", "rank"), [
    (827.0, {}, Rank.LOOK),  # it may be as hot as planned, by a probe that no hold has shown
    (827.0, {"offset_known": True}, Rank.WAKE),
    (839.0, {}, Rank.LOOK), (841.0, {}, Rank.WAKE),  # no probe is so far off
    (827.0, {"part": TO_TOP}, Rank.WAKE),  # it is to climb there, and not to hold
    (827.0, {"c_per_h": 45.0}, Rank.WAKE), (827.0, {"c_per_h": 20.0}, Rank.LOOK),
    (827.0, {"minutes": 3.0}, Rank.WAKE),
])
def test_a_kiln_that_stands_in_its_hold_above_its_top_may_be_read_too_hot(view_of, leg_of, level_c, fields, rank):
    found = hold_above(view_of, leg_of, level_c, **fields)
    assert found.rank is rank
    assert found.facts.may_be_probe is (rank is Rank.LOOK)


def test_where_only_the_probe_may_be_too_hot_nobody_is_sent_to_the_isolator_at_once():
    facts = TooHot(827.0, 27.0, 800.0, may_be_probe=True)
    text = KIND.words(Finding(KIND, Rank.LOOK, 0.0, facts, 3), example_firing.speaker())
    assert text.what == ("Sensor reads 827 °C, 27 °C above the top of 800 °C. "
                         "The kiln is in its hold and hardly climbs.")
    assert text.acts[0].startswith("In the morning, ")  # it is a look: nobody is up
    assert text.acts[1].startswith("Tonight, if you are up: ")
    assert text.time_left_s is None


def test_it_says_how_far_above():
    watch = OverTemperatureWatch(800.0)
    found = [watch.above(5.0 * n, 840.0, 0.0, offset_known=True) for n in range(20)][-1]
    assert (found.kind, found.rank, found.since_s) == (KIND, Rank.WAKE, 0.0)
    assert found.facts == TooHot(840.0, 40.0, 800.0)
    assert found.severity_c == 840.0


@pytest.fixture
def rising(view_of, leg_of):
    """Return a function: the view at the end of a climb at ``rate`` [°C/h] to ``to_c``, in ``part`` throughout."""
    def view(rate, to_c, *, part=TO_TOP, minutes=10.0, ripple_k=0.3, **fields):
        readings = leg_of(to_c - rate * minutes / 60, to_c, minutes, ripple_k=ripple_k)
        return view_of(readings, **{"found": [(part, 0.0)], **fields})
    return view


@pytest.mark.parametrize(("rate", "to_c", "is_raised"), [
    (300.0, 812.5, False),  # 20 s further, 1.7 K: 814.2 °C, below the 815 that are too hot
    (300.0, 814.0, True), (300.0, 814.5, True),
    (900.0, 808.0, False),  # 819 °C, but a brisk kiln stops as late as 810 °C
    (900.0, 812.0, True),
])
def test_a_climb_is_drawn_on_for_20_seconds(rising, rate, to_c, is_raised):
    found = over_temperature_ahead(rising(rate, to_c))
    assert (found is not None) is is_raised
    if found:
        assert (found.kind, found.rank, found.since_s) == (KIND, Rank.WAKE, 600.0)
        assert found.facts.temp_c == found.severity_c == pytest.approx(to_c, abs=0.5)
        assert found.facts.over_k == pytest.approx(to_c - 800.0, abs=0.5)
        assert found.facts.highest_c == 800.0
        assert found.facts.rate_c_per_h == pytest.approx(rate, abs=10.0)


def test_a_climb_goes_through_a_hold_at_half_the_rate_of_its_own_ramp(rising):
    # To the squeeze 50 °C/h are planned, whatever the climb before; 690 °C is 20 K above it.
    quiet = {"part": SQUEEZE, "minutes": 40.0, "ripple_k": 0.02, "wander_k": 0.02}
    assert over_temperature_ahead(rising(60.0, 690.0, **quiet)).facts.hold_c == 670.0


def test_the_forecast_takes_the_usual_difference_off(rising):
    assert over_temperature_ahead(rising(300.0, 813.5, offset_k=10.0)) is None
    found = over_temperature_ahead(rising(300.0, 823.5, offset_k=10.0))
    assert found.facts.temp_c == found.severity_c == pytest.approx(823.5, abs=0.5)  # as the probe reads
    assert found.facts.over_k == pytest.approx(13.5, abs=0.5)
    assert over_temperature_ahead(rising(300.0, 813.5, offset_known=False)) is None
    assert over_temperature_ahead(rising(300.0, 823.5, offset_known=False)) is not None


@pytest.mark.parametrize(("minutes", "is_raised"), [(1.6, False), (2.0, True)])
def test_a_hundred_seconds_must_be_seen(rising, minutes, is_raised):
    # The trail's last reading is five seconds old: a median of three needs the next one.
    assert (over_temperature_ahead(rising(600.0, 814.0, minutes=minutes, wander_k=0.0)) is not None) is is_raised


def test_no_forecast_reaches_across_a_gap(rising):
    assert over_temperature_ahead(rising(300.0, 813.5, resumed_s=530.0)) is None
    assert over_temperature_ahead(rising(300.0, 813.5, resumed_s=470.0)) is not None


@pytest.mark.parametrize(("rate", "is_raised"), [(28.0, False), (34.0, True)])
def test_a_creep_below_thirty_degrees_an_hour_is_no_forecast(rising, rate, is_raised):
    view = rising(rate, 814.9, minutes=60.0, ripple_k=0.02, wander_k=0.0)
    assert (over_temperature_ahead(view) is not None) is is_raised


@pytest.mark.parametrize(("wander_k", "is_raised"), [(0.3, True), (0.7, True), (2.0, False)])
def test_a_slope_within_four_of_its_errors_is_no_forecast(rising, wander_k, is_raised):
    # Over 150 s the error is about √12 · w / 150 s: 83 °C/h a kelvin. Four times that is 100, 230 or 665 °C/h.
    assert (over_temperature_ahead(rising(300.0, 813.5, wander_k=wander_k)) is not None) is is_raised


def test_a_step_is_no_climb(view_of, leg_of):
    # 30 K within 20 s: the line through it climbs by hundreds of degrees an hour.
    stepped = leg_of(782.0, 782.0, 9.0) + leg_of(813.0, 813.0, 1.0, from_s=9 * 60 + 5.0)
    assert over_temperature_ahead(view_of(stepped, found=[(TO_TOP, 0.0)], peak_c=782.0)) is None


def test_a_climb_that_slackens_is_stopping(view_of, leg_of):
    def then(rate, **fields):
        readings = [*leg_of(783.0, 813.0, 3.75, from_s=450.0)[:-1],
                    *leg_of(813.0, 813.0 + rate / 48, 1.25, from_s=675.0)]
        return over_temperature_ahead(view_of(readings, found=[(TO_TOP, 0.0)], wander_k=0.05, **fields))
    assert then(60.0) is None
    assert then(360.0) is not None  # slower by a quarter; by half it would be stopping
    assert then(480.0) is not None


@pytest.mark.parametrize(("stood_c", "low_c", "is_raised"), [
    (805.0, 770.0, False),  # 813.5 °C is less than 15 K above where it stood
    (797.0, 770.0, True),
    (805.0, 795.0, True),  # no dip of 12 K
])
def test_a_kiln_that_comes_back_to_where_it_was_before_a_look_inside_is_no_forecast(
        view_of, leg_of, stood_c, low_c, is_raised):
    readings = [*leg_of(stood_c, stood_c, 4.0)[:-1], *leg_of(stood_c, low_c, 1.0, from_s=240.0)[:-1],
                *leg_of(low_c, 813.5, 4.0, from_s=300.0)]
    assert (over_temperature_ahead(view_of(readings, found=[(TO_TOP, 0.0)])) is not None) is is_raised


def test_a_look_inside_ten_minutes_ago_is_forgotten(view_of, leg_of):
    readings = [*leg_of(805.0, 805.0, 4.0)[:-1], *leg_of(805.0, 770.0, 1.0, from_s=240.0)[:-1],
                *leg_of(770.0, 790.0, 8.0, from_s=300.0)[:-1], *leg_of(790.0, 813.5, 4.0, from_s=780.0)]
    assert over_temperature_ahead(view_of(readings, found=[(TO_TOP, 0.0)])) is not None


def test_a_climb_through_a_hold_is_a_look_that_names_the_hold(rising):
    found = over_temperature_ahead(rising(220.0, 690.0, part=SQUEEZE))
    assert (found.kind, found.rank, found.since_s, found.step) == (KIND, Rank.LOOK, 600.0, 2)
    assert found.facts.hold_c == 670.0
    assert found.facts.temp_c == found.severity_c == pytest.approx(690.0, abs=0.5)
    assert found.facts.rate_c_per_h == pytest.approx(220.0, abs=10.0)


@pytest.mark.parametrize(("to_c", "fields", "is_raised"), [
    (684.0, {}, False),
    (686.5, {}, True),
    (692.0, {"offset_known": False}, False),
    (697.0, {"offset_known": False}, True),
    (692.0, {"offset_k": 10.0}, False),
])
def test_a_hold_is_passed_by_the_margin(rising, to_c, fields, is_raised):
    assert (over_temperature_ahead(rising(220.0, to_c, part=SQUEEZE, **fields)) is not None) is is_raised


ONE_HOLD = """title = "Drawn"
unit = "C"
step = [{{ rate = {rate}, to = 670, hold_min = {hold} }}, {{ rate = 250, to = 800, hold_min = 10 }},
        {{ rate = 80, to = 516, hold_min = 60 }}, {{ rate = 80, to = 400 }}]"""
"""Parts: 0 climbs to 670 °C, 1 holds, 2 climbs, 3 is the top."""


@pytest.mark.parametrize(("asked", "rate", "is_raised"), [
    (400, 190.0, False), (400, 215.0, True),  # more than half of it
    ('"free"', 55.0, False), ('"free"', 70.0, True),  # 60 °C/h
])
def test_it_goes_on_where_it_climbs_as_it_climbed_to_the_hold(rising, asked, rate, is_raised):
    view = rising(rate, 690.0, part=1, plan=ONE_HOLD.format(rate=asked, hold=30), minutes=30.0, ripple_k=0.02,
                  wander_k=0.0)
    assert (over_temperature_ahead(view) is not None) is is_raised


@pytest.mark.parametrize(("hold", "part", "hold_c"), [(4, 1, 670.0), (4, 0, None), (30, 0, 670.0)])
def test_a_short_hold_counts_only_while_the_kiln_should_be_in_it(rising, hold, part, hold_c):
    found = over_temperature_ahead(rising(220.0, 690.0, part=part, plan=ONE_HOLD.format(rate=220, hold=hold)))
    assert (None if found is None else found.facts.hold_c) == hold_c


def test_behind_a_short_hold_the_next_one_counts(rising):
    plan = ('title = "Two holds"\nunit = "C"\nstep = [{ rate = 220, to = 600, hold_min = 4 }, '
            '{ rate = 220, to = 660, hold_min = 30 }, { rate = 250, to = 800, hold_min = 10 }, '
            '{ rate = 80, to = 516, hold_min = 60 }]')
    assert over_temperature_ahead(rising(220.0, 690.0, part=0, plan=plan)).facts.hold_c == 660.0


@pytest.mark.parametrize(("offset_k", "is_raised"), [(-10.0, False), (10.0, True)])
def test_how_far_a_hold_was_passed_is_told_in_the_terms_of_the_plan(view_of, leg_of, offset_k, is_raised):
    view = view_of(leg_of(691.0, 731.0, 10.0), plan=ONE_HOLD.format(rate=220, hold=15), offset_k=offset_k,
                   found=[(0, -3600.0, 0.0), (2, 0.0)])
    assert (over_temperature_ahead(view) is not None) is is_raised  # 741 and 721 °C of the plan: 730 is the limit


@pytest.mark.parametrize(("hold", "before", "to_c", "is_raised"), [
    (15, (0,), 690.0, True),
    (14, (0,), 690.0, False),  # it may have been held between two looks of the follower
    (15, (0, 1), 690.0, False),  # it was held
    (15, (), 690.0, False),  # joined in the climb after it
    (15, (0,), 728.0, True),
    (15, (0,), 732.0, False),  # no longer just passed
])
def test_a_long_hold_just_left_behind_unheld_was_passed(view_of, leg_of, hold, before, to_c, is_raised):
    readings = leg_of(to_c - 40.0, to_c, 10.0)
    found = [*((index, -3600.0, 0.0) for index in before), (2, 0.0)]
    view = view_of(readings, plan=ONE_HOLD.format(rate=220, hold=hold), found=found)
    assert (over_temperature_ahead(view) is not None) is is_raised


@pytest.mark.parametrize(("hold", "is_raised"), [(4, False), (5, True)])
def test_a_climb_too_fast_is_found_a_step_behind_and_the_hold_ahead_counts(rising, hold, is_raised):
    view = rising(220.0, 690.0, part=0, plan=ONE_HOLD.format(rate=220, hold=hold))
    assert (over_temperature_ahead(view) is not None) is is_raised


def test_beyond_a_fall_no_hold_is_passed_and_before_the_plan_none(rising):
    assert over_temperature_ahead(rising(220.0, 600.0, part=FALL)) is None  # the anneal at 516 °C lies ahead of it
    assert over_temperature_ahead(rising(220.0, 600.0, part=ANNEAL)).facts.hold_c == 516.0
    assert over_temperature_ahead(rising(220.0, 600.0, found=[])) is None
    assert over_temperature_ahead(rising(220.0, 600.0, part=8)) is None  # the last cooling


@pytest.fixture
def running_away(view_of, leg_of):
    """Return a function: a view after a climb at 720 °C/h from the anneal, then minutes at ``then`` °C/h."""
    def view(minutes, then=0.0, then_min=0.0):
        readings = leg_of(516.0, 516.0, 20.0)[:-1]
        top_c, end_s = 516.0 + 12 * minutes, 1200.0 + 60 * minutes
        readings += leg_of(516.0, top_c, minutes, from_s=1200.0)
        if then_min:
            readings = readings[:-1] + leg_of(top_c, top_c + then * then_min / 60, then_min, from_s=end_s)
        return view_of(readings, found=[(FALL, -3600.0, 0.0), (ANNEAL, 0.0)], resumed_s=1200.0)
    return view


def test_a_climb_in_the_anneal_faster_than_any_of_the_plan_wakes(running_away):
    found = runaway(running_away(6.0))
    assert (found.kind, found.rank) == (KIND, Rank.WAKE)
    assert found.facts.rate_c_per_h == pytest.approx(720.0, abs=15.0)
    assert found.facts.fastest_c_per_h == 250.0
    assert found.facts.temp_c == found.severity_c == pytest.approx(588.0, abs=0.3)
    assert 1200.0 <= found.since_s <= 1560.0
    assert runaway(running_away(0.5)) is None


def seen(watch, reading_of, view):
    return watch.see(reading_of(view.t_s, view.temp_c, view=view))


def later(rising, seconds, to_c=823.5, **fields):
    """Return the view so long after ten minutes of a climb at 300 °C/h, which were over at ``to_c``."""
    return rising(300.0, to_c + seconds / 12, minutes=10.0 + seconds / 60, **fields)


@pytest.mark.parametrize(("known", "told"), [(True, [True] * 4), (False, [False, False, False, True])])
def test_where_the_probe_is_not_known_a_forecast_must_stand_for_a_minute(rising, reading_of, known, told):
    watch = OverTemperatureWatch(800.0)
    views = [later(rising, seconds, 823.5 if not known else 813.5, offset_known=known) for seconds in (0, 20, 40, 60)]
    assert [seen(watch, reading_of, view) is not None for view in views] == told


def test_a_forecast_of_a_doubtful_probe_that_fades_begins_its_minute_anew(rising, reading_of):
    watch = OverTemperatureWatch(800.0)
    for seconds, to_c in ((0, 823.5), (20, 803.5), (40, 823.5), (80, 823.5)):
        assert seen(watch, reading_of, later(rising, seconds, to_c, offset_known=False)) is None


def test_a_runaway_stands_until_the_kiln_falls(running_away, reading_of):
    watch = OverTemperatureWatch(1000.0)
    assert seen(watch, reading_of, running_away(6.0)).rank is Rank.WAKE
    still = seen(watch, reading_of, running_away(6.0, 0.0, 15.0))
    assert (still.rank, still.severity_c) == (Rank.WAKE, still.facts.temp_c)
    assert still.facts.rate_c_per_h == pytest.approx(0.0, abs=5.0)
    assert still.facts.temp_c == pytest.approx(588.0, abs=0.3)
    assert seen(watch, reading_of, running_away(6.0, -100.0, 15.0)) is None
    # Without the memory a kiln that stands is none.
    assert seen(OverTemperatureWatch(1000.0), reading_of, running_away(6.0, 0.0, 15.0)) is None


def test_a_hold_passed_at_the_planned_rate_is_a_look_and_after_a_climb_far_too_fast_a_wake(rising, reading_of):
    """A mistyped rate alone stops at the hold; a hold left out alone is passed as planned. Both may be a weld.

    To the squeeze at 670 °C are planned 220 °C/h up to 620 °C; the climb before was at 700.
    """
    passing = rising(220.0, 690.0, part=SQUEEZE)
    alone = seen(OverTemperatureWatch(800.0), reading_of, passing)
    assert (alone.rank, alone.facts.fastest_c_per_h) == (Rank.LOOK, None)
    watch = OverTemperatureWatch(800.0)
    assert seen(watch, reading_of, rising(700.0, 500.0, part=0, minutes=30.0)) is None
    found = seen(watch, reading_of, passing)
    assert (found.rank, found.facts.hold_c, found.facts.planned_c_per_h) == (Rank.WAKE, 670.0, 220.0)
    assert found.facts.fastest_c_per_h == pytest.approx(700.0, abs=10.0)


def test_that_wake_stands_while_the_kiln_climbs_on_and_ends_once_it_stops(rising, reading_of):
    watch = OverTemperatureWatch(800.0)
    seen(watch, reading_of, rising(700.0, 500.0, part=0, minutes=30.0))
    first = seen(watch, reading_of, rising(220.0, 690.0, part=SQUEEZE))
    on = seen(watch, reading_of, rising(100.0, 760.0, part=TO_TOP, minutes=40.0))
    assert (on.rank, on.since_s, on.facts.hold_c) == (Rank.WAKE, first.since_s, 670.0)
    assert on.facts.temp_c == on.severity_c == pytest.approx(760.0, abs=0.5)
    assert on.facts.rate_c_per_h == pytest.approx(100.0, abs=10.0)
    assert seen(watch, reading_of, rising(5.0, 780.0, part=TO_TOP, minutes=60.0)) is None
    assert seen(watch, reading_of, rising(100.0, 780.0, part=TO_TOP, minutes=60.0)) is None


def test_a_runaway_stands_while_no_slope_tells_otherwise(running_away, reading_of):
    watch = OverTemperatureWatch(1000.0)
    first = seen(watch, reading_of, running_away(6.0))
    after_a_gap = running_away(6.0, 0.0, 15.0)
    after_a_gap.resumed_s = after_a_gap.t_s
    assert seen(watch, reading_of, after_a_gap) == first


def test_a_runaway_ends_where_the_kiln_holds_as_planned(view_of, leg_of, reading_of):
    """A program is behind that; a contact that has welded stops at no hold."""
    readings = leg_of(450.0, 450.0, 20.0)[:-1] + leg_of(450.0, 516.0, 5.5, from_s=1200.0)
    found = [(FALL, -3600.0, 0.0), (ANNEAL, 0.0)]
    watch = OverTemperatureWatch(1000.0)
    assert seen(watch, reading_of, view_of(readings, found=found, resumed_s=1200.0)).facts.rate_c_per_h > 600.0
    held = readings[:-1] + leg_of(516.0, 516.0, 10.0, from_s=1530.0)
    assert seen(watch, reading_of, view_of(held, found=[*found[:1], (ANNEAL, 1530.0)], resumed_s=1200.0)) is None


def test_a_runaway_that_climbs_no_more_does_not_say_that_it_climbs():
    says = {rate: KIND.words(Finding(KIND, Rank.WAKE, 0.0, Runaway(790.0, rate, 250.0)), example_firing.speaker())
            for rate in (0.0, 300.0)}
    assert "climbing" in says[300.0].what
    assert "not cooling" in says[0.0].what
    assert "climb" not in says[0.0].what + says[0.0].head


def test_the_runaway_is_louder_than_the_hold_it_climbs_through(running_away, reading_of):
    view = running_away(6.0)
    assert over_temperature_ahead(view).rank is Rank.LOOK
    assert seen(OverTemperatureWatch(800.0), reading_of, view).rank is Rank.WAKE


def test_a_lid_that_opens_takes_the_forecast_back_at_once(rising, reading_of):
    view = rising(300.0, 813.5)
    watch = OverTemperatureWatch(800.0)
    assert watch.see(reading_of(600.0, 803.0, view=view)) is not None
    assert watch.see(reading_of(600.0, 800.0, view=view)) is None
    assert watch.see(reading_of(600.0, None, view=view)) is None
    assert watch.see(reading_of(605.0, 813.5)) is None  # a forecast is made on beats


def test_what_is_too_hot_already_comes_before_a_forecast(rising, reading_of):
    watch, view = OverTemperatureWatch(800.0), rising(300.0, 820.0)
    shown = Offset((), {(700.0, 900.0): 0.0}, is_owner_sure=True)  # by earlier firings: the limit is 815 °C
    watch.see(reading_of(575.0, 816.0, offset=shown))
    found = watch.see(reading_of(600.0, 820.0, view=view, offset=shown))
    assert found.facts == TooHot(820.0, 20.0, 800.0)


@pytest.mark.parametrize(("temps", "known", "told_s"), [
    ([816.0] * 40, True, 20), ([815.0] * 40, True, None), ([826.0] * 40, False, 120), ([825.0] * 40, False, None),
    ([816.0, 816.0, 816.0, 816.0, 814.0, *[816.0] * 6], True, 45),  # it begins anew
])
def test_it_must_be_above_the_limit_without_a_break(temps, known, told_s):
    assert first_told(OverTemperatureWatch(800.0), temps, known=known) == told_s
