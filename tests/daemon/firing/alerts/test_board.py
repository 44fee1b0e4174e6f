"""The life of an alert, as the table at the head of daemon/firing/alerts/board.py has it, whatever comes and when."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from daemon.firing.alerts.board import Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.alerts.telling import FLOOD_MOST
from daemon.firing.events import Rank, Saying
from daemon.firing.kind import RESOUND_S, Finding, Kind
from tests.daemon.firing.alerts.night import (
    BEAT_S,
    BY_NAME,
    RUNAWAY_RESOUND_S,
    SOUNDS,
    Night,
    finding,
    names,
    stop,
    times,
    with_time_left,
    words,
)


@pytest.mark.parametrize("kind", BY_NAME)
def test_an_alert_is_raised_after_its_on_delay_and_over_after_its_off_delay(kind):
    night, timing = Night.of(kind), BY_NAME[kind]
    seen = night.see(600.0, finding(kind, Rank.LOOK))
    assert names(seen) == ["raised"]
    assert timing.on_delay_s <= seen[0].t_s < timing.on_delay_s + BEAT_S
    gone = night.see(1200.0)
    assert names(gone) == ["over"]
    assert timing.off_delay_s <= gone[0].t_s - (600.0 - BEAT_S) < timing.off_delay_s + BEAT_S
    alert, = night.board.alerts
    assert (alert.raised_s, alert.cleared_s, alert.woke_s) == (seen[0].t_s, gone[0].t_s, None)


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS if kind.on_delay_s > BEAT_S])
def test_what_flickers_faster_than_its_on_delay_is_never_told(kind):
    night = Night.of(kind)
    for _ in range(50):
        night.see(BY_NAME[kind].on_delay_s, finding(kind))
        night.see(BEAT_S)
    assert night.changes == []


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS if kind.on_delay_s >= BEAT_S])
def test_a_look_wakes_once_it_has_been_worth_it_for_its_on_delay(kind):
    night, delay_s = Night.of(kind), BY_NAME[kind].on_delay_s
    night.see(600.0, finding(kind, Rank.LOOK))
    for _ in range(20):
        night.see(delay_s, finding(kind))
        night.see(BEAT_S, finding(kind, Rank.LOOK))
    assert names(night.changes) == ["raised"]
    began_s = night.t_s
    assert times(night.see(600.0, finding(kind)), "woke") == [began_s + delay_s]


@pytest.mark.parametrize("kind", BY_NAME)
def test_what_is_worth_a_wake_from_the_first_wakes_as_it_is_raised(kind):
    night = Night.of(kind)
    assert times(night.see(120.0, finding(kind)), "raised", "woke") == [BY_NAME[kind].on_delay_s]
    assert night.board.alerts[0].woke_s == BY_NAME[kind].on_delay_s


@pytest.mark.parametrize("kind", BY_NAME)
def test_what_comes_back_within_its_off_delay_is_the_same_alert(kind):
    night, timing = Night.of(kind), BY_NAME[kind]
    night.see(120.0, finding(kind, Rank.LOOK))
    for _ in range(5):
        night.see(timing.off_delay_s - BEAT_S)
        night.see(60.0, finding(kind, Rank.LOOK))
    assert names(night.changes) == ["raised"]


def test_what_comes_back_later_is_a_new_alert_with_the_next_number():
    night = Night.of("not-cooling")
    for _ in range(3):
        night.see(600.0, finding("not-cooling"))
        night.see(1200.0)
    assert [alert.no for alert in night.board.alerts] == [1, 2, 3]
    assert all(alert.cleared_s is not None for alert in night.board.alerts)


def test_a_wake_that_is_judged_no_more_sounds_again():
    night = Night.of("sensor-fault")
    assert names(night.see(BEAT_S, finding("sensor-fault"))) == ["raised"]
    told = [change for beat in range(1, 17)
            for change in night.board.judge(beat * BEAT_S, [], (BY_NAME["not-cooling"],))]
    assert [(change.t_s, change.change) for change in told] == [(300.0, "resounded")]


def test_a_kind_that_is_not_judged_is_neither_raised_nor_over():
    night = Night.of("not-cooling")
    night.see(120.0, finding("not-cooling"))
    told = [change for beat in range(100)
            for change in night.board.judge(120.0 + beat * BEAT_S, [], (BY_NAME["sensor-fault"],))]
    assert set(names(told)) == {"resounded"}  # blind, nothing says that it is over: it goes on ringing


def test_a_rank_rises_and_never_falls():
    night = Night.of("firing-stopped")
    night.see(120.0, finding("firing-stopped", Rank.LOG))
    assert names(night.see(120.0, finding("firing-stopped", Rank.LOOK))) == ["sharpened"]
    woke = night.see(60.0, finding("firing-stopped", Rank.WAKE))
    assert names(woke) == ["woke"]
    night.see(200.0, finding("firing-stopped", Rank.LOG))
    alert, = night.board.alerts
    assert (alert.rank, alert.woke_s) == (Rank.WAKE, woke[0].t_s)


def test_a_wake_at_once_is_told_once_and_counts_as_woke():
    night = Night.of("restarted")
    told = night.see(120.0, finding("restarted"))
    assert names(told) == ["raised"]
    assert told[0].alert.woke_s == told[0].t_s


@pytest.mark.parametrize("rank", [Rank.LOG, Rank.LOOK])
def test_only_a_wake_sounds_again(rank):
    night = Night.of("not-cooling")
    night.see(7200.0, finding("not-cooling", rank))
    assert names(night.changes) == ["raised"]


def test_a_wake_that_nobody_answers_sounds_every_five_minutes():
    night = Night.of("not-cooling")
    night.see(3600.0, finding("not-cooling"))
    sounded = times(night.changes, *SOUNDS)
    assert len(sounded) == 12
    assert {b - a for a, b in pairwise(sounded)} == {300.0} == {RESOUND_S}


def test_a_runaway_sounds_every_minute_whatever_is_said():
    night = Night.of("over-temperature")
    night.see(60.0, finding("over-temperature"))
    for _ in range(20):
        night.say(Saying.ACKNOWLEDGE)
        night.say(Saying.QUIET, for_s=1800.0)
        night.see(60.0, finding("over-temperature"))
    sounded = times(night.changes, *SOUNDS)
    assert {b - a for a, b in pairwise(sounded)} == {60.0} == {RUNAWAY_RESOUND_S}


def test_what_sounds_again_says_how_it_is_now():
    night = Night.of("not-cooling")
    night.see(290.0, finding("not-cooling", severity_c=600.0))
    again = night.see(120.0, finding("not-cooling", severity_c=607.0))
    assert [change.alert.text.what for change in again] == ["not-cooling 607"]


def test_what_is_no_longer_seen_stops_sounding_before_it_is_over():
    night = Night.of("not-cooling")
    night.see(290.0, finding("not-cooling"))
    assert names(night.see(600.0)) == ["over"]


def test_a_step_says_the_rank_before_it():
    night = Night.of("firing-stopped")
    for rank in Rank:
        night.see(120.0, finding("firing-stopped", rank))
    assert [(change.before, change.alert.rank) for change in night.changes] == [
        (None, Rank.LOG), (Rank.LOG, Rank.LOOK), (Rank.LOOK, Rank.WAKE)]


def test_a_wake_back_too_soon_is_raised_in_silence_and_sounds_when_it_is_due():
    night = Night.of("sudden-drop")
    night.see(20.0, finding("sudden-drop"))
    night.see(60.0)
    night.see(600.0, finding("sudden-drop"))
    raised = [change for change in night.changes if change.change == "raised"]
    assert [change.silent for change in raised] == [False, True]
    assert times(night.changes, "resounded") == [RESOUND_S, 2 * RESOUND_S]
    over, = night.see(60.0)
    assert (over.change, over.silent) == ("over", False), "it was heard at last"


def test_what_was_never_told_is_not_told_to_be_over():
    night = Night.of("sudden-drop")
    night.see(20.0, finding("sudden-drop", Rank.LOOK))
    night.see(60.0)
    night.see(20.0, finding("sudden-drop", Rank.LOOK))
    night.see(60.0)
    assert [(change.change, change.silent) for change in night.changes] == [
        ("raised", False), ("over", False), ("raised", True), ("over", True)]


def ends(night: Night) -> list[tuple[float, bool]]:
    """Return when an alert was over, and whether in silence."""
    return [(change.t_s, change.silent) for change in night.changes if change.change == "over"]


def test_an_end_is_told_once_in_five_minutes():
    night, dropped = Night.of("sudden-drop"), finding("sudden-drop", Rank.LOOK)
    night.see(240.0, dropped)
    night.see(80.0)
    night.see(40.0, dropped)  # 320 s after the first, and told again
    night.see(80.0)
    assert [silent for _, silent in ends(night)] == [False, True]


def test_an_end_in_silence_does_not_silence_the_next_one():
    night, dropped = Night.of("sudden-drop"), finding("sudden-drop", Rank.LOOK)
    night.see(200.0, dropped)
    night.see(40.0)
    night.see(340.0, dropped)  # 240 s after the first: in silence, and so is its end
    night.see(60.0)
    night.see(40.0, dropped)  # told
    night.see(80.0)
    assert [silent for _, silent in ends(night)] == [False, True, False]


def test_when_its_quiet_is_over_an_alert_shows_none():
    night = Night.of("not-cooling")
    night.see(200.0, finding("not-cooling", Rank.LOOK))
    night.say(Saying.QUIET, for_s=60.0)
    assert night.board.alerts[0].quiet_until_s == night.t_s + 60.0
    night.see(100.0, finding("not-cooling", Rank.LOOK))
    assert night.board.alerts[0].quiet_until_s is None


def test_in_a_flood_a_look_only_stands_on_the_page_and_a_wake_still_sounds():
    board = Board(KINDS, words)
    raised = [change for beat in range(10) for kind in KINDS
              for change in board.judge(BEAT_S * beat, [finding(kind.name, Rank.LOOK, -1e6)], (kind,))
              if change.change == "raised" and change.alert.under is None]
    assert [change.silent for change in raised] == [False] * FLOOD_MOST + [True] * (len(raised) - FLOOD_MOST)
    assert len(raised) > FLOOD_MOST
    woke = board.judge(201.0, [finding("over-temperature")], (BY_NAME["over-temperature"],))
    assert [(change.change, change.silent) for change in woke] == [("woke", False)]


@pytest.mark.parametrize(("apart_s", "silent"), [(140.0, True), (160.0, False)])
def test_a_flood_is_more_than_four_looks_within_ten_minutes(apart_s, silent):
    kinds = [replace_name(BY_NAME["haze-range"], f"look-{number}") for number in range(5)]
    board = Board(kinds, words)
    told = [change for number, kind in enumerate(kinds)
            for change in board.judge(apart_s * number, [Finding(kind, Rank.LOOK, 0.0, None)], (kind,))]
    assert [(change.change, change.silent) for change in told] == [("raised", False)] * 4 + [("raised", silent)]
    over = [change for change in board.judge(9999.0, [], kinds) if change.change == "over"]
    assert [change.silent for change in over] == [False] * 4 + [silent]  # of what was never told no end is told


def test_the_end_of_what_is_only_noted_is_silent():
    night = Night.of("haze-range")
    night.see(120.0, finding("haze-range", Rank.LOG))
    night.see(1200.0)
    assert [(change.change, change.silent) for change in night.changes] == [("raised", False), ("over", True)]


def replace_name(kind: Kind, name: str) -> Kind:
    """Return a kind by another name, told as soon as it is found."""
    return replace(kind, name=name, on_delay_s=0.0)


def test_with_the_probe_out_all_is_over_in_silence_and_nothing_rings():
    night = Night.of("not-cooling", "haze-range")
    night.see(120.0, finding("not-cooling"), finding("haze-range"))
    laid = night.board.lay_down(night.t_s)
    assert [(change.change, change.silent) for change in laid] == [("over", True)] * 2
    assert night.see(600.0) == []
    assert all(alert.cleared_s == 120.0 for alert in night.board.alerts)


def test_the_end_of_a_hold_is_told_once_however_it_flickers():
    night = Night.of("hold-cut-short")
    for _ in range(4):
        night.see(120.0, finding("hold-cut-short", since_s=60.0))
        night.see(900.0)
    assert [alert.no for alert in night.board.alerts] == [1]
    night.see(120.0, finding("hold-cut-short", since_s=night.t_s))  # another hold's
    assert [alert.no for alert in night.board.alerts] == [1, 2]


def test_a_board_is_idle_until_something_is_found_and_after_it_is_over():
    night = Night.of("not-cooling")
    assert night.board.is_idle is True
    night.see(BEAT_S, finding("not-cooling"))  # told after a minute
    assert night.board.is_idle is False
    night.see(200.0, finding("not-cooling"))
    assert night.board.is_idle is False
    night.see(1200.0)
    assert night.board.is_idle is True


def test_a_standing_alert_is_told_as_it_is_now():
    night = Night.of("not-cooling", "over-temperature")
    night.see(200.0, finding("not-cooling", severity_c=700.0), finding("over-temperature", severity_c=820.0))
    night.see(BEAT_S, finding("not-cooling", severity_c=710.0), finding("over-temperature", severity_c=830.0))
    by_kind = {alert.kind: alert.no for alert in night.board.alerts}
    assert night.board.text_now(by_kind["not-cooling"]).what == "not-cooling 710"
    assert night.board.text_now(by_kind["over-temperature"]).what == "over-temperature 830"
    night.see(1200.0)
    assert night.board.text_now(by_kind["not-cooling"]) is None


def test_what_stands_is_said_in_the_words_of_the_present_and_the_record_keeps_the_first():
    board, left = with_time_left(1080.0)
    kind = BY_NAME["firing-stopped"]
    for t_s in (0.0, 20.0):
        board.judge(t_s, [stop()], [kind])
    left[0] = 300.0
    board.judge(800.0, [stop(430.0)], [kind])
    (kept,), (now,) = board.alerts, board.present
    assert (kept.text.what, kept.text.before_s) == ("500 °C now.", 20.0 + 1080.0)
    assert (now.text.what, now.text.before_s) == ("430 °C now.", 800.0 + 300.0)
    assert board.text_now(1) == now.text
    assert now.seen_s is None
    board.judge(900.0, [], [kind])
    assert board.present[0].seen_s == 800.0
