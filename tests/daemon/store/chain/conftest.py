"""A small record with something of every kind that has links."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Alert, AlertChanged, Milestone, Part, Rank, Said, Sample, Saying, Text
from daemon.store import alerts, firings, found_parts, judgements, notes, outcomes, pieces, plans, readings
from daemon.store.chain import links, source_file
from daemon.store.chain.contents import SOURCE
from daemon.store.chain.verify import verify
from daemon.store.database import transaction
from daemon.store.found_parts import ClockMark, Gap
from daemon.store.wear import heat

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
    found_parts.add_gap(db, firing_id, Gap(600, 750, "no power"))
    found_parts.add_clock_mark(db, firing_id, ClockMark(0, NOW, "boot-a", 0.1, True))
    found_parts.add_milestone(db, firing_id, Milestone(900.0, "top", "Top reached.", 1, 640.0))
    firings.end_firing(db, firing_id, 1950.0, NOW + timedelta(seconds=1950), "cold")
    judgements.add_judgement(db, firing_id, {"peak_c": 120.0}, "0", NOW)
    notes.add_note(db, firing_id, "Grün, vent open.", NOW)
    notes.add_note(db, firing_id, "Later.", NOW)
    piece = pieces.add_piece(db, name="Bowl", glass="90", thickness_mm=6.0, now_utc=NOW)
    for of, words in ((piece, ["clear"]), (None, ["crack"])):
        outcomes.add_outcome(db, firing_id=firing_id, piece_id=of, words=words, place="rim" if of is None else "",
                             note="ß", now_utc=NOW)
    heat.put_meter(db, firing_id, 12.25, NOW)
    with transaction(db):
        source_file.put(db, firing_id, "log.csv", b"s;C\n" + b"".join(b"%d;20,5\n" % at for at in range(30)), NOW)
        links.add(db, firing_id, (SOURCE, 0))
    return db, firing_id


@pytest.fixture
def found():
    """Return what ``verify`` finds of a firing."""
    def look(db, firing_id):
        return next(one for one in verify(db) if one.firing_id == firing_id)
    return look
