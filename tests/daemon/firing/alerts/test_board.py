"""The life of an alert, as the table at the head of daemon/firing/alerts/board.py has it, whatever comes and when."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, replace
from itertools import pairwise

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from daemon.firing.alerts.board import (
    ACKNOWLEDGED_QUIET_S,
    LEAST_QUIET_S,
    LONGEST_QUIET_S,
    WORSE_C,
    Board,
)
from daemon.firing.alerts.registry import KINDS
from daemon.firing.alerts.telling import FLOOD_MOST
from daemon.firing.events import Alert, AlertChanged, Rank, Said, Saying, Text
from daemon.firing.kind import RESOUND_S, Family, Finding, Kind
from daemon.firing.situation.view import Phase

BEAT_S = 20.0
SOUNDS = ("raised", "woke", "resounded")


BY_NAME = {kind.name: kind for kind in KINDS}
RUNAWAY_RESOUND_S = BY_NAME["over-temperature"].resound_s


def words(finding: Finding) -> Text:
    return Text(f"{finding.kind.name} {finding.severity_c:g}", "It means.", "Do.")


def finding(kind: str, rank: Rank = Rank.WAKE, since_s: float = 0.0, severity_c: float = 0.0) -> Finding:
    known = BY_NAME[kind]
    return Finding(known, rank, since_s, known.examples[0].facts, severity_c=severity_c)


def another_plan(*, explains: bool) -> Finding:
    plain = finding("wrong-plan", Rank.LOOK)
    return replace(plain, facts=replace(plain.facts, explains=explains))


@dataclass
class Night:
    """A board with a clock of its own: says what it told."""

    kinds: tuple[Kind, ...]
    board: Board
    t_s: float
    changes: list[AlertChanged]

    @classmethod
    def of(cls, *kinds: str) -> Night:
        return cls(tuple(BY_NAME[kind] for kind in kinds), Board(KINDS, words), 0.0, [])

    def see(self, for_s: float, *found: Finding) -> list[AlertChanged]:
        """Judge the same findings every beat for a while; return what that changed."""
        told = []
        until_s = self.t_s + for_s
        while self.t_s < until_s:
            told += self.board.judge(self.t_s, found, self.kinds)
            self.t_s += BEAT_S
        self.changes += told
        return told

    def say(self, what: Saying, alert_no: int | None = None, for_s: float | None = None) -> list[AlertChanged]:
        return self.board.hear(Said(self.t_s, what, alert_no, for_s))


def names(changes: list[AlertChanged]) -> list[str]:
    return [change.change for change in changes]


def times(changes: list[AlertChanged], *which: str) -> list[float]:
    return [change.t_s for change in changes if change.change in which]


# --- raised and over -----------------------------------------------------------------------------


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


# --- rank ----------------------------------------------------------------------------------------


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


# --- sounding again ------------------------------------------------------------------------------


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


# --- acknowledged and quiet ----------------------------------------------------------------------


def test_an_acknowledged_wake_is_quiet_for_ten_minutes_and_then_sounds_again():
    night = Night.of("not-cooling")
    night.see(120.0, finding("not-cooling"))
    said = night.say(Saying.ACKNOWLEDGE)
    assert names(said) == ["acknowledged"]
    assert said[0].alert.acknowledged_s == night.t_s
    night.see(1800.0, finding("not-cooling"))
    after = times(night.changes, "resounded")
    assert after[0] == said[0].t_s + 600.0 == said[0].t_s + ACKNOWLEDGED_QUIET_S
    assert after[1] == after[0] + RESOUND_S


@pytest.mark.parametrize(("asked_s", "quiet_s"), [(300.0, 300.0), (1800.0, 1800.0), (86_400.0, LONGEST_QUIET_S),
                                                  (None, LONGEST_QUIET_S)])
def test_quiet_is_as_long_as_asked_and_half_an_hour_at_most(asked_s, quiet_s):
    night = Night.of("not-cooling")
    night.see(300.0, finding("not-cooling"))
    said = night.say(Saying.QUIET, for_s=asked_s)
    assert names(said) == ["quieted"]
    night.see(7200.0, finding("not-cooling"))
    assert times(night.changes, "resounded")[0] == pytest.approx(said[0].t_s + quiet_s, abs=BEAT_S)


def test_ten_degrees_worse_sounds_in_the_quiet():
    assert WORSE_C == 10.0
    night = Night.of("not-cooling")
    night.see(120.0, finding("not-cooling", severity_c=600.0))
    night.say(Saying.ACKNOWLEDGE)
    assert night.see(60.0, finding("not-cooling", severity_c=600.0 + WORSE_C - 0.1)) == []
    assert names(night.see(60.0, finding("not-cooling", severity_c=600.0 + WORSE_C))) == ["resounded"]
    assert night.see(60.0, finding("not-cooling", severity_c=605.0 + WORSE_C)) == []
    assert names(night.see(60.0, finding("not-cooling", severity_c=600.0 + 2 * WORSE_C))) == ["resounded"]


def test_a_higher_rank_ends_the_quiet():
    night = Night.of("not-cooling")
    night.see(120.0, finding("not-cooling", Rank.LOOK))
    night.say(Saying.ACKNOWLEDGE)
    night.say(Saying.QUIET)
    night.see(1000.0, finding("not-cooling"))
    assert times(night.changes, *SOUNDS)[1:] == [120.0, 420.0, 720.0, 1020.0]


def test_its_return_sounds_again():
    night = Night.of("not-cooling")
    night.see(120.0, finding("not-cooling"))
    night.say(Saying.QUIET)
    night.see(400.0)
    assert names(night.see(120.0, finding("not-cooling"))) == ["raised"]


def test_one_alert_can_be_acknowledged_by_its_number():
    night = Night.of("over-temperature", "haze-range")
    night.see(120.0, finding("over-temperature"), finding("haze-range"))
    assert [c.alert.no for c in night.say(Saying.ACKNOWLEDGE, alert_no=2)] == [2]
    assert [c.alert.no for c in night.say(Saying.ACKNOWLEDGE)] == [1, 2]
    assert night.say(Saying.ACKNOWLEDGE, alert_no=7) == []


def test_nothing_is_said_of_what_is_over():
    night = Night.of("not-cooling")
    night.see(120.0, finding("not-cooling"))
    night.see(600.0)
    assert night.say(Saying.ACKNOWLEDGE) == []
    assert night.say(Saying.QUIET, alert_no=1) == []


def test_a_quiet_that_was_asked_for_ends_with_the_phase():
    night = Night.of("not-cooling")
    night.board.enter(Phase.FALL)
    night.see(300.0, finding("not-cooling"))
    night.say(Saying.QUIET)
    assert night.board.alerts[0].quiet_until_s == night.t_s + LONGEST_QUIET_S
    night.see(400.0, finding("not-cooling"))
    night.board.enter(Phase.FALL)
    assert night.see(60.0, finding("not-cooling")) == []
    night.board.enter(Phase.ANNEAL)
    assert night.board.alerts[0].quiet_until_s is None
    assert names(night.see(60.0, finding("not-cooling"))) == ["resounded"]


def test_an_acknowledgement_does_not_end_with_the_phase():
    night = Night.of("not-cooling")
    night.see(120.0, finding("not-cooling"))
    night.say(Saying.ACKNOWLEDGE)
    night.board.enter(Phase.ANNEAL)
    assert night.see(500.0, finding("not-cooling")) == []


def test_a_runaway_can_be_acknowledged_and_is_never_quiet():
    night = Night.of("over-temperature")
    night.see(30.0, finding("over-temperature"))
    assert night.say(Saying.QUIET) == []
    assert names(night.say(Saying.ACKNOWLEDGE)) == ["acknowledged"]
    assert night.board.alerts[0].quiet_until_s is None


def test_a_step_says_the_rank_before_it():
    night = Night.of("firing-stopped")
    for rank in Rank:
        night.see(120.0, finding("firing-stopped", rank))
    assert [(change.before, change.alert.rank) for change in night.changes] == [
        (None, Rank.LOG), (Rank.LOG, Rank.LOOK), (Rank.LOOK, Rank.WAKE)]


# --- no storm ------------------------------------------------------------------------------------


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


# --- causes, consequences and names --------------------------------------------------------------


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


# --- whatever happens ----------------------------------------------------------------------------

SPELLS = st.lists(st.tuples(
    st.sampled_from(tuple(BY_NAME)), st.integers(0, 250), st.integers(1, 120), st.sampled_from(list(Rank)),
    st.sampled_from((0.0, 0.5, 2.0)),
), max_size=8)
SAYINGS = st.lists(st.tuples(st.integers(0, 300), st.sampled_from((Saying.ACKNOWLEDGE, Saying.QUIET)),
                             st.none() | st.integers(1, 4), st.sampled_from((None, 60.0, 900.0, 9e9))), max_size=5)


@pytest.mark.slow
@settings(max_examples=150)
@example([("sensor-fault", 0, 1, Rank.WAKE, 0.0), ("sensor-fault", 4, 12, Rank.WAKE, 0.0)], [])
@example([("sensor-fault", 2, 10, Rank.LOOK, 0.0), ("reading-flickers", 0, 120, Rank.LOOK, 0.0),
          ("reading-flickers", 0, 90, Rank.LOG, 0.0)], [])  # a loss is over when the flicker becomes a look
@given(SPELLS, SAYINGS)
def test_whatever_comes_an_alert_keeps_its_life(spells, sayings):
    board, told, at_beat = Board(KINDS, words), [], defaultdict(dict)
    for kind, begin, length, rank, worse in spells:
        for beat in range(begin, begin + length):
            at_beat[beat][kind] = finding(kind, rank, begin * BEAT_S, severity_c=worse * (beat - begin))
    said = defaultdict(list)
    for beat, what, alert_no, for_s in sayings:
        said[beat].append(Said(beat * BEAT_S, what, alert_no, for_s))
    for beat in range(410):
        for saying in said[beat]:
            told += board.hear(saying)
        told += board.judge(beat * BEAT_S, list(at_beat[beat].values()), KINDS)

    check_no_storm(told)
    lives = defaultdict(list)
    for change in told:
        lives[change.alert.no].append(change)
    assert list(lives) == list(range(1, len(lives) + 1))  # numbers rise, none is left out
    assert [alert.no for alert in board.alerts] == list(lives)
    for alert in board.alerts:
        life = lives[alert.no]
        assert life[0].change == "raised"
        assert names(life).count("raised") == 1
        assert names(life).count("over") == (alert.cleared_s is not None)
        after = life[names(life).index("over") + 1:] if "over" in names(life) else []
        assert all(change.silent and change.change == "sharpened" for change in after)  # it may be listed
        heights = [change.alert.rank.height for change in life]
        assert heights == sorted(heights)
        assert (alert.woke_s is not None) == (alert.rank is Rank.WAKE)
        assert names(life).count("woke") <= 1
        assert alert.since_s <= alert.raised_s <= (alert.woke_s or alert.raised_s)
        assert life[-1].alert == alert
        check_sounds(alert, life)
    # The last spell ends before beat 370, and no off-delay is longer than ten minutes.
    assert all(alert.cleared_s is not None for alert in board.alerts)


def check_no_storm(told: list[AlertChanged]) -> None:
    """One cause is told once at each rank within its re-sound time, but for getting worse after an answer."""
    last_s: dict[tuple[str, Rank], float] = {}
    for change in told:
        alert = change.alert
        risen = change.change in ("raised", "woke", "sharpened") and change.before is not alert.rank
        again = change.change == "resounded" and alert.acknowledged_s is None
        if change.silent or alert.rank is Rank.LOG or alert.under is not None or not (risen or again):
            continue
        due_s = RUNAWAY_RESOUND_S if alert.kind == "over-temperature" else RESOUND_S
        before_s = last_s.get((alert.kind, alert.rank), float("-inf"))
        assert change.t_s - before_s >= due_s, (alert.kind, alert.rank, before_s, change)
        last_s[alert.kind, alert.rank] = change.t_s


def check_sounds(alert: Alert, life: list[AlertChanged]) -> None:
    """Nothing but a wake of its own sounds again, and never before it is due but for getting worse.

    One that comes back in silence counts from when it was last told, which check_no_storm holds.
    """
    last_s, rank = float("-inf"), life[0].alert.rank
    for change in life:
        if change.change == "resounded":
            assert change.alert.rank is Rank.WAKE
            assert change.alert.under is None
            due_s = RUNAWAY_RESOUND_S if alert.kind == "over-temperature" else RESOUND_S
            assert change.t_s - last_s >= due_s or change.alert.acknowledged_s is not None
        if not change.silent and (change.change in ("raised", "resounded") or change.alert.rank is not rank):
            last_s = change.t_s
        rank = change.alert.rank


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


def test_the_end_of_a_hold_is_told_once_however_it_flickers():
    night = Night.of("hold-cut-short")
    for _ in range(4):
        night.see(120.0, finding("hold-cut-short", since_s=60.0))
        night.see(900.0)
    assert [alert.no for alert in night.board.alerts] == [1]
    night.see(120.0, finding("hold-cut-short", since_s=night.t_s))  # another hold's
    assert [alert.no for alert in night.board.alerts] == [1, 2]


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


def with_time_left(left_s: float) -> tuple[Board, list[float]]:
    """Return a board whose one alert has time to act until the fall is over, and that time in a list to change."""
    left = [left_s]
    board = Board(KINDS, lambda finding: Text(f"{finding.severity_c:g} °C now.", "It means.", "Do.", left[0]))
    return board, left


def stop(severity_c: float = 500.0) -> Finding:
    return finding("firing-stopped", severity_c=severity_c)


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


def test_who_is_up_is_left_in_peace_until_the_time_to_act_runs_out():
    for left_s, quiet_s in ((1080.0, 1080.0), (30.0, LEAST_QUIET_S), (7200.0, LONGEST_QUIET_S)):
        board, _ = with_time_left(left_s)
        kind = BY_NAME["firing-stopped"]
        for t_s in (0.0, 20.0):
            board.judge(t_s, [stop()], [kind])
        board.hear(Said(20.0, Saying.ACKNOWLEDGE, 1))
        assert board.alerts[0].quiet_until_s == 20.0 + quiet_s
        sounded = [t_s for t_s in range(30, int(20 + max(quiet_s, RESOUND_S)) + 60, 10)
                   if any(c.change == "resounded" for c in board.judge(float(t_s), [stop()], [kind]))]
        assert sounded[0] == max(20.0 + quiet_s, 20.0 + RESOUND_S)


def test_who_watches_the_kilns_own_display_is_not_rung_for_a_dead_sensor_again():
    board = Board(KINDS, lambda finding: Text(finding.kind.name, "It means.", "Do."))
    dead, stopped = BY_NAME["sensor-fault"], BY_NAME["firing-stopped"]
    blind = finding("sensor-fault")
    told = board.judge(0.0, [blind], [dead])
    assert [(c.change, c.silent) for c in told] == [("raised", False)]
    assert [c.change for c in board.hear(Said(30.0, Saying.OWN_DISPLAY))] == ["quieted"]
    assert board.is_own_display_watched
    assert all(c.silent for t_s in range(60, 7200, 60) for c in board.judge(float(t_s), [blind], [dead]))
    over = board.judge(7300.0, [], [dead])
    assert [(c.change, c.silent) for c in over] == [("over", False)]  # that it reads again is worth knowing
    again = board.judge(9000.0, [finding("sensor-fault", Rank.LOOK, 9000.0)], [dead])
    louder = board.judge(9060.0, [finding("sensor-fault", Rank.WAKE, 9000.0)], [dead])
    assert all(c.silent for c in (*again, *louder))
    assert board.present[-1].quiet_until_s > 9060.0 + 86_400.0
    for t_s in (9100.0, 9120.0):
        found = board.judge(t_s, [stop()], [stopped])
    assert not found[0].silent  # anything but the sensor still wakes
    board.hear(Said(9200.0, Saying.OWN_DISPLAY_OFF))
    rung = [c for t_s in range(9200, 9600, 20) for c in board.judge(float(t_s), [blind], [dead])]
    assert [c.change for c in rung if not c.silent] == ["resounded"]
