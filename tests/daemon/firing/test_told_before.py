"""What was told before lines were keyed in stays as told, nothing is told twice, and a replay comes to the same."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import replace

import pytest

from daemon.firing.alerts.board import Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import AlertChanged, Line, Milestone, PartsRevised, Rank, Said, Saying, Text
from daemon.firing.kind import Finding
from daemon.firing.plan.plan import parse_plan, write_plan
from daemon.firing.step import begin, begin_keyed_in, step

LINES = (Line(150.0, 516.0, 3600.0), Line(55.0, 370.0), Line(None, 40.0))
SAME_BEGINNING_S = 120.0


def taken(state, entries):
    """Return the state after all entries, with what they brought about in order."""
    events = []
    for entry in entries:
        state, found = step(state, entry)
        events += found
    return state, events


def press(state, entries, t_s):
    """Key LINES in at ``t_s``; return the state that goes on, the word of the maker, and its setup."""
    plan = state.keyed_in(LINES, "C", "as keyed in", t_s)
    plan = parse_plan(write_plan(plan), "the test's plan")
    setup = replace(state.setup, plan=plan, left=(*state.setup.left, state.setup.plan))
    return begin_keyed_in(setup, state, entries), Said(t_s, Saying.KEYED_IN), setup


def steps(events):
    return [event for event in events if not isinstance(event, PartsRevised)]


def keyed_in_at(night, samples, *presses_s):
    """Return setup, entries, state and events of a firing with LINES keyed in at each second."""
    state, setup, entries, events = begin(night.setup), night.setup, [], []
    for t_s in (*presses_s, None):
        until = len(samples) if t_s is None else bisect_left(samples, t_s, key=lambda sample: sample.t_s)
        state, found = taken(state, samples[:until])
        entries, events, samples = [*entries, *samples[:until]], [*events, *found], samples[until:]
        if t_s is not None:
            state, said, setup = press(state, entries, t_s)
            state, found = step(state, said)
            entries, events = [*entries, said], [*events, *found]
    return setup, entries, state, events


def assert_as_told(night, first_s, *more_s):
    """Key LINES in at ``first_s``, and more times; return the events. The firing goes on for an hour and a half."""
    last_s = max((first_s, *more_s)) + 5400.0
    samples = [sample for sample in night.samples if sample.t_s < last_s]
    setup, entries, state, events = keyed_in_at(night, samples, first_s, *more_s)
    before = [event for event in steps(night.report.events) if event.t_s < first_s]
    assert steps(events)[:len(before)] == before
    assert all(event.t_s >= first_s for event in steps(events)[len(before):])
    told = {event.alert.no: event.alert for event in before if isinstance(event, AlertChanged)}
    alerts = {alert.no: alert for alert in state.board.alerts}
    for no, alert in told.items():
        assert (alerts[no].since_s, alerts[no].raised_s) == (alert.since_s, alert.raised_s)
        assert alert.cleared_s is None or alerts[no] == alert
    for no, alert in alerts.items():
        assert no in told or alert.raised_s >= first_s
        again = [one for one in told.values() if no not in told and one.kind == alert.kind
                 and abs(one.since_s - alert.since_s) < SAME_BEGINNING_S and alerts[one.no].cleared_s != first_s]
        assert not again, "told twice"
    named = [event.name for event in events if isinstance(event, Milestone) and not event.name.startswith("anneal")]
    assert len(named) == len(set(named))
    # Judged anew from the first entry on, as after a restart, it is the same firing.
    again, replayed = taken(begin(setup), entries)
    assert steps(replayed) == steps(events)
    assert again.board.present == state.board.present
    assert (again.found, again.milestones._told) == (state.found, state.milestones._told)
    return events


def raised(night, kind):
    return next(alert.raised_s for alert in night.report.alerts if alert.kind == kind)


@pytest.mark.parametrize(("faults", "kind", "after_min"), [
    ("power-cut=20min@step4:hold", "firing-stopped", (3,)),
    ("power-cut=20min@step4:hold", "firing-stopped", (8, 30)),
    ("flickers=30@step4:hold", "reading-flickers", (10,)),
    ("cooling=2.5@step5:ramp", "cooling-too-fast", (45,)),
    ("runaway@step4:hold+10min", "over-temperature", (5,)),
])
def test_what_was_told_before_the_press_stays_and_nothing_is_told_twice(fired, faults, kind, after_min):
    night = fired("full-fuse-6mm", faults, longest_s=9 * 3600.0)
    assert_as_told(night, *(float(round(raised(night, kind)) + 60 * minutes) for minutes in after_min))


def test_an_alert_that_is_found_by_both_plans_goes_on_under_its_number(fired):
    night = fired("full-fuse-6mm", "runaway@step4:hold+10min", longest_s=9 * 3600.0)
    press_s = raised(night, "over-temperature") + 300.0
    after = [event for event in assert_as_told(night, press_s) if event.t_s >= press_s]
    runaway = [event for event in after if isinstance(event, AlertChanged) and event.alert.kind == "over-temperature"]
    assert {event.alert.no for event in runaway} == {1}
    assert {event.change for event in runaway} == {"resounded"}


def test_the_climb_that_was_keyed_in_is_no_runaway_when_the_power_comes_back_late(fired):
    night = fired("full-fuse-6mm", "power-cut=25min@step4:hold+20min")
    press_s = raised(night, "firing-stopped") + 420.0
    for minutes in (20, 35):  # the climb to 516 °C, and its hold
        samples = [sample for sample in night.samples if sample.t_s < press_s + minutes * 60.0]
        _, _, state, _ = keyed_in_at(night, samples, press_s)
        standing = [alert for alert in state.board.present if alert.cleared_s is None]
        assert [alert.kind for alert in standing if alert.under is None] == ["restarted"]
        assert not any("cools" in alert.text.what or alert.kind == "not-cooling" for alert in standing)


# --- the board that takes over -----------------------------------------------------------------------

BY_NAME = {kind.name: kind for kind in KINDS}


def seen(board, name, from_s, to_s, since_s=None):
    """Let a board find a kind from one second to another at each beat; return what it tells."""
    kind, changes = BY_NAME[name], []
    finding = Finding(kind, Rank.WAKE, from_s if since_s is None else since_s, kind.examples[0].facts)
    for t_s in range(from_s, to_s, 20):
        changes += board.judge(float(t_s), [finding], [kind])
    return changes


def boards():
    return Board(KINDS, lambda finding: Text("Told.", "", "")), Board(KINDS, lambda finding: Text("Anew.", "", ""))


def test_what_only_the_new_plan_finds_is_told_from_the_press_on():
    told, anew = boards()
    seen(anew, "firing-stopped", 1000, 1400)
    assert anew.take_over(told, 1400.0) == []
    assert anew.alerts == ()
    raised_s = 1400 + int(BY_NAME["firing-stopped"].on_delay_s)
    (change,) = seen(anew, "firing-stopped", 1400, raised_s + 20, since_s=1000)
    assert (change.change, change.silent, change.alert.no) == ("raised", False, 1)
    assert change.t_s == pytest.approx(raised_s, abs=20)


def test_what_ends_with_the_press_speaks_for_no_trouble_after_it():
    told, anew = boards()
    seen(told, "firing-stopped", 1000, 1400)
    (over,) = anew.take_over(told, 1400.0)
    assert (over.change, over.silent, over.t_s) == ("over", True, 1400.0)
    changes = seen(anew, "cooling-too-fast", 1460, 1500)
    assert [(change.change, change.alert.under, change.alert.rank) for change in changes] == [
        ("raised", None, Rank.WAKE)]


def test_a_past_event_from_before_the_press_is_not_told_after_it():
    told, anew = boards()
    anew.take_over(told, 1400.0)
    assert seen(anew, "hold-cut-short", 1400, 2400, since_s=1390) == []
    assert [change.change for change in seen(anew, "hold-cut-short", 2400, 2600, since_s=1410)] == ["raised"]


def test_a_quiet_that_was_asked_for_goes_on():
    told, anew = boards()
    for board in (told, anew):
        seen(board, "firing-stopped", 1000, 1400)
    told.hear(Said(1390.0, Saying.QUIET, for_s=900.0))
    assert anew.take_over(told, 1400.0) == []
    assert seen(anew, "firing-stopped", 1400, 2280) == []
    assert [change.t_s for change in seen(anew, "firing-stopped", 2280, 2320)] == [2300.0]
