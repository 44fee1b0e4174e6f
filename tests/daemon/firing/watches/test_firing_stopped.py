"""A kiln that falls freely before its plan is done, on views made by hand.

What was left undone is told by daemon.firing.detection.left_undone, which has tests of its own. Parts of the plan of
conftest: 0 climbs to 620 °C, 2 holds 30 min at 670 °C, 3 climbs to 800 °C, 4 is the top of 10 min, 5 falls freely to
516 °C, 6 anneals for 60 min, 7 cools at 80 °C/h.
"""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.watches.firing_stopped import KIND, StoppedWatch, firing_stopped, least_natural_fall

FIRST, SQUEEZE, TO_TOP, TOP, FALL, ANNEAL, COOLING = 0, 2, 3, 4, 5, 6, 7
RATE = 400.0
"""Falls here lose so much [°C/h], where nothing else is said."""


@pytest.fixture
def fallen(view_of, leg_of):
    """Return a function: the view of a kiln that stood for ``stood_min`` in ``part`` and has fallen since."""
    def view(part, from_c, minutes, *, rate=RATE, stood_min=5.0, more=(), ripple_k=0.1, **fields):
        readings = [*leg_of(from_c, from_c, stood_min, ripple_k=ripple_k)[:-1],
                    *leg_of(from_c, from_c - rate * minutes / 60, minutes, from_s=stood_min * 60, ripple_k=ripple_k)]
        found = [(FIRST, -9000.0, -3600.0), (part, 0.0), *more] if part else [(part, 0.0)]
        return view_of(readings, **{"found": found, **fields})
    return view


def test_it_says_where_the_fall_began_how_fast_it_is_and_what_was_not_done(fallen):
    found = firing_stopped(fallen(TOP, 800.0, 6.0))
    assert (found.kind, found.rank, found.step) == (KIND, Rank.WAKE, 3)
    facts = found.facts
    # The mean of the hold, from whose level it fell, counts in what it has fallen since.
    assert facts.from_c == pytest.approx(790.0, abs=10.0)
    assert facts.temp_c == pytest.approx(800.0 - RATE / 10, abs=0.2)
    assert facts.fall_c_per_h == pytest.approx(RATE, abs=10.0)
    assert (facts.anneal_c, facts.is_climb, facts.undone.index) == (516.0, False, TOP)
    assert facts.undone.held_s == pytest.approx(345.0, abs=60.0)
    assert facts.undone.here_c == facts.temp_c
    assert found.since_s == pytest.approx(345.0, abs=60.0)


def test_a_climb_that_broke_off_held_nothing_and_the_offset_is_taken_off(fallen):
    facts = firing_stopped(fallen(TO_TOP, 700.0, 5.0, offset_k=5.0, anneal=None)).facts
    assert (facts.is_climb, facts.undone.held_s, facts.anneal_c) == (True, 0.0, None)
    assert facts.undone.here_c == facts.temp_c - 5.0


@pytest.mark.parametrize(("minutes", "dropped_s", "is_raised"), [
    (8.0, None, True),  # no lid: the power may be gone
    (8.0, 310.0, False),  # opened as the top was left, after 5 of 10 min; by now the plan falls freely itself
    (8.0, -600.0, True),  # that was long before
    (4.0, 310.0, True),  # the top would still be held
])
def test_a_top_that_ended_under_a_lid_has_not_stopped_once_it_falls_as_planned(fallen, minutes, dropped_s, is_raised):
    found = [(FIRST, -9000.0, -3600.0), (TOP, 0.0, 300.0), (FALL, 300.0)]
    view = fallen(TOP, 800.0, minutes, found=found, dropped_s=dropped_s)
    assert (firing_stopped(view) is not None) is is_raised


def test_below_its_anneal_a_lid_explains_nothing(fallen):
    assert firing_stopped(fallen(ANNEAL, 516.0, 6.0, dropped_s=310.0)) is not None


def rank(found):
    return found.rank if found else None


@pytest.mark.parametrize(("part", "from_c", "minutes", "rate", "told"), [
    (TOP, 800.0, 1.4, 800.0, None),
    (TOP, 800.0, 2.2, 800.0, Rank.LOOK),  # from 100 s on
    (TOP, 800.0, 3.5, 800.0, Rank.LOOK),
    (TOP, 800.0, 6.0, 800.0, Rank.WAKE),  # from 240 s on
    (FIRST, 530.0, 6.0, 400.0, Rank.LOOK),  # it was never hot: below 540 °C
    (FIRST, 550.0, 6.0, 400.0, Rank.WAKE),
    (ANNEAL, 516.0, 6.0, 400.0, Rank.WAKE),  # the anneal matters at any temperature
    (FIRST, 430.0, 3.0, 400.0, Rank.LOG),  # cold glass, below the annealing range
])
def test_how_loud_it_is_says_how_long_it_has_lasted_and_what_was_lost(fallen, part, from_c, minutes, rate, told):
    assert rank(firing_stopped(fallen(part, from_c, minutes, rate=rate))) is told


def test_what_is_only_logged_waits_for_nothing(fallen):
    assert rank(firing_stopped(fallen(FIRST, 430.0, 1.5, rate=700.0))) is Rank.LOG
    assert rank(firing_stopped(fallen(FIRST, 530.0, 1.5, rate=700.0))) is None


def test_by_a_logger_of_a_minute_a_wake_takes_six_steps(view_of, leg_of):
    def slow(minutes):
        readings = [*leg_of(700.0, 700.0, 3.0, every_s=60.0)[:-1],
                    *leg_of(700.0, 700.0 - 8 * minutes, minutes, from_s=180.0, every_s=60.0)]
        return rank(firing_stopped(view_of(readings, found=[(TO_TOP, 0.0)])))
    assert slow(5.0) is Rank.LOOK
    assert slow(6.0) is Rank.WAKE


@pytest.mark.parametrize(("temp_c", "fall"), [(800.0, 156.0), (520.0, 100.0), (120.0, 20.0), (60.0, 20.0)])
def test_a_kiln_without_power_falls_as_one_that_cools_in_five_hours(temp_c, fall):
    assert least_natural_fall(temp_c) == fall


@pytest.mark.parametrize(("rate", "is_raised"), [(130.0, False), (200.0, True)])
def test_a_fall_slower_than_that_is_under_power(fallen, rate, is_raised):
    assert (firing_stopped(fallen(TO_TOP, 780.0, 12.0, rate=rate)) is not None) is is_raised  # 148 to 152 °C/h


def test_it_must_still_fall(view_of, leg_of):
    def then(rate):
        readings = [*leg_of(700.0, 700.0, 5.0)[:-1], *leg_of(700.0, 650.0, 5.0, from_s=300.0)[:-1],
                    *leg_of(650.0, 650.0 - rate / 30, 2.0, from_s=600.0)]
        return firing_stopped(view_of(readings, found=[(TO_TOP, 0.0)]))
    assert then(80.0) is None  # less than 0.8 · 126 °C/h, though the last three minutes are faster
    assert then(300.0) is not None


def test_its_rate_is_that_of_the_last_three_minutes_or_of_half_the_fall(view_of, leg_of):
    def fell(*legs):
        readings, here_s, here_c = leg_of(700.0, 700.0, 5.0), 300.0, 700.0
        for rate, minutes in legs:
            to_c = here_c - rate * minutes / 60
            readings = [*readings[:-1], *leg_of(here_c, to_c, minutes, from_s=here_s, ripple_k=0.05)]
            here_s, here_c = here_s + 60 * minutes, to_c
        return firing_stopped(view_of(readings, found=[(TO_TOP, 0.0)], wander_k=0.1))

    assert fell((300.0, 2.0), (500.0, 3.0)).facts.fall_c_per_h == pytest.approx(500.0, abs=5.0)
    assert fell((300.0, 8.0), (200.0, 8.5)).facts.fall_c_per_h == pytest.approx(200.0, abs=5.0)
    assert fell((300.0, 20.0), (200.0, 11.0)).facts.fall_c_per_h == pytest.approx(200.0, abs=5.0)  # ten at most
    assert 205.0 < fell((300.0, 10.0), (200.0, 5.0)).facts.fall_c_per_h < 260.0
    # 20 s of the stand before the fall are in the window; 0.7 minutes of a fall are too little to see.
    assert fell((900.0, 2.0)).facts.fall_c_per_h == pytest.approx(900.0, rel=0.05)
    assert fell((1500.0, 0.5)) is None


def test_a_lid_shut_in_the_last_minute_is_not_told(view_of, leg_of):
    readings = [*leg_of(700.0, 700.0, 5.0)[:-1], *leg_of(700.0, 640.0, 3.0, from_s=300.0)[:-1],
                *leg_of(640.0, 643.0, 0.9, from_s=480.0)]
    assert firing_stopped(view_of(readings, found=[(TO_TOP, 0.0)], wander_k=0.0)) is None


def test_nothing_left_undone_is_nothing_to_tell(fallen):
    assert firing_stopped(fallen(TOP, 800.0, 6.0, stood_min=10.0)) is None
    assert firing_stopped(fallen(TOP, 800.0, 6.0, stood_min=5.0)) is not None


@pytest.mark.parametrize(("minutes", "is_raised"), [(29.0, True), (31.5, False)])
def test_below_the_annealing_range_an_old_fall_is_no_news(fallen, minutes, is_raised):
    assert (firing_stopped(fallen(FIRST, 430.0, minutes, rate=300.0)) is not None) is is_raised


@pytest.mark.parametrize(("lost_k", "is_raised"), [(7.0, False), (15.0, True)])
def test_it_must_have_cost_ten_kelvins(fallen, lost_k, is_raised):
    view = fallen(TO_TOP, 700.0, 3.0, rate=20 * lost_k, wander_k=0.0, ripple_k=0.02)
    assert (firing_stopped(view) is not None) is is_raised


def test_less_than_ten_kelvins_of_a_fast_fall_cost_nothing(fallen):
    # At 550 °C a kiln without power falls by (550 − 20) K / 5 h = 106 °C/h at least.
    quiet = {"wander_k": 0.0, "ripple_k": 0.02}
    assert firing_stopped(fallen(TO_TOP, 560.0, 3.0, rate=160.0, **quiet)) is None  # 8 K
    assert firing_stopped(fallen(TO_TOP, 560.0, 3.0, rate=240.0, **quiet)) is not None  # 12 K


@pytest.mark.parametrize(("minutes", "is_raised"), [(2.8, False), (6.0, True)])
def test_a_fall_no_deeper_than_the_readings_swing_anyway_is_one_more_swing(view_of, leg_of, minutes, is_raised):
    """An on/off controller lets it fall by 20 K at 600 °C/h and heats it again; 10 K more are a fall of its own."""
    readings, from_s = [], 0.0
    for _ in range(8):
        for way in ((700.0, 680.0), (680.0, 700.0)):
            readings += leg_of(*way, 2.0, from_s=from_s)[:-1]
            from_s += 120.0
    readings += leg_of(700.0, 700.0 - 10.0 * minutes, minutes, from_s=from_s)
    found = [(FIRST, -9000.0, -3600.0), (TO_TOP, 0.0)]
    assert (firing_stopped(view_of(readings, found=found)) is not None) is is_raised


@pytest.mark.parametrize(("vented_s", "is_raised"), [(650.0, False), (670.0, True)])
def test_for_as_long_as_a_vent_may_stand_open_the_air_says_nothing_of_the_power(fallen, vented_s, is_raised):
    view = fallen(TO_TOP, 700.0, 6.0)
    vented = fallen(TO_TOP, 700.0, 6.0, vented_s=view.t_s - vented_s)
    assert (firing_stopped(vented) is not None) is is_raised


def test_an_anneal_just_reached_without_power_may_read_too_low(fallen):
    """Just after such a fall by up to 17 K, and as much more as the air is ahead of the glass."""
    assert rank(firing_stopped(fallen(ANNEAL, 516.0, 2.2))) is Rank.LOOK  # by 14.7 K
    assert firing_stopped(fallen(ANNEAL, 516.0, 2.2, fell_until_s=300.0)) is None
    assert rank(firing_stopped(fallen(ANNEAL, 516.0, 3.5, fell_until_s=300.0))) is Rank.LOOK  # by 23 K


@pytest.mark.parametrize(("wander_k", "is_raised"), [(0.3, True), (4.0, False)])
def test_it_must_surely_fall(fallen, wander_k, is_raised):
    # Over 180 s the error is √12 · w / 180 s, 69 °C/h a kelvin; what is asked at 670 °C is 130 °C/h of 400.
    assert (firing_stopped(fallen(TO_TOP, 700.0, 5.0, wander_k=wander_k)) is not None) is is_raised


def test_no_slope_reaches_across_a_gap(fallen):
    assert firing_stopped(fallen(TO_TOP, 700.0, 5.0, resumed_s=570.0)) is None
    assert firing_stopped(fallen(TO_TOP, 700.0, 5.0, resumed_s=500.0)) is not None


BRISK = """title = "Brisk"
unit = "C"
step = [{ rate = 220, to = 800, hold_min = 60 }, { rate = 300, to = 516, hold_min = 60 }, { rate = 80, to = 400 }]"""


@pytest.mark.parametrize(("rate", "is_raised"), [(390.0, False), (480.0, True)])
def test_the_fall_that_the_plan_has_next_is_not_told(fallen, rate, is_raised):
    # A top of 60 min left after 30; the plan goes on at 300 °C/h, and 1.4 times that is 420.
    view = fallen(1, 800.0, 6.0, rate=rate, stood_min=30.0, plan=BRISK)
    assert (firing_stopped(view) is not None) is is_raised
    later = fallen(1, 800.0, 6.0, rate=rate, stood_min=30.0, plan=BRISK,
                   found=[(FIRST, -9000.0, 0.0), (1, 0.0, 1800.0), (2, 1800.0)])
    assert (firing_stopped(later) is not None) is is_raised


@pytest.mark.parametrize(("part", "told"), [(COOLING, Rank.WAKE), (COOLING + 1, None)])
def test_of_two_falls_to_come_the_one_that_it_is_in_is_the_plans(fallen, part, told):
    # Out of the anneal at 180 °C/h: 1.4 times the plan's next 80 are 112, and of the 150 after it 210.
    found = [(FIRST, -9000.0, -3600.0), (ANNEAL, 0.0, 1200.0), (part, 1200.0)]
    assert rank(firing_stopped(fallen(ANNEAL, 516.0, 6.0, rate=180.0, stood_min=20.0, found=found))) is told


def test_a_free_fall_next_leaves_the_natural_one_as_the_limit(fallen):
    assert firing_stopped(fallen(TOP, 800.0, 6.0, rate=250.0)) is not None


def test_an_interrupted_kiln_stays_so_while_it_falls_whatever_part_that_looks_like(fallen):
    watch = StoppedWatch()
    first = watch.see(fallen(TOP, 800.0, 6.0))
    assert first.rank is Rank.WAKE
    whole = {"found": [(FIRST, -9000.0, -3600.0), (TOP, -600.0, 300.0), (FALL, 300.0)]}
    later = fallen(TOP, 800.0, 20.0, offset_k=5.0, **whole)
    assert firing_stopped(later) is None
    found = watch.see(later)
    assert (found.since_s, found.facts.from_c) == (first.since_s, first.facts.from_c)
    assert found.facts.temp_c == pytest.approx(800.0 - RATE / 3, abs=0.2)
    assert found.facts.undone.here_c == found.facts.temp_c - 5.0
    assert found.facts.fall_c_per_h == pytest.approx(RATE, abs=10.0)
    assert StoppedWatch().see(later) is None


@pytest.mark.parametrize(("low_c", "told"), [(514.0, TOP), (510.0, TOP), (486.0, ANNEAL)])
def test_a_fall_from_the_top_that_has_passed_the_anneal_has_left_that_undone(fallen, low_c, told):
    """A heavy kiln falls with 105 °C/h there. A fall that is new must be 1.4 times as fast as the 80 that come next.

    At 510 °C the probe may read too low by 8 K.
    """
    watch = StoppedWatch()
    watch.see(fallen(TOP, 800.0, 6.0))
    later = fallen(TOP, 540.0, (540.0 - low_c) / 105.0 * 60, rate=105.0,
                   found=[(FIRST, -9000.0, -3600.0), (TOP, -1800.0, -1500.0), (FALL, -1500.0, 300.0),
                          (COOLING, 300.0)])
    assert firing_stopped(later) is None
    found = watch.see(later)
    assert (found.facts.undone.index, found.rank) == (told, Rank.WAKE)
    if told == ANNEAL:
        assert (found.facts.from_c, found.facts.undone.held_s, found.step) == (516.0, 0.0, 4)
        assert watch.see(later).facts == found.facts


@pytest.mark.parametrize(("from_c", "rate", "part", "stays"), [
    (800.0, 125.0, FALL, True),  # 0.8 · 150 °C/h, at 770 °C, is 120
    (800.0, 110.0, FALL, False),
    (550.0, 88.0, COOLING, False),  # slower than 1.15 · 80 °C/h, which the plan asks for
    (530.0, 96.0, COOLING, True),
    (440.0, 400.0, FALL, True),
    (430.0, 400.0, FALL, False),  # below 370 °C it is past mending
])
def test_it_is_over_where_the_kiln_is_held_or_heated_or_past_mending(fallen, from_c, rate, part, stays):
    watch = StoppedWatch()
    watch.see(fallen(TOP, 800.0, 5.0))
    # Ten minutes at this rate, in a part that explains it.
    later = fallen(TOP, from_c, 10.0, rate=rate, stood_min=10.0,
                   found=[(FIRST, -9000.0, -3600.0), (TOP, -1800.0, 0.0), (ANNEAL, -9000.0, 0.0), (part, 0.0)])
    assert (watch.see(later) is not None) is stays
    if not stays:
        assert watch.see(fallen(TOP, 800.0, 20.0, stood_min=10.0)) is None  # it is forgotten


def test_a_finding_says_where_the_firing_was_interrupted(fallen):
    found = firing_stopped(fallen(TOP, 800.0, 5.0))
    broken = KIND.breaks_off(found, fallen(TOP, 800.0, 5.0))
    assert (broken.t_s, broken.index, broken.held_s, broken.from_c) == (
        found.since_s, TOP, found.facts.undone.held_s, found.facts.from_c)
