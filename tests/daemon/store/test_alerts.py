from __future__ import annotations

import sqlite3
from dataclasses import replace
from datetime import UTC, datetime
from typing import NamedTuple

import pytest

from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.store import alerts, firings, outbox

NOW = datetime(2026, 3, 2, 2, 10, 0, tzinfo=UTC)


class Row(NamedTuple):
    channel: str
    title: str
    body: str


RAISED = Alert(1, "firing-stopped", Rank.LOOK, 100.0, 160.0,
               Text("The kiln falls.", "The top was not reached.", "Look at the kiln.", 600.0), step=2)


def test_an_alert_is_kept_as_it_stands_and_every_step_as_it_was(db, open_one):
    firing_id = open_one()
    woke = replace(RAISED, rank=Rank.WAKE, woke_s=400.0, text=replace(RAISED.text, what="It still falls."))
    sharper = replace(woke, kind="sudden-drop", named=((160.0, "firing-stopped"),))
    over = replace(sharper, acknowledged_s=500.0, cleared_s=700.0)
    for t_s, change, alert in [(160.0, "raised", RAISED), (400.0, "woke", woke),
                               (450.0, "sharpened", sharper), (700.0, "over", over)]:
        alerts.record(db, firing_id, AlertChanged(t_s, change, alert), NOW)
    assert alerts.alerts(db, firing_id) == [over]
    assert [(t.no, t.t_s, t.change, t.kind, t.rank, t.what) for t in alerts.transitions(db, firing_id)] == [
        (1, 160.0, "raised", "firing-stopped", Rank.LOOK, "The kiln falls."),
        (1, 400.0, "woke", "firing-stopped", Rank.WAKE, "It still falls."),
        (1, 450.0, "sharpened", "sudden-drop", Rank.WAKE, "It still falls."),
        (1, 700.0, "over", "sudden-drop", Rank.WAKE, "It still falls."),
    ]


def test_the_messages_of_a_step_are_kept_with_it(db, open_one):
    firing_id = open_one()
    rows = [Row("phone", "WAKE: it falls", "all of it"), Row("mail", "WAKE: it falls", "all of it")]
    number = alerts.record(db, firing_id, AlertChanged(160.0, "raised", RAISED), NOW, rows)
    kept = db.execute("SELECT transition_id, channel FROM outbox ORDER BY outbox_id").fetchall()
    assert kept == [(number, "phone"), (number, "mail")]
    assert [p.title for p in outbox.pending(db, "phone")] == ["WAKE: it falls"]


def test_a_step_whose_messages_cannot_be_kept_is_not_kept_either(db, open_one):
    firing_id = open_one()
    with pytest.raises(sqlite3.IntegrityError):
        alerts.record(db, firing_id, AlertChanged(160.0, "raised", RAISED), NOW, [Row("phone", None, "x")])
    assert alerts.alerts(db, firing_id) == []
    assert alerts.transitions(db, firing_id) == []
    assert not db.conn.in_transaction


def test_two_firings_count_their_alerts_each_from_one(db, open_one):
    first = open_one()
    alerts.record(db, first, AlertChanged(160.0, "raised", RAISED), NOW)
    firings.end_firing(db, first, 900, NOW, "maker")
    second = open_one()
    alerts.record(db, second, AlertChanged(160.0, "raised", RAISED), NOW)
    assert [a.no for a in alerts.alerts(db, first)] == [1]
    assert [a.no for a in alerts.alerts(db, second)] == [1]
