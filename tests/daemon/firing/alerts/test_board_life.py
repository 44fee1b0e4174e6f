"""Whatever is found and said, and whenever: an alert keeps its life, and no cause rings like a storm."""

from __future__ import annotations

from collections import defaultdict

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from daemon.firing.alerts.board import Board
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Alert, AlertChanged, Rank, Said, Saying
from daemon.firing.kind import RESOUND_S
from tests.daemon.firing.alerts.night import BEAT_S, BY_NAME, RUNAWAY_RESOUND_S, finding, names, words

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
