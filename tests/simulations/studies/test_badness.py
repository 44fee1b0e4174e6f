"""How badly the watcher did in one firing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.events import Alert, Rank, Text
from daemon.firing.report import judge
from simulations.studies import badness
from simulations.studies.badness import AIMS, LATE_MIN, loudness, silence
from simulations.studies.delay_targets import DELAY_TARGETS
from simulations.studies.kept import AIM_NAMES
from simulations.studies.study import case_named

QUIET = case_named("clean-1131000000")
POWER_GONE = case_named("power-gone-1")


def alert(kind, rank, raised_s, cleared_s=None, under=None):
    return Alert(1, kind, rank, raised_s, raised_s, Text("", "", ""), raised_s if rank is Rank.WAKE else None,
                 cleared_s, under=under)


@pytest.fixture(scope="module")
def reports():
    """Return a true report of either firing, to be given other alerts."""
    return {case.name: judge(case.setup, case.entries(case.fire())) for case in (QUIET, POWER_GONE)}


@pytest.fixture
def judged(reports, monkeypatch):
    """Return what the watcher's alerts are made by."""
    def use(case, *alerts):
        monkeypatch.setattr(badness, "judge", lambda setup, entries: replace(
            reports[case.name], alerts=tuple(alerts), events=()))
    return use


def test_a_wake_weighs_more_than_any_looks_and_a_longer_one_more_than_a_shorter(judged):
    weights = []
    for alerts in (
        (),
        (alert("sudden-drop", Rank.LOOK, 9000.0, 9300.0),),
        tuple(alert("sudden-drop", Rank.LOOK, 9000.0 + n) for n in range(9)),
        (alert("firing-stopped", Rank.WAKE, 9000.0, 9060.0),),
        (alert("firing-stopped", Rank.WAKE, 9000.0, 9120.0),),
        (alert("firing-stopped", Rank.WAKE, 9000.0),),
        (alert("firing-stopped", Rank.WAKE, 9000.0, 9001.0), alert("sudden-drop", Rank.WAKE, 9500.0, 9501.0)),
    ):
        judged(QUIET, *alerts)
        weights.append(loudness(QUIET).weight)
    assert weights == sorted(weights)
    assert len(set(weights)) == len(weights)


def test_a_consequence_is_no_wake_of_its_own_and_only_wakes_are_mistakes(judged):
    judged(QUIET, alert("sudden-drop", Rank.LOOK, 9000.0), alert("not-cooling", Rank.WAKE, 9000.0, under="x"))
    quiet = loudness(QUIET)
    assert quiet.weight[:3] == (0.0, 0.0, 1.0)
    assert not quiet.is_bad
    judged(QUIET, alert("firing-stopped", Rank.WAKE, 9000.0, 9600.0))
    loud = loudness(QUIET)
    assert loud.is_bad
    assert loud.mechanism.startswith("firing-stopped: ")
    assert "stood for 10 min" in loud.told


def test_a_quiet_firing_that_was_not_run_as_meant_does_not_count(judged, monkeypatch):
    judged(QUIET, alert("firing-stopped", Rank.WAKE, 9000.0))
    monkeypatch.setattr(badness, "is_as_meant", lambda case, course: False)
    assert loudness(QUIET) is None


def test_never_told_is_worse_than_for_the_morning_and_that_than_late(judged):
    (happened,) = POWER_GONE.fire().truth.faults
    found = []
    for alerts in (
        (alert("firing-stopped", Rank.WAKE, happened.at_s + 120.0),),
        (alert("firing-stopped", Rank.WAKE, happened.at_s + 60.0 * (LATE_MIN + 5)),),
        (alert("firing-stopped", Rank.LOOK, happened.at_s + 60.0),),
        (),
    ):
        judged(POWER_GONE, *alerts)
        found.append(silence(POWER_GONE))
    assert [bad.weight[0] for bad in found] == [0.0, 0.0, 1.0, 2.0]
    assert [bad.weight[1] for bad in found] == [2.0, LATE_MIN + 5, 30.0, 30.0]  # the study waits for half an hour
    assert [bad.is_bad for bad in found] == [False, True, True, True]
    kelvins = [bad.weight[2] for bad in found]
    assert 0 < kelvins[0] < kelvins[1] < kelvins[3]


def test_a_fault_that_need_not_wake_or_never_bit_does_not_count():
    assert silence(case_named("anneal-warm-1")) is None
    assert silence(replace(POWER_GONE, faults=())) is None


def test_late_is_beyond_all_that_was_promised_of_a_wake():
    assert max(target.p95 for target in DELAY_TARGETS.values() if target.at == "woke") == LATE_MIN


def test_every_aim_of_the_file_has_its_judge():
    assert tuple(AIMS) == AIM_NAMES
