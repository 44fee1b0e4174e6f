"""Alerts that stand under their cause, and alerts that take a sharper name."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.alerts.board import Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Rank, Saying
from daemon.firing.kind import Family
from tests.daemon.firing.alerts.night import BEAT_S, BY_NAME, Night, another_plan, finding, names, times, words

PAIRS = [(cause.name, kind.name) for cause in KINDS for kind in KINDS
         if cause.name in kind.may_stand_under or kind.family in cause.explains]


@pytest.mark.parametrize(("cause", "kind"), PAIRS)
def test_a_consequence_stands_under_its_cause_and_wakes_nobody(cause, kind):
    night = Night.of(cause, kind)
    night.see(120.0, finding(cause, since_s=0.0))
    night.see(3600.0, finding(cause), finding(kind, since_s=120.0))
    _, consequence = night.board.alerts
    assert (consequence.kind, consequence.under) == (kind, cause)
    assert consequence.rank is Rank.LOOK
    assert {change.alert.no for change in night.changes if change.change == "resounded"} == {1}


def test_a_hold_is_not_off_its_target_in_a_runaway():
    night = Night.of("over-temperature", "hold-off-target")
    night.see(600.0, finding("over-temperature"))
    night.see(600.0, finding("over-temperature"), finding("hold-off-target", Rank.LOOK, since_s=600.0))
    assert [alert.under for alert in night.board.alerts] == [None, "over-temperature"]


@pytest.mark.parametrize("kind", ["sensor-fault", "readings-missing"])
def test_a_loss_of_a_contact_that_comes_and_goes_is_raised_once_it_wakes_by_itself(kind):
    night = Night.of("reading-flickers", kind)
    flickers = finding("reading-flickers", Rank.LOOK)
    night.see(600.0, flickers)
    assert names(night.see(300.0, flickers, finding(kind, Rank.LOOK, since_s=600.0))) == []
    assert [alert.kind for alert in night.board.alerts] == ["reading-flickers"]
    night.see(120.0, flickers, finding(kind, since_s=600.0))
    assert [(alert.kind, alert.rank, alert.under) for alert in night.board.alerts] == [
        ("reading-flickers", Rank.LOOK, None), (kind, Rank.WAKE, None)]


def test_a_consequence_began_no_sooner_than_its_cause_and_is_told_once():
    night = Night.of("sudden-drop", "hold-cut-short")
    night.see(120.0, finding("sudden-drop", since_s=1000.0))
    for _ in range(3):
        night.see(120.0, finding("sudden-drop"), finding("hold-cut-short", Rank.LOOK, since_s=700.0))
        night.see(900.0, finding("sudden-drop"))
    assert [(alert.kind, alert.since_s) for alert in night.board.alerts] == [
        ("sudden-drop", 1000.0), ("hold-cut-short", 1000.0)]


ASKED = [(cause, kind.name) for kind in KINDS for cause in kind.asked_for_by]


"""Each kind that a wake asks for, by name."""


@pytest.mark.parametrize(("cause", "kind"), [pair for pair in PAIRS if pair not in ASKED])
def test_a_consequence_that_outlives_its_cause_speaks_for_itself(cause, kind):
    night = Night.of(cause, kind)
    night.see(120.0, finding(cause))
    night.see(120.0, finding(cause), finding(kind, since_s=120.0))
    night.see(2400.0, finding(kind, since_s=120.0))
    first, consequence = night.board.alerts
    assert first.cleared_s is not None
    assert consequence.rank is Rank.WAKE
    assert consequence.under is None
    # Whoever was woken by the cause has a quarter of an hour with it.
    assert 900.0 <= consequence.woke_s - first.cleared_s < 900.0 + BEAT_S


@pytest.mark.parametrize(("cause", "kind"), ASKED)
def test_what_a_wake_asked_for_wakes_nobody_to_its_end_nor_does_what_follows_from_it(cause, kind):
    night = Night.of(cause, kind, "hold-cut-short")
    night.see(1200.0, finding(cause))
    night.see(600.0, finding(cause), finding(kind, since_s=1200.0))
    night.see(7200.0, finding(kind, since_s=1200.0))
    night.see(1200.0, finding(kind, since_s=1200.0), finding("hold-cut-short", since_s=8000.0))
    night.see(2400.0, finding("hold-cut-short", since_s=8000.0))
    told = [(alert.kind, alert.rank, alert.under) for alert in night.board.alerts]
    assert told[:2] == [(cause, Rank.WAKE, None), (kind, Rank.LOOK, cause)]
    assert all(rank is Rank.LOOK and under in (cause, kind) for _, rank, under in told[1:])


@pytest.mark.parametrize(("cause", "kind"), ASKED)
@pytest.mark.parametrize("rank", [Rank.LOOK, Rank.WAKE])
@pytest.mark.parametrize("runs_again", ["", "holds", "keyed"])
def test_whoever_was_told_to_switch_off_is_woken_again_once_the_plan_runs_again(cause, kind, rank, runs_again):
    night = Night.of(cause, kind)
    night.see(1200.0, finding(cause, rank))
    night.see(1500.0)
    if runs_again == "holds":
        night.board.see_plan_run(night.t_s)
    elif runs_again == "keyed":
        fresh = Board(KINDS, words)
        fresh.take_over(night.board, night.t_s)
        night.board = fresh
    night.see(3600.0, finding(kind, since_s=2800.0))
    last = night.board.alerts[-1]
    is_silent = rank is Rank.WAKE and not runs_again
    assert (last.kind, last.rank) == (kind, Rank.LOOK if is_silent else Rank.WAKE)
    assert last.under == (cause if is_silent else None)


@pytest.mark.parametrize(("cause", "kind"), PAIRS)
def test_a_quiet_cause_does_not_hide_a_loud_consequence_for_long(cause, kind):
    night = Night.of(cause, kind)
    night.see(120.0, finding(cause, Rank.LOOK))
    night.see(1200.0, finding(cause, Rank.LOOK), finding(kind, Rank.WAKE, since_s=120.0))
    loud = [alert for alert in night.board.alerts if alert.rank is Rank.WAKE]
    assert [alert.kind for alert in loud] == [kind]
    assert loud[0].woke_s < 720.0


SHARPER = [(vaguer.name, kind.name) for kind in KINDS for vaguer in kind.may_replace if vaguer.name in BY_NAME]


for depends_on_rank_or_facts in (("over-temperature", "wrong-plan"), ("over-temperature", "sensor-fault"),
                                 ("heating-too-fast", "sensor-fault")):
    SHARPER.remove(depends_on_rank_or_facts)  # these have tests of their own


@pytest.mark.parametrize(("vague", "sharp"), SHARPER)
def test_a_sharper_name_keeps_the_alert_and_its_old_name(vague, sharp):
    night = Night.of(vague, sharp)
    night.see(120.0, finding(vague, Rank.LOOK))
    night.say(Saying.ACKNOWLEDGE)
    night.see(120.0, finding(vague, Rank.LOOK), finding(sharp))
    alert, = night.board.alerts
    assert (alert.no, alert.kind, alert.rank) == (1, sharp, Rank.WAKE)
    assert [name for _, name in alert.named] == [vague]
    assert alert.text.what.startswith(sharp)
    assert [name for name in names(night.changes) if name != "resounded"] == ["raised", "woke"]
    # The quiet was for something less: it ends with the new rank.
    night.see(1200.0, finding(sharp))
    assert times(night.changes, "resounded")[0] == alert.woke_s + BY_NAME[sharp].resound_s


@pytest.mark.parametrize("vague", ["heating-too-fast", "restarted", "not-cooling"])
def test_a_climb_that_becomes_a_runaway_is_one_alert_whose_quiet_ends(vague):
    night = Night.of(vague, "over-temperature")
    night.see(3000.0, finding(vague))
    night.say(Saying.ACKNOWLEDGE)
    night.see(60.0, finding(vague))
    night.see(40.0, finding(vague), finding("over-temperature", since_s=3060.0))
    alert, = night.board.alerts
    assert (alert.no, alert.kind, alert.woke_s, alert.quiet_until_s) == (
        1, "over-temperature", BY_NAME[vague].on_delay_s, None)
    assert names(night.changes).count("woke") == 0
    # Nobody has heard yet that it is too hot.
    assert times(night.changes, "resounded")[-1] == 3060.0


def test_what_stood_under_the_old_name_and_is_over_stands_under_the_new_one():
    night = Night.of("restarted", "not-climbing", "over-temperature")
    night.see(300.0, finding("restarted"))
    night.see(120.0, finding("restarted"), finding("not-climbing", Rank.LOOK, since_s=300.0))
    night.see(900.0, finding("restarted"))
    told = night.see(40.0, finding("restarted"), finding("over-temperature", since_s=1320.0))
    first, led = night.board.alerts
    assert (first.kind, led.kind, led.under) == ("over-temperature", "not-climbing", "over-temperature")
    assert led.cleared_s is not None
    assert [change.silent for change in told if change.alert.no == led.no] == [True]


@pytest.mark.parametrize("vague", ["heating-too-fast", "restarted", "not-cooling"])
def test_a_runaway_that_is_over_is_not_kept_by_the_name_it_had(vague):
    night = Night.of(vague, "over-temperature")
    night.see(1200.0, finding(vague))
    night.see(600.0, finding(vague), finding("over-temperature", since_s=1200.0))
    told = night.see(800.0, finding(vague))
    first, later = night.board.alerts
    assert first.cleared_s is not None
    assert (later.kind, later.rank, later.under) == (vague, Rank.LOOK, "over-temperature")
    assert all(t_s < first.cleared_s for t_s in times(told, "resounded"))


LOOKS_TOO_HOT = [one.facts for one in BY_NAME["over-temperature"].examples if one.rank is Rank.LOOK]


@pytest.mark.parametrize("facts", LOOKS_TOO_HOT)
@pytest.mark.parametrize("vague", ["heating-too-fast", "restarted", "not-cooling"])
def test_a_look_at_what_may_be_too_hot_is_no_runaway(vague, facts):
    """A hold that was passed, or a probe that may read high: the wake before keeps its name, and can be quieted."""
    look = replace(finding("over-temperature", Rank.LOOK), facts=facts)
    night = Night.of(vague, "over-temperature")
    night.see(1200.0, finding(vague))
    night.see(300.0, finding(vague), look)
    assert [alert.kind for alert in night.board.alerts] == [vague, "over-temperature"]
    assert names(night.say(Saying.QUIET, for_s=600.0)) == ["quieted"]
    assert not times(night.see(300.0, finding(vague), look), "resounded")


@pytest.mark.parametrize("vague", ["heating-too-fast", "over-temperature"])
def test_only_a_false_scale_takes_the_name_of_a_kiln_that_does_not_stop(vague):
    examples = {type(example.facts).__name__: example.facts for example in BY_NAME["sensor-fault"].examples}
    for facts, is_one in (("HotterThanKiln", True), ("Blind", False), ("ColderThanAir", False)):
        night = Night.of(vague, "sensor-fault")
        night.see(600.0, finding(vague))
        night.see(40.0, replace(finding("sensor-fault", Rank.LOOK), facts=examples[facts]))
        kinds = [alert.kind for alert in night.board.alerts]
        assert kinds == (["sensor-fault"] if is_one else [vague, "sensor-fault"])
        assert night.board.alerts[0].rank is Rank.WAKE


def test_a_step_that_still_stands_after_twenty_minutes_is_told_as_the_sensor_by_the_same_alert():
    elsewhere = replace(finding("sensor-fault"), facts=BY_NAME["sensor-fault"].examples[-1].facts)
    night = Night.of("sudden-drop", "sensor-fault")
    night.see(1200.0, finding("sudden-drop"))
    night.see(600.0, elsewhere)
    alert, = night.board.alerts
    assert (alert.kind, alert.rank, [kind for _, kind in alert.named]) == ("sensor-fault", Rank.WAKE, ["sudden-drop"])
    assert names(night.changes).count("woke") == 0


def test_losses_that_were_told_one_by_one_stand_under_the_alert_that_tells_them_all():
    night = Night.of("sensor-fault", "reading-flickers")
    night.see(60.0, finding("sensor-fault", Rank.LOOK, since_s=0.0))
    night.see(600.0)
    night.see(60.0, finding("sensor-fault", Rank.LOOK, since_s=660.0))
    night.see(600.0)
    told = night.see(120.0, finding("sensor-fault", Rank.LOOK, since_s=1320.0),
                     finding("reading-flickers", Rank.LOOK, since_s=600.0))
    before, within, live, whole = night.board.alerts
    assert [alert.under for alert in (before, within, live, whole)] == [
        None, "reading-flickers", "reading-flickers", None]
    assert (within.cleared_s is not None, live.cleared_s is None) == (True, True)
    silent = {change.alert.no for change in told if change.silent and change.change == "sharpened"}
    assert silent == {within.no, live.no}


def test_a_loss_that_woke_keeps_a_place_of_its_own():
    night = Night.of("sensor-fault", "reading-flickers")
    night.see(300.0, finding("sensor-fault", Rank.WAKE, since_s=0.0))
    night.see(600.0)
    night.see(120.0, finding("reading-flickers", Rank.LOOK, since_s=0.0))
    assert [alert.under for alert in night.board.alerts] == [None, None]


def test_a_kind_names_no_kind_that_there_is_not():
    assert len(BY_NAME) == len(KINDS)
    named = {name for kind in KINDS for name in (
        *kind.may_stand_under, *kind.asked_for_by, *kind.gathers) if not isinstance(name, Family)}
    named |= {vaguer.name for kind in KINDS for vaguer in kind.may_replace if not isinstance(vaguer.name, Family)}
    assert named <= set(BY_NAME)


def test_what_stands_under_a_cause_goes_with_its_new_name():
    night = Night.of("firing-stopped", "hold-cut-short", "restarted")
    stopped, short = finding("firing-stopped"), finding("hold-cut-short", Rank.LOOK)
    night.see(600.0, stopped)
    night.see(120.0, stopped, short)
    assert [alert.under for alert in night.board.alerts] == [None, "firing-stopped"]
    again = finding("restarted", since_s=night.t_s)
    told = night.see(120.0, short, again)
    assert [(alert.kind, alert.under) for alert in night.board.alerts] == [
        ("restarted", None), ("hold-cut-short", "restarted")]
    assert [(change.alert.kind, change.silent) for change in told if change.change == "sharpened"] == [
        ("restarted", False), ("hold-cut-short", True)]


def test_a_name_an_alert_once_had_takes_it_back_only_where_it_is_louder():
    for rank, kind in ((Rank.LOOK, "hold-off-target"), (Rank.WAKE, "hold-cut-short")):
        night = Night.of("hold-cut-short", "hold-off-target")
        night.see(200.0, finding("hold-cut-short", Rank.LOOK, 0.0))
        night.see(400.0, finding("hold-off-target", Rank.LOOK, 200.0))
        night.see(200.0, finding("hold-cut-short", rank, 0.0))
        assert [(alert.kind, alert.rank) for alert in night.board.alerts] == [(kind, rank)]


def test_an_alert_that_is_found_by_its_old_name_alone_still_sounds():
    night = Night.of("hold-cut-short", "hold-off-target")
    night.see(200.0, finding("hold-cut-short"))
    night.see(40.0, finding("hold-off-target"))
    told = night.see(700.0, finding("hold-cut-short"))
    assert names(told) == ["resounded", "resounded"]


def test_an_alert_that_was_renamed_and_is_judged_no_more_sounds_again():
    night = Night.of("hold-cut-short", "hold-off-target")
    night.see(200.0, finding("hold-cut-short", Rank.LOOK))
    while (night.board.alerts[0].kind, night.board.alerts[0].rank) != ("hold-off-target", Rank.WAKE):
        night.see(BEAT_S, finding("hold-off-target"))
    told = [change for beat in range(16)
            for change in night.board.judge(night.t_s + beat * BEAT_S, [], (BY_NAME["haze-range"],))]
    assert names(told) == ["resounded"]


def test_of_two_vaguer_alerts_the_first_takes_the_sharper_name():
    night = Night.of("hold-cut-short", "not-cooling", "hold-off-target")
    night.see(200.0, finding("hold-cut-short", Rank.LOOK))
    night.see(200.0, finding("hold-cut-short", Rank.LOOK), finding("not-cooling", Rank.LOOK))
    night.see(200.0, finding("hold-off-target", Rank.LOOK))
    first = night.board.alerts[0]
    assert (first.no, first.kind) == (1, "hold-off-target")


def test_a_sharper_name_brings_its_step_along_where_it_knows_one():
    for step, expected in ((4, 4), (None, 2)):
        night = Night.of("hold-cut-short", "hold-off-target")
        night.see(200.0, replace(finding("hold-cut-short", Rank.LOOK), step=2))
        night.see(200.0, replace(finding("hold-off-target", Rank.LOOK), step=step))
        assert [(alert.kind, alert.step) for alert in night.board.alerts] == [("hold-off-target", expected)]


def test_a_consequence_whose_sharper_name_is_none_of_its_cause_stands_by_itself():
    night = Night.of("firing-stopped", "not-cooling", "restarted")
    stopped, rising = finding("firing-stopped"), finding("not-cooling")
    night.see(1200.0, stopped)
    night.see(120.0, stopped, rising)
    assert [alert.under for alert in night.board.alerts] == [None, "firing-stopped"]
    night.see(120.0, stopped, finding("restarted", since_s=night.t_s - 60.0))
    named = next(alert for alert in night.board.alerts if alert.kind == "restarted")
    assert (named.under, named.rank, [kind for _, kind in named.named]) == (None, Rank.WAKE, ["not-cooling"])


def test_a_climb_through_a_hold_is_named_by_another_plan_but_a_runaway_never_loses_its_name():
    for rank, kinds in ((Rank.LOOK, ["wrong-plan"]), (Rank.WAKE, ["over-temperature", "wrong-plan"])):
        night = Night.of("wrong-plan", "over-temperature")
        hot, other = finding("over-temperature", rank), another_plan(explains=True)
        night.see(600.0, hot)
        night.see(60.0, hot, other)
        assert sorted(alert.kind for alert in night.board.alerts) == kinds
        night.see(60.0, finding("over-temperature", since_s=night.t_s), other)
        assert ("over-temperature", Rank.WAKE) in [(a.kind, a.rank) for a in night.board.alerts]


def test_another_plan_takes_the_name_of_what_it_explains_and_of_nothing_else():
    for explains, kinds in ((True, ["wrong-plan"]), (False, ["not-climbing", "wrong-plan"])):
        night = Night.of("wrong-plan", "not-climbing")
        stall = finding("not-climbing", Rank.LOOK)
        night.see(3600.0, stall)
        night.see(60.0, stall, another_plan(explains=explains))
        assert sorted(alert.kind for alert in night.board.alerts if alert.under is None) == kinds


def test_what_came_of_another_plan_before_it_was_known_stands_under_it():
    for explains in (True, False):
        night = Night.of("wrong-plan", "heating-too-fast", "not-climbing", "haze-range")
        night.see(600.0, finding("heating-too-fast", Rank.LOOK), finding("haze-range", Rank.LOOK))
        night.see(900.0)
        night.see(600.0, finding("not-climbing", since_s=1500.0))
        night.see(900.0)
        night.see(60.0, replace(another_plan(explains=explains), rank=Rank.LOG))
        assert not any(alert.under for alert in night.board.alerts), "it is not sure yet"
        told = night.see(60.0, another_plan(explains=explains))
        under = {alert.kind: alert.under for alert in night.board.alerts}
        # What woke keeps its place, and the haze is no matter of the plan.
        assert under == {"heating-too-fast": "wrong-plan" if explains else None, "not-climbing": None,
                         "haze-range": None, "wrong-plan": None}
        assert [change.silent for change in told] == [False, True][:len(told)]
