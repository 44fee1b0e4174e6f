"""What a verdict rests on: the parts, peak and alarms of a firing, as far as its readings can be believed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from daemon.firing.alerts.registry import kind_title
from daemon.firing.events import Alert, Part, Rank
from daemon.firing.situation.probe_doubt import Cause
from daemon.firing.state import State
from daemon.firing.tracking.boundaries import end_open_part
from daemon.firing.verdict.answer import AlarmsAnswer, Result
from daemon.firing.verdict.answer_values import AlarmCount
from daemon.firing.verdict.plan_verdict import Evidence


def parts_seen(state: State) -> tuple[Part, ...]:
    """Return the parts as a firing shows them that ends with its last entry, or where its readings were lost.

    The part in which they became false has no rate: what it fell lies in it.
    """
    lost = state.lost
    if lost is None:
        return end_open_part(state.found, 0.0 if state.last is None else state.last.t_s)
    cut = {"end_s": lost.since_s} if lost.cause is Cause.BLIND else {"end_s": lost.since_s, "rate_c_per_h": None}
    return tuple(part if part.end_s is not None and part.end_s <= lost.since_s else replace(part, **cut)
                 for part in state.found if part.start_s < lost.since_s)


def evidence(state: State) -> Evidence:
    """Return what is known of a firing by readings that can be believed."""
    now_s = 0.0 if state.last is None else state.last.t_s
    holes = tuple(stretch.as_gap(now_s) for stretch in state.unbelieved())
    return Evidence(parts_seen(state), state.peak_c, state.offset.learned_k, holes, state.lost,
                    {} if state.dwell is None else state.dwell.near_s, tuple(state.drop.stood))


def alarms_answer(alerts: Sequence[Alert], *, was_watched: bool = True) -> AlarmsAnswer:
    """Return whether a firing with these alerts went by without an alarm; a consequence of another is none.

    ``was_watched`` is as in ``daemon.firing.setup.Setup``.
    """
    own = [(alert.rank, kind_title(alert.kind)) for alert in alerts if alert.under is None]
    woke, looks = (tuple(title for of, title in own if of is rank) for rank in (Rank.WAKE, Rank.LOOK))
    count = AlarmCount(woke, looks, was_told=was_watched)
    result = Result.NO if count.woke else Result.PARTLY if count.looks else Result.YES
    return AlarmsAnswer(result, count, None)
