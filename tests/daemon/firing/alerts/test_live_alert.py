"""What an alert that stands has to do with a new finding, each question by itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.alerts.live_alert import (
    LiveAlert,
    end_quiet,
    is_the_same,
    is_vaguer,
    knows,
    make_quiet,
    speaks_for,
)
from daemon.firing.events import Alert, Rank, Text
from daemon.firing.kind import SAME_TROUBLE_S, AtBeats, Family, Finding, Kind, Vaguer

TEXT = Text("What.", "Means.", "Do.")
LOG, LOOK, WAKE = Rank.LOG, Rank.LOOK, Rank.WAKE


def kind(name="stall", **fields):
    return Kind(name=name, watch=AtBeats(lambda setup: None), words=lambda finding, speaker: TEXT, examples=(),
                on_delay_s=0.0, off_delay_s=0.0, **fields)


def finding(rank=WAKE, since_s=0.0, step=4, **fields):
    return Finding(kind(**fields), rank, since_s, None, step)


def alert(rank=LOOK, raised_s=100.0, since_s=0.0, **fields):
    return Alert(1, "stall", rank, since_s, raised_s, TEXT, **{"step": 4, **fields})


def live(rank=LOOK, raised_s=100.0, family=Family.KILN, rises_within_s=360.0, **fields):
    found = finding(rank, family=family, rises_within_s=rises_within_s)
    return LiveAlert(alert(rank, raised_s, **fields), found, raised_s, raised_s, 0.0, 0.0)


# --- known already ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("rank", "fields", "is_known"), [
    (LOOK, {}, True),
    (LOG, {}, True),
    (WAKE, {}, False),  # louder
    (LOOK, {"name": "other"}, False),  # a name it never had
    (LOOK, {"may_be_quieted": False}, True),
])
def test_an_alert_knows_what_it_was_named_before_unless_it_is_louder(rank, fields, is_known):
    had = alert(named=((50.0, "older"), (80.0, "stall")))
    assert knows(had, finding(rank, **fields), 200.0) is is_known


def test_a_runaway_is_never_known_under_another_name():
    had = alert(WAKE, named=((50.0, "stall"),))
    assert knows(had, finding(WAKE), 200.0)
    assert not knows(had, finding(WAKE, may_be_quieted=False), 200.0)


@pytest.mark.parametrize(("since_s", "now_s", "is_known"), [
    (99.0, 5000.0, True),  # began before it was raised
    (101.0, 101.0 + SAME_TROUBLE_S, True),
    (101.0, 102.0 + SAME_TROUBLE_S, False),  # began later, and goes on by itself
])
def test_what_began_later_and_lasts_is_trouble_of_its_own(since_s, now_s, is_known):
    assert knows(alert(named=((50.0, "stall"),)), finding(LOOK, since_s), now_s) is is_known


# --- the same past event ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("found", "is_same"), [
    (finding(LOOK, 1119.0, is_past_event=True), True),
    (finding(LOOK, 881.0, is_past_event=True), True),
    (finding(LOOK, 1121.0, is_past_event=True), False),
    (finding(LOOK, 879.0, is_past_event=True), False),
    (finding(LOOK, 1000.0, is_past_event=False), False),
    (finding(LOOK, 1000.0, is_past_event=True, name="other"), False),
    (finding(LOOK, 1000.0, step=5, is_past_event=True), False),
    (finding(WAKE, 1000.0, is_past_event=True), False),  # louder than it was told
])
def test_a_past_event_is_told_once(found, is_same):
    assert is_the_same(alert(since_s=1000.0, cleared_s=1600.0), found) is is_same


# --- a sharper name -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("vaguer", "standing", "now_s", "may_go"), [
    (Vaguer("stall"), live(), 200.0, True),
    (Vaguer(Family.PLAN), live(family=Family.PLAN), 200.0, True),
    (Vaguer("other"), live(), 200.0, False),
    (Vaguer(Family.PLAN), live(), 200.0, False),
    (Vaguer("stall", within_s=50.0), live(), 149.0, True),
    (Vaguer("stall", within_s=50.0), live(), 151.0, False),
    (Vaguer("stall", is_uncaused=True), live(), 200.0, True),
    (Vaguer("stall", is_uncaused=True), live(under="cut"), 200.0, False),
    (Vaguer("stall"), live(under="cut"), 200.0, True),
    (Vaguer("stall", below=WAKE), live(LOOK), 200.0, True),
    (Vaguer("stall", below=WAKE), live(WAKE), 200.0, False),
])
def test_a_name_may_be_replaced_where_the_sharper_kind_says_so(vaguer, standing, now_s, may_go):
    assert is_vaguer(standing, vaguer, now_s) is may_go


# --- quiet ----------------------------------------------------------------------------------------------------


def test_quiet_is_as_long_as_the_longest_that_was_asked_for_and_ends():
    one = live()
    one.severity_c = 640.0
    make_quiet(one, 900.0)
    make_quiet(one, 700.0)
    assert (one.quiet_until_s, one.alert.quiet_until_s, one.heard_severity_c) == (900.0, 900.0, 640.0)
    one.asked_quiet = True
    end_quiet(one)
    assert (one.quiet_until_s, one.alert.quiet_until_s, one.asked_quiet) == (0.0, None, False)


def test_a_kind_that_may_not_be_quieted_is_heard_all_the_same():
    one = live()
    one.finding = replace(one.finding, kind=kind(may_be_quieted=False))
    one.severity_c = 900.0
    make_quiet(one, 900.0)
    assert (one.quiet_until_s, one.alert.quiet_until_s, one.heard_severity_c) == (0.0, None, 900.0)


# --- causes ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("cause", "rank", "now_s", "speaks"), [
    (live(WAKE), WAKE, 10_000.0, True),
    (live(LOOK), WAKE, 459.0, True),  # 359 s old: it may still rise
    (live(LOOK), WAKE, 461.0, False),
    (live(LOOK), LOOK, 461.0, True),
    (live(LOOK, rises_within_s=0.0), WAKE, 101.0, False),
])
def test_a_cause_speaks_for_what_is_no_louder_or_while_it_is_young(cause, rank, now_s, speaks):
    assert speaks_for(cause, finding(rank), now_s) is speaks
