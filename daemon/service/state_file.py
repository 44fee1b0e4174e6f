"""Writing the state file: the present of the kiln in one small JSON, for page, delivery and socket.

Its name and its reading are in ``state_reader``; a field added here is read there.
"""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from daemon.clock import Clock
from daemon.firing.events import Alert, Sample
from daemon.firing.status import Standing
from daemon.firing.text_json import text_json
from daemon.lifecycle.open_firing import LiveFiring
from daemon.notify.trouble import Ailing, Trouble
from daemon.plain_json import without_minus_zero
from daemon.service.state_reader import FILE_NAME
from daemon.store.stamps import stamp
from hw.thermocouple import Reading

NO_FIRING = "No firing is open."
NO_PROBE = "Nothing is watched. Read the kiln's own display."
STARTING = "Lehrling has just started. The first reading comes within seconds."
STOPPED = "Lehrling stopped just now, or starts again. Until it is back, read the kiln's own display."
NOT_JUDGED = "This firing is not judged any more. Read the kiln's own display."


def present(clock: Clock, kiln_name: str, reading: Reading, last: Sample | None, live: LiveFiring | None,
            troubles: Sequence[Trouble]) -> dict[str, Any]:
    """Return the present as the state file holds it; what is unknown is None.

    Parameters
    ----------
    clock
        For the stamps.
    kiln_name
        What the owner calls the kiln.
    reading
        The probe's latest reading, shown where there is no ``last``.
    last
        The last five-second reading; None until the first one after a start.
    live
        The open firing, if any; its id is None until it could be stored.
    troubles
        What is wrong with Lehrling itself.
    """
    now_s, is_starting = clock.now_s(), last is None
    if last is None:
        last = Sample(0.0, reading.temp_c, reading.fault.value if reading.fault else None)
    firing = _no_firing() if live is None else _firing(live, now_s)
    if is_starting and firing["sentence"] not in (NO_FIRING, NOT_JUDGED):
        firing |= _STARTING  # what an open firing was like before the start is no news of it
    if live is None and any(trouble.ailing is Ailing.PROBE for trouble in troubles):
        firing["sentence"] = NO_PROBE
    return {
        "written_utc": stamp(clock.utc()), "kiln": kiln_name, "speed": clock.speed, "now_s": round(now_s, 3),
        "temp_c": last.temp_c, "fault": last.fault,
        "cold_junction_c": reading.cold_junction_c, **firing, "trouble": [trouble.as_json() for trouble in troubles],
    }


_STARTING = {"sentence": STARTING, "rate_c_per_h": None, "planned_c": None, "clock_c": None, "glass": None,
             "other_unit": None}
"""What of a firing is not known until its first reading after a start."""


def as_stopped(text: str) -> str:
    """Return the last state, as one line of JSON, with the sentence for a daemon that stops."""
    state = json.loads(text)
    if not state or state["sentence"] == NOT_JUDGED:
        return text
    was_open = state["firing_id"] is not None or state["t_s"] is not None
    return as_text(state | (_STARTING if was_open else {"other_unit": None}) | {"sentence": STOPPED})


def _no_firing() -> dict[str, Any]:
    return {
        "firing_id": None, "firing_title": None, "started_utc": None, "t_s": None,
        "rate_c_per_h": None, "sentence": NO_FIRING,
        "finished": False, "confidence": None, "part": None, "broke_off": None,
        "planned_c": None, "offset_c": None, "next": None,
        "open_at_s": None, "calls": [], "open_margin_s": None, "glass": None, "alerts": [], "unkept": [],
        "anneal_at_s": None, "anneal_margin_s": None, "anneal_step": None, "learned_firings": None,
        "own_display": False, "other_unit": None, "peak_c": None, "lost_s": None, "clock_c": None,
    }


def _firing(live: LiveFiring, now_s: float) -> dict[str, Any]:
    """Return the fields of an open firing."""
    found = live.standing()
    firing = _no_firing() | {
        "firing_id": live.row.firing_id or None, "firing_title": live.row.title,
        "started_utc": stamp(live.row.started_utc), "t_s": live.second(now_s),
        "sentence": NOT_JUDGED, "unkept": live.unkept.messages,
    }
    earlier = [_alert(alert) for alert in live.earlier]
    if found is None:
        return firing | {"alerts": earlier}
    return firing | _standing(found) | {"alerts": earlier + [_alert(alert) for alert in found.alerts]}


def _standing(found: Standing) -> dict[str, Any]:
    """Return the fields of how a firing stands in its plan."""
    part, upcoming = found.part, None
    if found.next_step is not None:
        upcoming = {"step": found.next_step, "part": found.next_part, "at_s": found.next_at_s}
    broken = found.broke_off
    return {
        "rate_c_per_h": found.rate_c_per_h, "sentence": found.sentence, "finished": found.finished,
        "confidence": found.confidence, "peak_c": found.peak_c,
        "part": None if part is None else {
            "index": part.index, "step": part.step, "part": part.part, "start_s": part.start_s},
        "broke_off": None if broken is None else {
            "index": broken.part.index, "step": broken.part.step, "part": broken.part.part, "at_s": broken.at_s,
            "held_s": broken.held_s},
        "planned_c": found.planned_c, "offset_c": found.offset_k, "next": upcoming, "open_at_s": found.open_at_s,
        "calls": [{"temp_c": call.temp_c, "rising": call.rising} for call in found.calls],
        "lost_s": found.lost_s, "clock_c": None if found.clock is None else list(found.clock),
        "open_margin_s": found.open_margin_s, "anneal_at_s": found.anneal_at_s,
        "anneal_margin_s": found.anneal_margin_s, "anneal_step": found.anneal_step,
        "learned_firings": found.learned_firings, "own_display": found.is_own_display_watched,
        "other_unit": None if found.other is None else {
            "unit": found.other.unit, "sentence": found.other.sentence, "glass_lines": list(found.other.glass_lines)},
        "glass": None if found.glass is None else found.glass.as_json() | {"lines": list(found.glass_lines)},
    }


def _alert(alert: Alert) -> dict[str, Any]:
    return {
        "no": alert.no, "kind": alert.kind, "rank": alert.rank.value, "since_s": alert.since_s,
        "raised_s": alert.raised_s, "woke_s": alert.woke_s, "cleared_s": alert.cleared_s,
        "acknowledged_s": alert.acknowledged_s, "quiet_until_s": alert.quiet_until_s, "step": alert.step,
        "under": alert.under, "seen_s": alert.seen_s, "text": text_json(alert.text),
    }


def as_text(state: dict[str, Any]) -> str:
    """Return the state as one line of JSON."""
    text = json.dumps(state, ensure_ascii=False, allow_nan=False)
    if "-0.0" not in text:
        return text  # as nearly always: to look through every value takes longer than to write them
    return json.dumps(without_minus_zero(state), ensure_ascii=False, allow_nan=False)


def write(run_dir: Path, text: str) -> None:
    """Put ``text`` in place of the state file in one move, so that no reader ever sees half of it.

    Raises
    ------
    OSError
        Where the folder can't be written.
    """
    part = run_dir / (FILE_NAME + ".part")
    part.write_text(text, encoding="utf-8")
    os.replace(part, run_dir / FILE_NAME)
