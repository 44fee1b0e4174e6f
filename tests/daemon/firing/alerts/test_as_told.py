"""Where judging anew comes to other alerts, those of the record go on, and none of them is told twice."""

from __future__ import annotations

from dataclasses import replace

import pytest

from daemon.firing.alerts.as_told import is_as_told
from daemon.firing.alerts.board import Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Alert, Rank, Said, Saying, Text
from daemon.firing.kind import Finding

TEXT = Text("What.", "Means.", "Do.")
BY_NAME = {kind.name: kind for kind in KINDS}
STOPPED = BY_NAME["firing-stopped"]
OFF_S = int(STOPPED.off_delay_s)


def told(no=1, kind="firing-stopped", raised_s=1000.0, **fields):
    return Alert(no, kind, Rank.WAKE, raised_s - 100.0, raised_s, TEXT, woke_s=raised_s, **fields)


def board():
    return Board(KINDS, lambda finding: Text("Anew.", "", ""))


def judged(board, from_s, to_s, *, is_found, since_s=900.0):
    """Let a board judge a stopped firing at each beat; return what it tells."""
    finding = Finding(STOPPED, Rank.WAKE, since_s, STOPPED.examples[0].facts)
    changes = []
    for t_s in range(from_s, to_s, 20):
        changes += board.judge(float(t_s), [finding] if is_found else [], [STOPPED])
    return changes


@pytest.mark.parametrize("change", [
    {"no": 2}, {"rank": Rank.LOOK}, {"cleared_s": 1500.0}, {"acknowledged_s": 1100.0}, {"under": "sudden-drop"},
    {"raised_s": 1020.0}, {"woke_s": None}, {"named": ((950.0, "cooling-too-fast"),)}])
def test_a_record_that_differs_in_one_step_is_not_as_told(change):
    assert is_as_told([told()], [told()])
    assert not is_as_told([told()], [replace(told(), **change)])


def test_a_record_that_is_as_found_changes_nothing():
    found = board()
    judged(found, 1000, 1200, is_found=True)
    before = found.alerts
    assert found.go_on_from_record(before, {}, 1200.0) is None
    again = judged(found, 1200, 1400, is_found=True)
    assert [change.change for change in again] == ["resounded"]
    assert again[0].t_s == before[0].raised_s + STOPPED.resound_s
    assert found.alerts == before


@pytest.mark.parametrize("finds_anew", [True, False])
def test_what_stands_in_the_record_and_is_found_from_now_on_goes_on_under_its_number(finds_anew):
    record, found = told(no=3), board()
    judged(found, 1060, 1200, is_found=finds_anew)
    assert found.go_on_from_record([record], {3: 1150.0}, 1200.0) == []
    assert found.alerts == (record,)
    (again,) = judged(found, 1200, 1480, is_found=True)
    assert (again.change, again.alert.no) == ("resounded", 3)
    assert again.t_s == pytest.approx(1150.0 + STOPPED.resound_s, abs=20.0)
    assert found.alerts == (record,)


def test_what_stands_in_the_record_and_is_not_found_keeps_its_words_until_it_is_over():
    record, found = told(), board()
    assert found.go_on_from_record([record], {}, 1200.0) == []
    assert [alert.text for alert in found.present] == [TEXT]
    assert judged(found, 1200, 1200 + OFF_S, is_found=False) == []
    (over,) = judged(found, 1200 + OFF_S, 1240 + OFF_S, is_found=False)
    assert (over.change, over.silent, over.alert) == ("over", False, replace(record, cleared_s=over.t_s))


def test_what_is_over_in_the_record_stays_over():
    over, found = told(cleared_s=1100.0), board()
    judged(found, 1060, 1200, is_found=True)
    assert found.go_on_from_record([over], {}, 1200.0) == []
    assert found.alerts == (over,)


def test_what_stands_in_no_record_is_told_from_now_on():
    found = board()
    judged(found, 1000, 1200, is_found=True)
    over = told(no=4, kind="sudden-drop", cleared_s=1100.0)
    assert found.go_on_from_record([over], {}, 1200.0) == []
    assert found.alerts == (over,)
    (raised,) = judged(found, 1200, 1220 + int(STOPPED.on_delay_s), is_found=True)
    assert (raised.change, raised.alert.no, raised.silent) == ("raised", 5, False)
    assert raised.t_s >= 1200.0


def test_an_answer_that_was_given_keeps_it_quiet_and_a_new_one_can_be_given():
    found = board()
    assert found.go_on_from_record([told(acknowledged_s=1150.0)], {1: 1000.0}, 1200.0) == []
    assert judged(found, 1200, 1750, is_found=True) == []
    (again,) = judged(found, 1760, 1780, is_found=True)  # ten minutes after the answer
    assert again.change == "resounded"
    (heard,) = found.hear(Said(1790.0, Saying.ACKNOWLEDGE, alert_no=1))
    assert heard.alert.acknowledged_s == 1790.0


def test_a_kind_that_the_program_does_not_know_any_more_is_over_in_silence():
    old, found = told(kind="of-an-older-program"), board()
    (over,) = found.go_on_from_record([old], {}, 1200.0)
    assert (over.change, over.silent, over.alert) == ("over", True, replace(old, cleared_s=1200.0))
    assert found.alerts == (over.alert,)
    assert found.is_idle
