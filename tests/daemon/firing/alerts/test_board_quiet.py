"""What an acknowledgement or a quiet silences, for how long, and what ends it."""

from __future__ import annotations

import pytest

from daemon.firing.alerts.board import ACKNOWLEDGED_QUIET_S, LEAST_QUIET_S, LONGEST_QUIET_S, WORSE_C, Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Rank, Said, Saying, Text
from daemon.firing.kind import RESOUND_S
from daemon.firing.situation.view import Phase
from tests.daemon.firing.alerts.night import (
    BEAT_S,
    BY_NAME,
    SOUNDS,
    Night,
    finding,
    names,
    stop,
    times,
    with_time_left,
)


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
    assert times(night.changes, *SOUNDS)[1:] == [180.0, 480.0, 780.0, 1080.0]


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
