"""The kiln's present state as it is published: a few figures of the state file, null where unknown."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from daemon.service.kiln_alarm import call
from daemon.service.state_reader import DaemonState, alert_of, number
from daemon.store.alerts import Step
from daemon.store.stamps import stamp

Message = dict[str, Any]


def state_message(kiln: str, said: DaemonState | None) -> Message:
    """Return the state as docs/mqtt-state-schema.json describes it.

    Of a daemon that is silent nothing is told: its last temperature is not the present one.

    Parameters
    ----------
    kiln
        What the owner calls it.
    said
        What its daemon last said; None where nothing can be read.
    """
    if said is None or said.stale:
        return _nothing(kiln) | {"written_utc": None if said is None else stamp(said.written_utc)}
    message = _nothing(kiln) | {
        "watching": True, "written_utc": stamp(said.written_utc), "temperature_c": _round(said.number("temp_c"), 1),
        "firing_open": said.started_utc is not None, "get_up": False, "alerts": [],
        "troubles_standing": len(said.troubles),
    }
    return message | (_of_firing(said) if said.started_utc is not None else {})


def event_message(kiln: str, step: Step) -> Message:
    """Return one step of an alert's life as ``$defs/event`` of docs/mqtt-state-schema.json describes it."""
    firing_id, found = step
    return {
        "number": found.transition_id, "at_utc": stamp(found.wall_utc), "kiln": kiln, "firing": firing_id,
        "alert": found.no, "change": found.change, "kind": found.kind, "rank": found.rank.value, "what": found.what,
    }


def _nothing(kiln: str) -> Message:
    """Return the state of a kiln of which nothing is known."""
    unknown = ("written_utc", "temperature_c", "rate_c_per_h", "planned_c", "firing_open", "firing_started_utc",
               "part", "next_part", "opens_at_utc", "opens_at_margin_s", "get_up", "alerts", "troubles_standing")
    return {"kiln": kiln, "watching": False, **dict.fromkeys(unknown)}


def _of_firing(said: DaemonState) -> Message:
    """Return the fields of an open firing."""
    alerts = [alert for alert in map(alert_of, said.tables("alerts")) if alert is not None]
    part, upcoming = said.table("part"), said.table("next")
    margin_s, opens = said.number("open_margin_s"), _moment(said, said.number("open_at_s"))
    return {
        "rate_c_per_h": _round(said.number("rate_c_per_h"), 0), "planned_c": _round(said.number("planned_c"), 1),
        "firing_started_utc": stamp(said.started_utc or said.written_utc),
        "part": _part(said, part, "since_utc", number(part, "start_s")),
        "next_part": _part(said, upcoming, "at_utc", number(upcoming, "at_s")),
        "opens_at_utc": opens, "opens_at_margin_s": None if opens is None else _round(margin_s, 0),
        "get_up": call(0, alerts, said.number("t_s") or 0.0, troubled=False, hot=False).sound,
        "alerts": [
            {"alert": alert.no, "kind": alert.kind, "rank": alert.rank.value, "what": alert.text.what,
             "since_utc": _moment(said, alert.since_s), "raised_utc": _moment(said, alert.raised_s),
             "answered": alert.acknowledged_s is not None}
            for alert in alerts if alert.cleared_s is None and alert.under is None],
    }


def _part(said: DaemonState, table: Any, when: str, t_s: float | None) -> Message | None:
    """Return a part of the plan with the moment of its begin; None where none is known."""
    step, part = number(table, "step"), table.get("part")
    if step is None or part not in ("ramp", "hold"):
        return None
    return {"step": int(step), "part": part, when: _moment(said, t_s)}


def _moment(said: DaemonState, t_s: float | None) -> str | None:
    """Return a second of the firing as a stamp; None where it is unknown, or where firing time is not wall time."""
    if t_s is None or said.started_utc is None or said.number("speed") not in {None, 1.0}:
        return None
    try:
        return stamp(said.started_utc + timedelta(seconds=t_s))
    except OverflowError:
        return None


def _round(value: float | None, digits: int) -> float | None:
    """Return a figure without digits that only noise moves."""
    return None if value is None else round(value, digits) + 0.0


def is_same_situation(one: Message, other: Message) -> bool:
    """Return whether two states differ at most in figures, which may wait a little."""
    telling = ("watching", "firing_open", "get_up", "alerts", "part", "troubles_standing")
    return all(one[key] == other[key] for key in telling)


def is_news(one: Message, other: Message) -> bool:
    """Return whether two states differ in anything but when they were written."""
    return {**one, "written_utc": None} != {**other, "written_utc": None}
