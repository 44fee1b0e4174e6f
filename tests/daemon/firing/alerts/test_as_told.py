"""The record decides which alerts there are; a new judgement only says which of those that stand are still found."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.alerts.as_told import as_told, is_as_told
from daemon.firing.alerts.board import Board
from daemon.firing.alerts.live_alert import LiveAlert
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Alert, Rank, Text
from daemon.firing.kind import Finding

TEXT = Text("What.", "Means.", "Do.")
BY_NAME = {kind.name: kind for kind in KINDS}
STOPPED = BY_NAME["firing-stopped"]


def told(no=1, kind="firing-stopped", raised_s=1000.0, **fields):
    return Alert(no, kind, Rank.WAKE, raised_s - 100.0, raised_s, TEXT, woke_s=raised_s, **fields)


def found(alert):
    finding = Finding(BY_NAME[alert.kind], alert.rank, alert.since_s, None)
    return LiveAlert(alert, finding, 2000.0, alert.raised_s, 0.0, 0.0)


def test_what_stands_in_both_keeps_the_number_the_words_and_the_times_of_the_record():
    record = told(no=3, raised_s=1080.0, acknowledged_s=1100.0)
    kept = as_told([found(told(no=1, raised_s=1060.0))], [record])
    assert kept.live["firing-stopped"].alert == record
    assert (kept.gone, kept.unknown) == ((), {})


def test_what_is_over_in_the_record_is_not_opened_again():
    over = told(cleared_s=1500.0)
    kept = as_told([found(told(raised_s=1060.0))], [over])
    assert (kept.live, kept.gone, kept.unknown) == ({}, (), {})


def test_what_began_after_the_one_that_is_over_is_new():
    kept = as_told([found(told(raised_s=1900.0))], [told(cleared_s=1500.0)])
    assert kept.unknown == {"firing-stopped": 1900.0}


def test_one_trouble_under_a_vaguer_name_is_the_same_alert():
    sharp = told(kind="firing-stopped", named=((950.0, "cooling-too-fast"),))
    kept = as_told([found(told(kind="cooling-too-fast"))], [sharp])
    assert kept.live["firing-stopped"].alert == sharp


@pytest.mark.parametrize("change", [
    {"no": 2}, {"rank": Rank.LOOK}, {"cleared_s": 1500.0}, {"acknowledged_s": 1100.0}, {"under": "sudden-drop"},
    {"raised_s": 1020.0}, {"woke_s": None}, {"named": ((950.0, "cooling-too-fast"),)}])
def test_a_record_that_differs_in_one_step_is_not_as_told(change):
    assert is_as_told([told()], [told()])
    assert not is_as_told([told()], [replace(told(), **change)])


def seen(board, from_s, to_s):
    """Let the board find a stopped firing from one second to another; return what it told."""
    finding = Finding(STOPPED, Rank.WAKE, 900.0, STOPPED.examples[0].facts)
    changes = []
    for t_s in range(from_s, to_s, 20):
        changes += board.judge(float(t_s), [finding], [STOPPED])
    return changes


def test_what_stands_in_no_record_is_told_at_the_next_beat_that_finds_it_and_at_no_other():
    board = Board(KINDS, lambda finding: TEXT)
    seen(board, 1000, 1200)
    over = told(no=4, kind="sudden-drop", cleared_s=1100.0)
    assert board.go_on_from_record([over], 1200.0) == []
    assert board.alerts == (over,)
    (raised,) = seen(board, 1200, 1300)
    assert (raised.change, raised.t_s, raised.alert.no, raised.silent) == ("raised", 1200.0, 5, False)


def test_what_stands_in_the_record_and_is_not_found_is_over_now():
    board = Board(KINDS, lambda finding: TEXT)
    (over,) = board.go_on_from_record([told()], 2000.0)
    assert (over.change, over.t_s, over.alert) == ("over", 2000.0, told(cleared_s=2000.0))
    assert board.alerts == (over.alert,)


def test_a_record_that_is_as_found_changes_nothing():
    board = Board(KINDS, lambda finding: TEXT)
    seen(board, 1000, 1200)
    before = board.alerts
    assert board.go_on_from_record(before, 1200.0) == []
    assert [change.change for change in seen(board, 1200, 1340)] == ["resounded"]  # at its time, 300 s after 1020
    assert board.alerts == before
