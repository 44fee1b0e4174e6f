"""How an alert that has ended is named in the log of a firing."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from daemon.firing.events import Alert, Part, Rank, Text
from web.firings.alert_entries import entry_of

STARTS = datetime(2026, 3, 1, 20, 0, tzinfo=UTC)
STOPPED = Alert(1, "firing-stopped", Rank.WAKE, 20_000.0, 20_600.0, Text("What.", "Means.", "Do."), woke_s=20_600.0,
                cleared_s=22_920.0)
BACK = replace(STOPPED, no=2, kind="restarted", raised_s=23_000.0, cleared_s=None)


@pytest.mark.parametrize(("part", "rate_c_per_h", "start_s", "is_over"), [
    ("hold", 0.0, 22_000.0, True), ("ramp", 250.0, 22_000.0, True), ("ramp", -250.0, 22_000.0, False),
    ("hold", 0.0, 20_500.0, False),  # the hold that it stopped in
])
def test_a_later_hold_or_climb_shows_that_the_power_is_back(part, rate_c_per_h, start_s, is_over):
    parts = [Part(3, 3, part, start_s, None, rate_c_per_h)]
    entry = entry_of(STOPPED, STARTS, [STOPPED], parts=parts)
    assert entry.state.startswith("over at") is is_over
    assert ("may still be off" in entry.state) is not is_over


@pytest.mark.parametrize(("kind", "alerts", "state"), [
    ("firing-stopped", [], "no longer seen from {}; the power may still be off"),
    ("firing-stopped", [BACK], "over at {}"),  # it heats again: the power is back
    ("firing-stopped", [replace(BACK, raised_s=9_000.0)], "no longer seen from {}; the power may still be off"),
    ("cooling-too-fast", [], "over at {}"),
])
def test_a_stopped_kiln_is_over_only_where_it_was_seen_to_heat_again(kind, alerts, state):
    entry = entry_of(replace(STOPPED, kind=kind), STARTS, [STOPPED, *alerts])
    assert entry.state == state.format(entry.over)


@pytest.mark.parametrize(("keyed_s", "state"), [
    ((22_920.0,), "answered by the lines keyed in at {}"),
    ((9_000.0, 22_920.0), "answered by the lines keyed in at {}"),
    ((22_919.0,), "no longer seen from {}; the power may still be off"),
])
def test_what_the_maker_ended_by_keying_in_lines_is_answered_by_them(keyed_s, state):
    entry = entry_of(STOPPED, STARTS, [STOPPED], keyed_s=keyed_s)
    assert entry.state == state.format("02:22")  # 20:00 and 22,920 s
    assert entry.is_ended_by_lines is state.startswith("answered")
