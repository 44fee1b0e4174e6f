"""A small record with something of every kind that has links."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Alert, AlertChanged, Part, Rank, Said, Sample, Saying, Text
from daemon.store import alerts, firings, found_parts, judgements, notes, plans, readings
from daemon.store.chain.verify import verify

PLAN = 'title = "Slump"\nunit = "C"\n\n[[step]]\nrate = 100\nto = 640\nhold_min = 10\n'
ALERT = Alert(1, "hold-cut-short", Rank.LOOK, 90.0, 100.0, step=1,
              text=Text("The hold ended early, ½ h.", "Short.", "Look.", 60.0))
NOW = datetime(2026, 3, 1, 20, 0, 0, tzinfo=UTC)


@pytest.fixture
def small(db, open_one):
    """Return (db, firing_id) of a firing that has ended, with thirteen readings in four ten minutes."""
    firing_id = open_one(plan_id=plans.add_plan(db, PLAN, NOW))
    readings.append(db, firing_id, [Sample(float(t), 20.0 + t / 8, low_c=19.5 + t / 8, high_c=21.0 + t / 8)
                                    for t in range(0, 1300, 150)])
    readings.append(db, firing_id, [Sample(1350.0, None, "open")])
    found_parts.add_said(db, firing_id, Said(1400.0, Saying.VENTED))
    alerts.record(db, firing_id, AlertChanged(100.0, "raised", ALERT), NOW)
    alerts.record(db, firing_id, AlertChanged(160.0, "over", replace(ALERT, cleared_s=160.0)), NOW)
    readings.append(db, firing_id, [Sample(1500.0, 90.0), Sample(1800.0, 80.0), Sample(1950.0, 70.0)])
    found_parts.replace_parts(db, firing_id, [Part(0, 1, "ramp", 0.0, 800.0, 98.5, None)])
    firings.end_firing(db, firing_id, 1950.0, NOW + timedelta(seconds=1950), "cold")
    judgements.add_judgement(db, firing_id, {"peak_c": 120.0}, "0", NOW)
    notes.add_note(db, firing_id, "Grün, vent open.", NOW)
    notes.add_note(db, firing_id, "Later.", NOW)
    return db, firing_id


@pytest.fixture
def found():
    """Return what ``verify`` finds of a firing."""
    def look(db, firing_id):
        return next(one for one in verify(db) if one.firing_id == firing_id)
    return look
