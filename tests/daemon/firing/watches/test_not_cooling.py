"""A kiln that holds or climbs where its plan falls, on views made by hand; and each that may."""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.events import Part, Rank
from daemon.firing.kind import Finding
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.speaker import CLOSED
from daemon.firing.watches.not_cooling import KIND, NotCooling, not_cooling
from daemon.glass.materials import FAMILIES

SQUEEZE, TOP, FALL, ANNEAL, COOLING, LAST = 2, 4, 5, 6, 7, 8
"""Parts of the plan of conftest.py. In COOLING, from 516 to 461 °C, 80 °C/h are planned; at 500 °C a closed kiln
cools by (500 − 20) K / 10 h = 48 °C/h by itself, so that it has to fall by 0.3 × 48 = 14.4 °C/h."""
LOOK, WAKE = (Rank.LOOK, False), (Rank.WAKE, False)
CLIMBS = (Rank.WAKE, True)


@pytest.fixture
def seen(view_of, leg_of):
    """Return a function that makes the view at the end of legs (°C to go to, minutes), in ``part`` since ``began_s``.

    Without a second for it the part began with the readings. What the probe differs by is not known from other holds,
    so that nothing can be said of how it stands in one. After the anneal that was whole.
    """
    def view(part, from_c, *legs, began_s=0.0, before=(), **fields):
        readings, here_c = [], from_c
        for to_c, minutes in legs:
            last_s = readings[-1][0] if readings else -5.0
            readings += leg_of(here_c, to_c, minutes, from_s=last_s + 5.0, ripple_k=0.1)
            here_c = to_c
        held = (ANNEAL, -4000.0, -10.0)
        found = [*before, *([held] if part > ANNEAL and not before else []), (part, began_s)]
        given = {"wander_k": 0.1, "peak_c": 800.0, "first_c": 20.0, "offset_elsewhere_k": None, **fields}
        made = view_of(readings, found=found, **given)
        if part > ANNEAL and not before:
            made.progress = whole_anneal(made)
        return made
    return view


def whole_anneal(view):
    """Return the progress of an anneal that was held for its hour; None without an anneal."""
    if view.anneal is None:
        return None
    progress = AnnealProgress(view.glass, view.anneal)
    for minute in range(61):
        progress.see(60.0 * minute, view.anneal.to_c)
    return progress


def judged(view):
    found = not_cooling(view)
    return None if found is None else (found.rank, found.facts.is_climbing)


@pytest.mark.parametrize(("part", "from_c", "to_c", "verdict"), [
    (COOLING, 500.0, 500.0, LOOK),  # still, below its anneal
    (COOLING, 540.0, 540.0, LOOK),
    (COOLING, 542.0, 542.0, WAKE),  # more than 25 K above the anneal
    (COOLING, 490.0, 500.0, CLIMBS),
    (FALL, 700.0, 700.0, WAKE),
    (FALL, 700.0, 690.0, None),  # 60 °C/h, where a closed kiln falls by 68: it cools
])
def test_a_kiln_that_holds_below_its_anneal_is_a_look_one_that_climbs_or_stays_above_wakes(seen, part, from_c, to_c,
                                                                                          verdict):
    view = seen(part, from_c, (to_c, 10.0), (to_c + to_c - from_c, 10.0))
    found = not_cooling(view)
    assert (None if found is None else (found.rank, found.facts.is_climbing)) == verdict
    if found is not None:
        assert (found.kind, found.step, found.severity_c) == (KIND, {FALL: 4, COOLING: 5}[part], view.temp_c)
        assert found.since_s == pytest.approx(view.t_s - 600.0, abs=10.0)
        assert found.facts == NotCooling(pytest.approx((to_c - from_c) * 6.0, abs=2.0), view.temp_c,
                                         {FALL: 516.0, COOLING: 461.0}[part], verdict[1], is_soft=to_c > 541.0)


def test_before_and_after_the_plan_on_a_climb_and_in_a_hold_nothing_has_to_fall(seen, view_of, leg_of):
    for part in (1, SQUEEZE, ANNEAL):
        assert not_cooling(seen(part, 700.0, (700.0, 20.0))) is None
        assert not_cooling(seen(part, 690.0, (700.0, 20.0))) is None
    still = leg_of(500.0, 500.0, 20.0)
    assert not_cooling(view_of(still, found=[(COOLING, 0.0)], state=0)) is None
    assert not_cooling(view_of(still, found=[(COOLING, 0.0)], state=10)) is None


def test_without_an_anneal_a_kiln_that_holds_is_a_look(seen):
    assert judged(seen(COOLING, 542.0, (542.0, 20.0), anneal=None)) == LOOK


# --- how fast it has to fall ------------------------------------------------------------------------


@pytest.mark.parametrize(("fall_c_per_h", "wander_k", "verdict"), [
    (13.0, 0.02, LOOK), (14.2, 0.02, None),  # of 48 °C/h
    (6.0, 0.3, LOOK), (9.0, 0.3, None),  # less two standard errors, of 4 °C/h each in a kiln that wanders
])
def test_it_has_to_fall_by_three_tenths_of_what_a_closed_kiln_falls_by_where_more_is_planned(
        seen, fall_c_per_h, wander_k, verdict):
    assert judged(seen(COOLING, 500.0 + fall_c_per_h / 3, (500.0, 20.0), wander_k=wander_k)) == verdict


SLOW = """title = "Casting"
unit = "C"
step = [{ rate = 200, to = 800, hold_min = 10 }, { rate = "free", to = 516, hold_min = 60 }, { rate = 20, to = 461 },
    { rate = 100, to = 50 }]"""


@pytest.mark.parametrize(("fall_c_per_h", "verdict"), [(1.0, LOOK), (11.0, None)])
def test_and_of_the_plan_where_that_is_slower(seen, fall_c_per_h, verdict):
    view = seen(4, 500.0 + fall_c_per_h / 3, (500.0, 20.0), plan=SLOW, before=[(3, -4000.0, -10.0)])
    assert judged(view) == verdict  # of 20 °C/h: 6


@pytest.mark.parametrize(("errors", "verdict"), [(2.6, LOOK), (3.4, CLIMBS)])
def test_it_climbs_by_8_degrees_an_hour_beyond_three_standard_errors(seen, errors, verdict):
    def climbing(c_per_h):
        return seen(COOLING, 500.0 - c_per_h / 3, (500.0, 20.0), wander_k=0.6)

    error = climbing(10.0).error_c_per_h(climbing(10.0).line(600.0))
    assert judged(climbing(8.0 + errors * error)) == verdict


@pytest.mark.parametrize(("rise_k", "verdict"), [(6.0, LOOK), (8.0, CLIMBS)])
def test_a_climb_of_less_than_three_and_a_half_kelvins_in_ten_minutes_costs_nothing(seen, rise_k, verdict):
    assert judged(seen(COOLING, 500.0 - rise_k, (500.0, 20.0), wander_k=0.02)) == verdict


@pytest.mark.parametrize(("wander_k", "minutes", "verdict"), [
    (1.1, 18.0, None), (1.1, 23.0, LOOK), (2.2, 38.0, None), (2.2, 43.0, LOOK)])
def test_a_kiln_whose_holds_stray_is_asked_over_twenty_and_forty_minutes(seen, wander_k, minutes, verdict):
    """Slow air of 1.1 K errs by 15 °C/h over ten minutes and by 5 over twenty, and 14.4 °C/h are the least."""
    assert judged(seen(COOLING, 500.0, (500.0, minutes), wander_k=wander_k)) == verdict


@pytest.mark.parametrize(("minutes", "verdict"), [(78.0, None), (82.0, LOOK)])
def test_an_anneal_that_was_not_seen_has_its_time_before_longer_is_asked(seen, minutes, verdict):
    """The plan holds 60 min at 516 °C; the kiln has stood at 500 °C since the fall, and none of it was seen held."""
    view = seen(COOLING, 500.0, (500.0, minutes), wander_k=1.1, before=((FALL, -900.0, -10.0),))
    assert judged(view) == verdict


def test_a_kiln_that_falls_by_now_is_told_no_more(seen):
    stuck = (700.0, 17.0)
    assert judged(seen(FALL, 700.0, stuck, (700.0, 3.0))) == WAKE
    # At 700 °C it has to fall by 20.4 °C/h. Three minutes tell that to 7 °C/h, of which two are doubt.
    for fall_c_per_h, verdict in ((30.0, WAKE), (36.0, None)):
        assert judged(seen(FALL, 703.0, (700.0, 17.0), (700.0 - fall_c_per_h / 20, 3.0))) == verdict


# --- how long it is looked at ---------------------------------------------------------------------------


@pytest.mark.parametrize(("seconds", "still", "climbing"), [
    (340.0, None, None),
    (380.0, None, CLIMBS),  # four minutes of a climb will do
    (640.0, None, CLIMBS),
    (680.0, LOOK, CLIMBS),  # nine minutes and more of a kiln that holds
])
def test_a_climb_is_told_six_minutes_into_a_fall_and_a_hold_after_eleven(seen, seconds, still, climbing):
    for climb_k, verdict in ((0.0, still), (20.0, climbing)):
        view = seen(COOLING, 490.0 - climb_k, (490.0, 20.0), began_s=1200.0 - seconds)
        assert judged(view) == verdict


def test_the_time_counts_from_where_the_readings_came_back(seen):
    assert judged(seen(COOLING, 500.0, (500.0, 20.0), resumed_s=700.0)) is None
    assert judged(seen(COOLING, 500.0, (500.0, 20.0), resumed_s=600.0)) == LOOK


@pytest.mark.parametrize(("to_c", "minutes", "verdict"), [
    (732.0, 2.5, None),  # under a vent that was shut: the air stepped up, and falls by 150 °C/h since
    (735.5, 1.0, CLIMBS),  # too short to be judged
    (738.0, 2.5, CLIMBS), (742.0, 2.5, CLIMBS),  # heated: it stands or climbs on
])
def test_what_a_kiln_does_now_is_asked_from_where_it_turned(seen, to_c, minutes, verdict):
    view = seen(FALL, 725.0, (714.0, 4.0), (738.0, 0.5), (to_c, minutes), began_s=-300.0)
    assert judged(view) == verdict


@pytest.mark.parametrize(("step_s", "verdict"), [(30, None), (60, CLIMBS)])
def test_by_a_reading_a_minute_two_that_are_lower_after_a_rise_are_no_fall(view_of, step_s, verdict):
    """Elements that were switched on, as the probe sees them for two minutes; three steps of a logger tell a fall."""
    along = [702.0, 702.0, 702.0, 702.0, 710.0, 718.0, 714.0, 710.0]
    readings = [(60.0 * i + at_s, along[i] + (along[i + 1] - along[i]) * at_s / 60) for i in range(7)
                for at_s in range(0, 60, step_s)] + [(420.0, along[-1])]
    view = view_of(readings, found=[(FALL, -300.0)], wander_k=0.1, peak_c=800.0, first_c=20.0,
                   offset_elsewhere_k=None)
    assert judged(view) == verdict


def test_a_climb_that_is_over_is_none(seen):
    assert judged(seen(FALL, 650.0, (650.0, 10.0), (700.0, 5.0), (700.0, 5.0))) is None


# --- where it says nothing --------------------------------------------------------------------------------


@pytest.mark.parametrize(("at_c", "verdict"), [(468.5, None), (469.5, LOOK)])
def test_within_eight_kelvins_of_its_end_a_fall_is_as_good_as_done(seen, at_c, verdict):
    assert judged(seen(COOLING, at_c, (at_c, 20.0))) == verdict
    assert judged(seen(COOLING, at_c + 5.0, (at_c + 5.0, 20.0), offset_k=5.0)) == verdict


@pytest.mark.parametrize(("part", "at_c", "verdict"), [
    (COOLING, 476.0, LOOK), (COOLING, 478.0, CLIMBS),  # 16 K above 461 °C, where the next fall begins
    (FALL, 540.0, LOOK), (FALL, 542.0, CLIMBS),  # 25 K above 516 °C, where a hold is due
])
def test_just_above_its_end_it_may_swing(seen, part, at_c, verdict):
    """By the mean of ten minutes: of 10 K in 20 min the last quarter is above it."""
    assert judged(seen(part, at_c - 7.5, (at_c + 2.5, 20.0))) == verdict


@pytest.mark.parametrize(("top_read_c", "verdict"), [(800.0, WAKE), (812.0, LOOK), (825.0, None), (775.0, WAKE)])
def test_an_anneal_is_read_as_much_too_hot_as_the_top_was(seen, top_read_c, verdict):
    """Its readings stand at 543 °C; 516 are planned. A top of four minutes shows no usual difference yet.

    A top that was read too cold says nothing: a weak kiln may never have come to it.
    """
    top = Part(TOP, 3, "hold", -1240.0, -1000.0, mean_c=top_read_c)
    view = seen(FALL, 543.0, (543.0, 20.0), offset_known=False)
    view.found = (top, *view.found)
    assert judged(view) == verdict


@pytest.mark.parametrize(("to_c", "verdict"), [(530.0, CLIMBS), (515.0, LOOK)])
def test_for_twenty_minutes_after_a_vent_the_air_may_climb_or_stand_until_it_and_the_glass_agree(seen, to_c, verdict):
    view = seen(COOLING, 515.0, (to_c, 20.0))
    assert judged(seen(COOLING, 515.0, (to_c, 20.0), vented_s=view.t_s - 21.0 * 60.0)) == verdict
    assert judged(seen(COOLING, 515.0, (to_c, 20.0), vented_s=view.t_s - 19.0 * 60.0)) is None


@pytest.mark.parametrize(("held", "to_c", "changed", "verdict"), [
    (FALL, 510.0, {}, LOOK), (ANNEAL, 510.0, {}, CLIMBS), (FALL, 510.0, {"anneal": None}, CLIMBS),
    (FALL, 523.0, {}, LOOK), (FALL, 526.0, {}, CLIMBS),  # √(8² + 3²) K past 516 °C
])
def test_a_climb_back_to_an_anneal_that_is_not_done_is_none(seen, held, to_c, changed, verdict):
    """The follower takes the dip after a free fall for the cooling after the anneal."""
    before = () if held == ANNEAL else [(FALL, -4000.0, -10.0)]
    assert judged(seen(COOLING, 500.0, (to_c, 20.0), before=before, **changed)) == verdict


@pytest.mark.parametrize(("sinks_k", "back_k", "verdict"), [
    (15.0, 5.0, None),    # 516 °C held; 30 K below its line, then 7 below it
    (15.0, 20.0, CLIMBS),  # above the line by 8
])
def test_a_reading_that_sank_too_far_where_the_fall_began_and_comes_back_is_none(seen, sinks_k, back_k, verdict):
    """The elements fell silent. From 516 °C, 20 °C/h are planned: 4 K in the twelve minutes since."""
    low_c = 516.0 - sinks_k
    view = seen(4, 516.0, (516.0, 12.0), (low_c, 2.0), (low_c + back_k, 10.0), plan=SLOW,
                before=[(3, -4000.0, 720.0)], began_s=720.0)
    view.progress = whole_anneal(view)
    assert judged(view) == verdict


def test_a_kiln_that_stands_in_a_hold_that_is_due_is_told_otherwise_unless_it_climbs(seen):
    never_held = {"before": [(FALL, -2000.0, 0.0)], "offset_elsewhere_k": 0.0}
    assert judged(seen(FALL, 535.0, (535.0, 20.0))) == LOOK
    assert judged(seen(FALL, 535.0, (535.0, 20.0), offset_elsewhere_k=0.0)) is None
    assert judged(seen(COOLING, 525.0, (525.0, 20.0), **never_held)) is None
    assert judged(seen(COOLING, 530.0, (543.0, 20.0), **never_held)) == CLIMBS


def test_the_air_under_a_lid_that_is_shut_again_climbs_for_some_minutes_only(seen):
    low_c = FAMILIES["90"].band_low_c
    assert 422.0 < 425.0 < 435.0 < low_c
    assert judged(seen(LAST, 425.0, (435.0, 20.0))) == CLIMBS
    assert judged(seen(LAST, 430.0, (435.0, 10.0), (435.0, 3.2))) == LOOK  # holds by now
    assert judged(seen(LAST, 430.0, (435.0, 10.0), (435.4, 1.0))) is None  # of 11 min the first two do not count
    short = {"began_s": 660.0}  # of 1200 s: 420 s of climb are seen
    assert judged(seen(LAST, 425.0, (435.0, 20.0), **short)) is None
    assert judged(seen(LAST, low_c - 8.0, (low_c + 8.0, 20.0), **short)) == CLIMBS


@pytest.mark.parametrize(("at_c", "verdict"), [(99.0, None), (101.0, CLIMBS)])
def test_below_100_degrees_a_room_may_keep_a_kiln_from_falling(seen, at_c, verdict):
    assert judged(seen(5, at_c - 10.0, (at_c, 20.0), plan=SLOW, before=[(3, -4000.0, -10.0)])) == verdict


def test_a_probe_that_reads_40_kelvins_high_changes_nothing(seen):
    """Every level above, read 40 K higher."""
    high = {"offset_k": 40.0, "peak_c": 840.0}
    assert judged(seen(COOLING, 540.0 + 40.0, (540.0 + 40.0, 20.0), **high)) == LOOK
    assert judged(seen(COOLING, 542.0 + 40.0, (542.0 + 40.0, 20.0), **high)) == WAKE
    assert judged(seen(COOLING, 468.5 + 40.0, (478.5 + 40.0, 20.0), **high)) == LOOK
    assert judged(seen(COOLING, 470.5 + 40.0, (480.5 + 40.0, 20.0), **high)) == CLIMBS
    top = (800.0 + 40.0, (800.0 + 40.0, 5.0))
    assert judged(seen(FALL, *top, (776.0 + 40.0, 1.0), (776.0 + 40.0, 18.0), began_s=560.0, **high)) is None
    assert judged(seen(FALL, *top, (774.0 + 40.0, 1.0), (774.0 + 40.0, 18.0), began_s=560.0, **high)) == WAKE
    for peak_c, verdict in ((796.0, None), (798.0, WAKE)):
        assert judged(seen(FALL, 835.5, (835.5, 20.0), offset_k=40.0, peak_c=peak_c + 40.0)) == verdict
    for at_c, verdict in ((791.5, None), (792.5, WAKE)):
        assert judged(seen(FALL, at_c + 40.0, (at_c + 40.0, 30.0), **high)) == verdict


# --- the top before the fall ------------------------------------------------------------------------------


def test_a_top_that_was_never_reached_has_no_fall_after_it(seen):
    stuck = (700.0, (700.0, 20.0))
    assert judged(seen(FALL, *stuck, peak_c=755.0)) is None
    assert judged(seen(FALL, *stuck, peak_c=765.0)) == WAKE
    assert judged(seen(FALL, *stuck, peak_c=755.0, first_c=600.0)) == WAKE  # joined on the way: its top was not seen


@pytest.mark.parametrize(("peak_c", "verdict"), [(796.0, None), (798.0, WAKE)])
def test_a_weak_kiln_as_hot_as_it_ever_was_may_still_creep_to_its_top(seen, peak_c, verdict):
    assert judged(seen(FALL, 795.5, (795.5, 20.0), peak_c=peak_c)) == verdict
    assert judged(seen(2, 795.5, (795.5, 20.0), peak_c=peak_c, plan=SLOW)) == verdict  # after climb and top alone


def test_a_kiln_that_came_down_a_little_creeps_no_more(seen):
    assert judged(seen(FALL, 770.0, (770.0, 20.0), peak_c=772.0)) is None
    assert judged(seen(FALL, 770.0, (770.0, 20.0), peak_c=774.0)) == WAKE
    # Ten minutes back it was as hot as ever, and before that.
    for minutes, verdict in ((9.0, None), (12.0, WAKE)):
        falling = (772.0, (772.0, 20.0), (768.0, 0.5), (768.0, minutes))
        assert judged(seen(FALL, *falling, peak_c=772.0)) == verdict


@pytest.mark.parametrize(("seconds", "at_c", "verdict"), [
    (890.0, 795.0, None), (910.0, 795.0, WAKE),  # 10 min of top, and five more
    (890.0, 776.0, None), (890.0, 774.0, WAKE),  # 25 K below it the top is over
])
def test_a_look_into_the_top_may_have_been_taken_for_its_end(seen, seconds, at_c, verdict):
    assert judged(seen(FALL, 800.0, (800.0, 5.0), (at_c, 1.0), (at_c, 18.0), began_s=1450.0 - seconds)) == verdict


@pytest.mark.parametrize(("at_c", "verdict"), [(791.5, None), (792.5, WAKE)])
def test_where_the_top_was_not_reached_within_half_an_hour_it_is_still_to_come(seen, at_c, verdict):
    assert judged(seen(FALL, at_c, (at_c, 30.0))) == verdict
    for minutes, known in ((25.0, WAKE), (35.0, None)):  # since it was at its top, before the fall began
        readings = [(800.0, 5.0), (785.0, 1.0), (785.0, minutes + 16.0)]
        assert judged(seen(FALL, 800.0, *readings, began_s=(6.0 + minutes) * 60.0)) == known


def test_only_a_hold_after_a_climb_is_a_top(seen):
    no_hold = ('title = "Melt"\nunit = "C"\nstep = [{ rate = 200, to = 600 }, { rate = 200, to = 800 }, '
               '{ rate = 300, to = 516, hold_min = 60 }]')
    assert judged(seen(2, 795.0, (795.0, 12.0), plan=no_hold)) == WAKE


def test_the_second_part_of_a_plan_has_no_climb_to_a_hold_before_it(seen):
    up_again = ('title = "Twice"\nunit = "C"\nstep = [{ rate = 200, to = 800 }, { rate = 300, to = 516, hold_min = '
                '60 }, { rate = 50, to = 560 }]')
    assert judged(seen(1, 785.0, (785.0, 12.0), plan=up_again, peak_c=786.0)) == WAKE


# --- words --------------------------------------------------------------------------------------------------


def test_the_words_of_a_climb_ask_for_the_isolator_and_those_of_a_hold_for_the_controller():
    speaker = example_firing.speaker()
    climbs = KIND.words(Finding(KIND, Rank.WAKE, 0.0, NotCooling(60.0, 700.0, 516.0, True)), speaker)
    assert climbs.what == (
        "Kiln climbs where it should cool, 700 °C; stop it. It climbs 60 °C/h. The plan cools to 516 °C.")
    assert climbs.do.startswith("Switch off at the isolator, the kiln's main switch, unless")
    assert climbs.do.endswith(CLOSED)
    holds = KIND.words(Finding(KIND, Rank.LOOK, 0.0, NotCooling(-1.0, 490.0, 461.0, False)), speaker)
    assert holds.what == "Kiln is not cooling, it stays at 490 °C. The plan cools to 461 °C."
    assert holds.do.startswith("Look at the controller's step")


@pytest.mark.parametrize(("is_climbing", "is_soft", "said", "not_said"), [
    (False, True, "Soft glass flows on", "stiff"), (False, False, "Here the glass is stiff", "flows on"),
    (True, True, "Soft glass flows on", "again"), (True, False, "until the glass flows again", "flows on"),
])
def test_what_it_means_is_told_by_where_the_kiln_is(is_climbing, is_soft, said, not_said):
    facts = NotCooling(20.0, 700.0 if is_soft else 490.0, 461.0, is_climbing, is_soft)
    text = KIND.words(Finding(KIND, Rank.LOOK, 0.0, facts), example_firing.speaker())
    assert said in text.meaning
    assert not_said not in text.meaning


@pytest.mark.parametrize(("kiln_c", "lowest_c", "verdict"), [
    (None, 400.0, CLIMBS), (516.0, 400.0, None),  # the air comes back under a lid that was shut, to the kiln below it
    (480.0, 400.0, CLIMBS),  # hotter than the kiln can be: it is heated
    (516.0, 492.0, CLIMBS),  # it never was much colder: no lid was open
])
def test_air_that_comes_back_under_a_lid_is_no_kiln_that_climbs(seen, kiln_c, lowest_c, verdict):
    assert judged(seen(COOLING, lowest_c, (490.0, 4.0), (500.0, 10.0), kiln_c=kiln_c)) == verdict
