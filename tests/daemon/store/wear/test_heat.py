"""The heat of firings is kept once, is due again after a judgement, and counts hours since a day."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.store import bin, firings, judgements, kilns
from daemon.store.wear import heat
from daemon.store.wear.heat import Heat

NOW = datetime(2026, 3, 1, 4, 20, tzinfo=UTC)


def _fired(db, *, day=0, ended=True):
    kiln = kilns.kiln_id(db, "Kiln")
    number = firings.open_firing(
        db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "hand", "K"), title="Bowl", opened_by="maker",
        started_utc=NOW + timedelta(days=day), boot_id="a", clock_s=0.0)
    if ended:
        firings.end_firing(db, number, 25_000, NOW + timedelta(days=day, hours=7), "maker")
    return number


def test_a_firing_is_due_when_it_ended_when_it_was_judged_anew_and_when_the_rules_change(db):
    running = _fired(db, ended=False)
    assert heat.due(db, 1, 9) == []
    firings.end_firing(db, running, 25_000, NOW, "maker")
    assert heat.due(db, 1, 9) == [running]
    heat.put_heat(db, running, Heat(3600.0, 5000.0, 1500.0, None), 1)
    assert heat.due(db, 1, 9) == []
    judgements.add_judgement(db, running, {"glass": None}, "0.1.0", NOW)
    assert heat.due(db, 1, 9) == [running]
    heat.put_heat(db, running, Heat(3600.0, why="gap"), 1)
    assert heat.due(db, 1, 9) == []
    assert heat.due(db, 2, 9) == [running]
    assert heat.of_kiln(db, 1, 9) == {running: Heat(3600.0, None, None, None, "gap")}


def test_a_deleted_firing_is_neither_due_nor_counted(db):
    number = _fired(db)
    heat.put_heat(db, number, Heat(7200.0, 5000.0, 1500.0, 1600.0), 1)
    heat.put_meter(db, number, 12.5, NOW)
    bin.put_into_bin(db, number, NOW)
    assert heat.due(db, 2, 9) == []
    assert heat.of_kiln(db, 1, 9) == {}
    assert heat.meters(db, 1) == {}
    assert heat.hot_h_since(db, 1, NOW - timedelta(days=9)) == (0, 0.0)


def test_hot_hours_count_from_the_day_of_a_change_on(db):
    for day in (0, 5, 9):
        heat.put_heat(db, _fired(db, day=day), Heat(1800.0, why="no-plan"), 1)
    assert heat.hot_h_since(db, 1, NOW + timedelta(days=5)) == (2, 1.0)
    assert heat.hot_h_since(db, 1, NOW + timedelta(days=5, seconds=1)) == (1, 0.5)


def test_a_meter_s_figure_is_replaced_and_taken_out(db):
    number = _fired(db)
    heat.put_meter(db, number, 12.5, NOW)
    heat.put_meter(db, number, 13.5, NOW)
    assert heat.meters(db, 1) == {number: pytest.approx(13.5)}
    heat.put_meter(db, number, None, NOW)
    assert heat.meters(db, 1) == {}
